"""`mixer fits`, run as a user runs it."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys

import pytest

from tests.cli.program import mixer
from tests.sounds import Made, loop_folder


def test_a_loop_and_a_recipe(tmp_path):
    folder = loop_folder(
        tmp_path / "loops",
        Made("hum", "tone", "harmony", key="A minor"),
        Made("low", "tone", "bass", key="C minor", tempo_bpm="100", pitch_hz=65.4),
        Made("waltz", time="3/4"),
        Made("ticks"),
    )
    catalog = folder / "loops.yaml"
    text = catalog.read_text(encoding="utf-8")
    text = text.replace("  key: A minor\n", "  key: A minor\n  chords: Am | F | C | G\n")
    text = text.replace("  key: C minor\n", "  key: C minor\n  chords: Cm | Ab | Ab | Bb\n")
    catalog.write_text(text, encoding="utf-8")
    done = mixer("fits", "hum", "--long", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    words = " ".join(done.stdout.split())
    assert "The chords agree in bars 1, 2 and 4; they clash in bar 3 (F over C)." in words
    assert "moved down 3 semitones" in words
    assert "100 to 96 beats a minute" in words
    assert "It is in 3/4 and cannot go with 4/4." in words
    assert words.endswith("taste is yours.")
    assert "%" not in words
    recipe = tmp_path / "song.yaml"
    recipe.write_text("tempo: 96\nlayers:\n  box: ticks\nsections:\n  - verse, 4 bars: box\n", encoding="utf-8")
    found = json.loads(mixer("fits", recipe, "--json", cwd=tmp_path).stdout)
    assert "ticks" not in {one["name"] for one in found}
    assert {"hum", "low"} <= {one["name"] for one in found if not one["better_not"]}


def test_a_name_that_is_none(tmp_path):
    done = mixer("fits", "tin-rof", cwd=tmp_path)
    assert done.returncode == 2
    assert 'Did you mean "tin-roof"?' in done.stderr


def test_a_role_that_is_none_is_told_with_those_there_are(tmp_path):
    done = mixer("fits", "slow-tide", "--role", "piano", cwd=tmp_path)
    assert done.returncode == 2
    assert '"piano" is no role. The roles are drums, bass, harmony,' in " ".join(done.stderr.split())


def test_words_without_quotation_marks_are_one_name(tmp_path):
    assert mixer("fits", "slow", "tide", cwd=tmp_path).stdout == mixer("fits", "slow-tide", cwd=tmp_path).stdout


def test_a_whole_set_before_the_lesson(tmp_path):
    folder = loop_folder(
        tmp_path / "mine",
        Made("hum", "tone", "harmony", key="A minor"),
        Made("low", "tone", "bass", key="A minor", pitch_hz=65.4),
        Made("waltz", time="3/4"),
        Made("ticks"),
    )
    catalog = folder / "loops.yaml"
    text = catalog.read_text(encoding="utf-8").replace(
        "  role: harmony\n", "  role: harmony\n  chords: Am | F | C | G\n"
    )
    catalog.write_text(text.replace("  role: bass\n", "  role: bass\n  chords: C | Am | F | G\n"), encoding="utf-8")
    done = mixer("fits", "--all", "mine", "--songs", "6", "--out", "found", cwd=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    said = " ".join(done.stdout.split())
    assert "low with hum: the chords agree in bar 4; they are close in bars 1 and 2" in said
    assert "they clash in bar 3 (C over F)" in said
    assert "go with none of the others: waltz" in said
    assert "6 songs by chance were made and measured. In so many of them was something to hear: chords clash:" in said
    assert said.endswith("The program checked tempo, chords, crowding and level; taste is yours.")
    assert {path.name for path in (tmp_path / "found").iterdir()} == {"pairs.txt", "to hear.wav"}
    assert "low with hum:" in (tmp_path / "found" / "pairs.txt").read_text(encoding="utf-8")


@pytest.mark.skipif(sys.platform == "win32", reason="a signal cannot be sent to one program alone there")
def test_ctrl_c_ends_the_songs_and_what_was_found_is_told(tmp_path):
    loop_folder(tmp_path / "mine", Made("hum", "tone", "harmony", key="A minor"), Made("ticks"))
    command = [sys.executable, "-u", "-m", "mixer", "fits", "--all", "mine", "--songs", "100000"]
    with subprocess.Popen(
        command, cwd=tmp_path, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True
    ) as running:
        lines = []
        while not any("songs by chance will take" in line for line in lines):
            lines.append(running.stdout.readline())
        os.killpg(running.pid, signal.SIGINT)
        said, wrong = running.communicate(timeout=60)
    assert (running.returncode, wrong) == (0, "")
    assert "songs by chance were made and measured." in said
    assert said.strip().endswith("taste is yours.")


def test_of_nothing_nothing_is_proved(tmp_path):
    (tmp_path / "empty").mkdir()
    done = mixer("fits", "--all", "empty", cwd=tmp_path)
    assert (done.returncode, "There are no loops" in done.stderr) == (2, True)
    assert mixer("fits", cwd=tmp_path).returncode == 2
