"""What a class listens to: parts of songs, equally loud, and all of them in one recording."""

from __future__ import annotations

import json
import subprocess

import numpy as np
import pytest
import soundfile
from pyebur128 import pyebur128

from mixer.classroom.order import in_order
from mixer.classroom.session import EDGE_SECONDS, Part, write_excerpt, write_recording
from mixer.classroom.songs import make_song
from mixer.classroom.tasks import Done, Task
from tests.cli.program import mixer
from tests.sounds import RATE_HZ, Made, loop_folder
from tests.tools import needs_tool

SONG = (
    "title: {0}\nby: Table {0}\ntempo: 120\nlayers:\n  hum: hum\n  box: ticks\n  hiss: hiss\nsections:\n"
    "  - start, 8 bars: hum\n  - full, 8 bars: everything\n  - end, 8 bars: hum\n"
)


@pytest.fixture
def room(tmp_path):
    loop_folder(
        tmp_path / "loops",
        Made("ticks"),
        Made("hum", kind="tone", role="bass"),
        Made("hiss", kind="noise", role="percussion"),
    )
    (tmp_path / "in").mkdir()
    for name in ("one", "two"):
        (tmp_path / "in" / f"{name}.yaml").write_text(SONG.format(name), encoding="utf-8")
    return tmp_path


def loudness_lufs(path):
    """libebur128, the reference in C."""
    samples, rate_hz = soundfile.read(path, dtype="float64", always_2d=True)
    state = pyebur128.R128State(2, rate_hz, pyebur128.MeasurementMode.MODE_I)
    state.add_frames(np.ascontiguousarray(samples).reshape(-1), len(samples))
    return pyebur128.get_loudness_global(state)


def test_parts_are_equally_loud_and_of_the_length_asked_for(room):
    text = SONG.format("two").replace("tempo", "hear: end\ntempo")
    (room / "in" / "two.yaml").write_text(text, encoding="utf-8")
    done = mixer("batch", "in", "--out", "out", "--loops", "loops", "--excerpt", "6s", "--recording", cwd=room)
    assert done.returncode == 0, done.stderr
    parts = sorted((room / "out" / "excerpts").glob("*.wav"))
    assert [part.name for part in parts] == ["01 one.wav", "02 two.wav"]
    for part in parts:
        assert soundfile.info(part).frames == 6 * RATE_HZ
        assert loudness_lufs(part) == pytest.approx(-16, abs=0.2)
    assert soundfile.info(room / "out" / "listening session.wav").frames == 14 * RATE_HZ


def test_the_fullest_section_is_heard_first_or_the_one_that_is_named(room):
    def heard(text):
        (room / "in" / "one.yaml").write_text(text, encoding="utf-8")
        return make_song(Task(room / "in" / "one.yaml", "one", room / "out", loops=(room / "loops",))).hear

    assert heard(SONG.format("one")) == ("full", 16.0, 16.0)
    assert heard(SONG.format("one").replace("tempo", "hear: End\ntempo")) == ("end", 32.0, 16.0)


def test_edges_are_soft_only_where_it_is_cut(tmp_path):
    path = tmp_path / "song.wav"
    soundfile.write(path, np.full((RATE_HZ * 2, 2), 0.5), RATE_HZ, subtype="FLOAT")
    edge = round(EDGE_SECONDS * RATE_HZ)
    for soft_start, soft_end in ((True, False), (False, True)):
        part = Part(path, RATE_HZ, 0, RATE_HZ, soft_start=soft_start, soft_end=soft_end)
        sound = np.concatenate(list(part.blocks()))
        assert len(sound) == RATE_HZ
        assert np.all(sound[edge:-edge] == 0.5)
        for soft, end in ((soft_start, sound[:edge]), (soft_end, sound[::-1][:edge])):
            assert (end[0, 0] == 0) if soft else np.all(end == 0.5)
            assert np.all(np.diff(end[:, 0]) >= 0)


def test_a_part_reaches_past_the_end_of_no_song(tmp_path):
    soundfile.write(tmp_path / "short.wav", np.full((1000, 2), 0.1), RATE_HZ)
    part = Part(tmp_path / "short.wav", RATE_HZ, 0, 1000, soft_start=False, soft_end=False)
    write_excerpt(part, tmp_path / "part.wav", "Short")
    assert soundfile.info(tmp_path / "part.wav").frames == 1000


def test_each_song_of_a_recording_has_its_named_marker(tmp_path):
    """ffprobe shows cue points with labels as chapters."""
    for name, seconds in (("a", 2), ("b", 3)):
        soundfile.write(tmp_path / f"{name}.wav", np.full((seconds * RATE_HZ, 2), 0.1), RATE_HZ)
    files = [(f"Song {name}", tmp_path / f"{name}.wav") for name in "ab"]
    assert write_recording(files, tmp_path / "all.wav") == 7
    command = [needs_tool("ffprobe"), "-v", "error", "-show_chapters", "-of", "json", tmp_path / "all.wav"]
    found = json.loads(subprocess.run(command, capture_output=True, check=True).stdout)["chapters"]
    assert [(each["tags"]["title"], float(each["start_time"])) for each in found] == [("Song a", 0), ("Song b", 4)]


def test_an_order_by_number_is_the_same_each_time_and_another_for_another():
    songs = [Done(name, "song") for name in "fbadce"]
    assert [done.name for done in in_order(songs, None)] == list("abcdef")
    orders = {tuple(done.name for done in in_order(songs, week)) for week in range(12)}
    assert len(orders) > 8
    assert in_order(songs, 7) == in_order(songs[::-1], 7)
