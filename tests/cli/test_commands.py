"""`new`, `loops`, `check` and the help, as a new user meets them."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time

import pytest

from tests.cli.program import mixer
from tests.sounds import Made, loop_folder


def test_new_makes_a_song_that_renders_as_it_is(tmp_path):
    made = mixer("new", "harbour night", cwd=tmp_path)
    assert made.returncode == 0
    assert made.stdout.splitlines()[-1] == 'To hear it: mixer render "harbour night/harbour night.yaml"'
    rendered = mixer("render", "harbour night/harbour night.yaml", cwd=tmp_path)
    assert (rendered.returncode, rendered.stderr) == (0, "")
    assert (tmp_path / "harbour night" / "harbour night.wav").exists()


def test_new_writes_over_nothing(tmp_path):
    mixer("new", "song", cwd=tmp_path)
    (tmp_path / "song" / "song.yaml").write_text("mine", encoding="utf-8")
    assert mixer("new", "song", cwd=tmp_path).returncode == 2
    assert (tmp_path / "song" / "song.yaml").read_text(encoding="utf-8") == "mine"


def test_a_blank_one_has_four_gaps_and_each_is_told(tmp_path):
    mixer("new", "--blank", "song", cwd=tmp_path)
    done = mixer("render", "song/song.yaml", cwd=tmp_path)
    assert done.returncode == 1
    assert done.stderr.count("here is a gap for you to fill") == 4
    filled = (tmp_path / "song" / "song.yaml").read_text(encoding="utf-8")
    for loop in ("tin-roof", "slow-tide", "paper-lantern", "gull-song"):
        filled = filled.replace("____ ", f"{loop} ", 2 if loop == "tin-roof" else 1)
    filled = filled.replace("you see tin-roof", "you see ____")
    (tmp_path / "song" / "song.yaml").write_text(filled, encoding="utf-8")
    assert mixer("render", "song/song.yaml", cwd=tmp_path).returncode == 0


def test_loops_are_listed_by_role(tmp_path):
    done = mixer("loops", cwd=tmp_path)
    lines = done.stdout.splitlines()
    assert done.returncode == 0
    assert lines[0] == "drums"
    assert any(line.startswith("  tin-roof") and "96 beats a minute" in line and "ferry town" in line for line in lines)
    roles = [line for line in lines if line and not line.startswith(" ")]
    assert roles == ["drums", "bass", "harmony", "melody", "percussion", "background"]


def test_check_says_the_song_back_and_makes_no_sound(tmp_path):
    mixer("new", "song", cwd=tmp_path)
    done = mixer("check", "song/song.yaml", cwd=tmp_path)
    assert done.returncode == 0
    assert "  verse, 8 bars: drums and piano; bass from bar 5\n" in done.stdout
    assert "  verse 2, 8 bars: drums and piano; bass from bar 5; shaker up to bar 4\n" in done.stdout
    assert "|[A] intro" in done.stdout
    assert max(map(len, done.stdout.splitlines())) <= 80
    assert not list(tmp_path.rglob("*.wav"))


def test_check_gives_the_plan_as_data(tmp_path):
    mixer("new", "song", cwd=tmp_path)
    answer = json.loads(mixer("check", "song/song.yaml", "--json", cwd=tmp_path).stdout)
    assert (answer["problems"], answer["advice"]) == ([], [])
    assert answer["plan"]["drums"] == [{"enter_bar": 5, "exit_bar": 38, "start_seconds": 10.0, "end_seconds": 95.0}]
    assert [(cue["enter_bar"], cue["exit_bar"]) for cue in answer["plan"]["bass"]] == [(9, 20), (25, 36)]


def test_check_tells_mistakes_with_their_places(tmp_path):
    text = "tempo: 96\nlayers:\n  drums: tin-roof\nsections:\n  - verse, 4 bars: drum\n"
    (tmp_path / "song.yaml").write_text(text, encoding="utf-8")
    done = mixer("check", "song.yaml", "--json", cwd=tmp_path)
    answer = json.loads(done.stdout)
    assert done.returncode == 1
    assert answer["problems"] == [
        {
            "file": "song.yaml",
            "line": 5,
            "column": 20,
            "kind": "unknown-layer",
            "message": 'there is no layer called "drum".',
            "hint": 'Your only layer is drums. Did you mean "drums"?',
            "mended": "",
        }
    ]


@pytest.mark.parametrize("loop", ["other-meter", "far", "keys"])
def test_what_is_doubtful_is_told(tmp_path, loop):
    loop_folder(
        tmp_path / "loops",
        Made("waltz", time="3/4"),
        Made("slow", tempo_bpm="74"),
        Made("one", kind="tone", role="bass", key="A minor"),
        Made("two", kind="tone", role="harmony", key="E major"),
    )
    layers, told, code = {
        "other-meter": ("x: waltz", 'the loop "waltz" is counted in 3/4 and this song in 4/4', 1),
        "far": ("x: slow", "is played much faster here, at 100", 0),
        "keys": ("x: one\n  y: two", "x is in A minor and y is in E major", 0),
    }[loop]
    text = f"tempo: 100\nlayers:\n  {layers}\nsections:\n  - verse, 4 bars: everything\n"
    (tmp_path / "song.yaml").write_text(text, encoding="utf-8")
    done = mixer("check", "song.yaml", cwd=tmp_path)
    assert (done.returncode, told in done.stderr) == (code, True)


@pytest.mark.parametrize("command", [[], ["new"], ["loops"], ["check"], ["render"], ["recipe"], ["schema"]])
def test_help_teaches(tmp_path, command):
    done = mixer(*command, "--help", cwd=tmp_path)
    assert done.returncode == 0
    assert len(done.stdout) > 150
    assert not command or command == ["loops"] or "Example: mixer" in done.stdout


def test_a_recipe_that_never_ends_is_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "song.yaml")
    start = time.monotonic()
    command = [sys.executable, "-m", "mixer", "check", "song.yaml"]
    done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, timeout=20, check=False)
    assert (done.returncode, "no plain text" in done.stderr) == (2, True)
    assert time.monotonic() - start < 20


def test_a_link_out_of_the_loop_folder_is_not_followed(tmp_path):
    loop_folder(tmp_path / "elsewhere", Made("secret"))
    loop_folder(tmp_path / "loops", Made("ticks"))
    (tmp_path / "loops" / "ticks.wav").unlink()
    (tmp_path / "loops" / "ticks.wav").symlink_to(tmp_path / "elsewhere" / "secret.wav")
    (tmp_path / "song.yaml").write_text(
        "tempo: 96\nlayers:\n  x: ticks\nsections:\n  - a, 4 bars: x\n", encoding="utf-8"
    )
    done = mixer("render", "song.yaml", cwd=tmp_path)
    assert done.returncode == 1
    assert "lies outside its own folder" in done.stderr


@pytest.mark.parametrize("name", ["a\x1b[31mb", "con", "what?:*"])
def test_output_names_are_safe(tmp_path, name):
    (tmp_path / "deep" / "er").mkdir(parents=True)
    done = mixer("new", f"{name}-song", cwd=tmp_path / "deep" / "er")
    assert "\x1b" not in done.stdout + done.stderr
    assert not list((tmp_path / "deep" / "er").rglob("*\x1b*"))
