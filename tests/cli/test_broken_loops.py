"""What a student reads when a loop's file is no good: which file, why, what to do; and hears the rest as a draft."""

from __future__ import annotations

import json
import os
import sys

import numpy as np
import pytest
import soundfile

from tests.cli.program import mixer
from tests.signal.test_files import PCM, floats, wav
from tests.sounds import Made, loop_folder

SONG = """tempo: 96
layers:
  box: ticks
  hum: hum
sections:
  - verse, 4 bars: box, hum
"""


@pytest.fixture
def folder(tmp_path):
    loop_folder(tmp_path / "loops", Made("ticks"), Made("hum", kind="tone", role="harmony"))
    (tmp_path / "song.yaml").write_text(SONG, encoding="utf-8")
    return tmp_path


COPY = "Copy the file again from where it came from."
SAVE = "Open it in the program it came from and save it again as WAV."
BROKEN = {
    "empty": (b"", "is empty.", "Copy or record it again."),
    "header only": (wav(b""), "is empty.", "Copy or record it again."),
    "text": (
        b"drums go here",
        "is no sound file, or of a kind that cannot be read.",
        "Open the sound in the program it came from and save it as WAV.",
    ),
    "half a header": (wav(PCM)[:20], "is damaged or cut off.", f"{COPY} If that does not help: o{SAVE[1:]}"),
    "silent": (wav(bytes(9000)), "holds only silence.", "Record it again, or choose another loop."),
    "NaN": (floats(np.nan), "holds values that are no numbers.", SAVE),
    "infinite": (floats(np.inf), "holds values that are no numbers.", SAVE),
    "wild": (floats(1e9), "holds values a thousand times louder than a file should.", SAVE),
    "1 Hz": (
        wav(PCM, rate_hz=1),
        "says that it has a sample rate of 1 Hz, and only 8000 to 192000 can be used.",
        SAVE,
    ),
    "4 GHz": (
        wav(PCM, rate_hz=4_000_000_000),
        "says that it has a sample rate of 4000000000 Hz, and only 8000 to 192000 can be used.",
        SAVE,
    ),
    "32 channels": (wav(PCM, channels=32), "says that it has 32 channels.", "Save it again as stereo."),
    "too long": (
        wav(bytes(8000 * 121) + b"\1", rate_hz=8000, bits=8),
        "lasts longer than 120 seconds.",
        "A loop lasts a few seconds: cut it out of the recording and save that.",
    ),
}


def render(folder):
    """The problems and the advice, each once, after a song that must have come out all the same."""
    done = mixer("render", "song.yaml", "--json", cwd=folder)
    answer = json.loads(done.stdout)
    samples, _ = soundfile.read(folder / answer["song"])
    assert np.abs(samples).max() > 0.05
    assert done.stderr == ""
    assert (done.returncode, answer["song"], answer["draft"]) in (
        (1, "song (draft).wav", True),
        (0, "song.wav", False),
    )
    assert bool(answer["problems"]) == answer["draft"]
    return answer["problems"], answer["advice"]


def with_loops(folder, names_and_contents):
    """A song in which each of these plays beside the ones that can be played."""
    ticks = (folder / "loops" / "loops.yaml").read_text(encoding="utf-8").partition("hum:")[0]
    with (folder / "loops" / "loops.yaml").open("a", encoding="utf-8") as catalog:
        for number, (name, content) in enumerate(names_and_contents):
            catalog.write(ticks.replace("ticks:", f"broken {number}:").replace("ticks.wav", name))
            if content is not None:
                (folder / "loops" / name).write_bytes(content)
    layers = "".join(f"  layer {number}: broken {number}\n" for number in range(len(names_and_contents)))
    text = SONG.replace("sections:", f"{layers}sections:").replace("box, hum", "everything")
    (folder / "song.yaml").write_text(text, encoding="utf-8")


def test_each_is_told_in_its_line_and_the_rest_is_a_draft(folder):
    with_loops(folder, [(f"{kind}.wav", content) for kind, (content, _, _) in BROKEN.items()])
    problems, advice = render(folder)
    assert advice == []
    told = [(problem["line"], problem["message"], problem["hint"]) for problem in problems]
    assert told == [
        (5 + number, f'the loop "broken {number}" was left out: {kind}.wav {why}', hint)
        for number, (kind, (_, why, hint)) in enumerate(BROKEN.items())
    ]


def test_as_it_is_read_on_the_terminal(folder):
    (folder / "loops" / "ticks.wav").write_bytes(b"")
    done = mixer("render", "song.yaml", cwd=folder)
    assert done.returncode == 1
    assert done.stderr.startswith(
        'song.yaml, line 3: the loop "ticks" was left out: ticks.wav is empty.\n\n'
        "    3 |   box: ticks\n"
        "               ^^^^^\n"
        "Copy or record it again.\n"
    )
    assert "draft" in done.stdout
    assert not (folder / "song.wav").exists()


def test_nothing_is_left_when_no_loop_can_be_used(folder):
    for name in ("ticks", "hum"):
        (folder / "loops" / f"{name}.wav").write_bytes(b"")
    done = mixer("render", "song.yaml", cwd=folder)
    assert done.returncode == 1
    assert done.stderr.count("is empty.") == 2
    assert "No song was made.\nStart with line 3: put it right, save, and render again.\n" in done.stderr
    assert {path.name for path in folder.iterdir()} == {"loops", "song.yaml"}


def test_more_bars_on_the_card_than_in_the_file_is_advice(folder):
    made = Made("ticks", bars=3)
    soundfile.write(folder / "loops" / "ticks.wav", made.samples(), made.rate_hz)
    problems, (advice,) = render(folder)
    assert problems == []
    assert (
        advice["message"]
        == 'the loop "ticks" falls silent before its end: ticks.wav holds 3 of the 4 bars on its card.'
    )
    assert advice["hint"] == 'If it should go on, see whether "bars" and "tempo" on its card in loops.yaml are right.'


def test_a_copy_that_was_broken_off_is_advice(folder):
    path = folder / "loops" / "ticks.wav"
    path.write_bytes(path.read_bytes()[:1_000_000])
    problems, (advice,) = render(folder)
    assert problems == []
    assert advice["message"] == 'the loop "ticks" breaks off: the end of ticks.wav is missing. What is there is played.'
    assert advice["hint"] == COPY


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such files")
def test_a_loop_that_becomes_a_folder_or_a_pipe_stops_nothing(folder):
    path = folder / "loops" / "ticks.wav"
    path.unlink()
    path.mkdir()
    problems, _ = render(folder)
    assert any("ticks" in problem["message"] for problem in problems)
    path.rmdir()
    os.mkfifo(path)
    problems, _ = render(folder)
    assert any("ticks" in problem["message"] for problem in problems)


def test_long_and_odd_names_are_told_without_harm(folder):
    names = ["x" * 196, "x" * 300, "長" * 80, "a\tb", "a\x1b[31mb", "a\x07b", "a\u202eb"]
    with_loops(folder, [(f"{name}.wav", b"" if len(name.encode()) < 250 else None) for name in names])
    done = mixer("render", "song.yaml", cwd=folder)
    assert done.returncode == 1
    assert "Traceback" not in done.stderr
    assert [f'"broken {number}"' in done.stderr for number in range(len(names))] == [True] * len(names)
    assert all(sign.isprintable() or sign == "\n" for sign in done.stderr + done.stdout)
    assert max(len(line) for line in done.stderr.splitlines() if "left out: " in line) < 150
    assert (folder / "song (draft).wav").exists()
