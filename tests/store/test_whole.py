"""Files are there whole or not at all; names are safe everywhere."""

from __future__ import annotations

from pathlib import Path

import pytest

from mixer.store.names import distinct_places, safe_name
from mixer.store.whole import whole_file, write_text


def test_what_stood_there_stays_when_writing_fails(tmp_path):
    path = tmp_path / "song.wav"
    path.write_bytes(b"the last good song")
    with pytest.raises(OSError, match="full"):
        _write_half(path)
    assert path.read_bytes() == b"the last good song"
    assert list(tmp_path.iterdir()) == [path]


def _write_half(path):
    with whole_file(path) as stream:
        stream.write(b"half of ")
        raise OSError("disk full")


def test_a_long_name_in_another_script_can_be_written(tmp_path):
    name = "港" * 80 + ".txt"
    write_text(tmp_path / name, "x\n")
    assert (tmp_path / name).read_bytes() == b"x\n"


@pytest.mark.parametrize(
    ("text", "safe"),
    [
        ("Harbour Lights", "Harbour Lights"),
        ("../../etc/passwd", "etc passwd"),
        ("con", "con_"),
        ("LPT1.song", "LPT1.song_"),
        ('a/b\\c:d*e?f"g<h>i|j', "a b c d e f g h i j"),
        ("ends with dots...", "ends with dots"),
        ("   ", "song"),
        ("\x1b[31m\x00", "31m"),
        ("港の夜 · Νύχτες", "港の夜 Νύχτες"),
        ("ليالي الميناء", "ليالي الميناء"),
        ("e\u0301te\u0301", "été"),
    ],
)
def test_names(text, safe):
    assert safe_name(text) == safe


def test_a_name_has_a_bound():
    assert len(safe_name("ж" * 500).encode()) <= 120


def test_no_two_at_one_place():
    places = distinct_places([Path("a/Song"), Path("a/song"), Path("b/song"), Path("a/SONG")])
    assert [str(place) for place in places] == ["a/Song", "a/song (2)", "b/song", "a/SONG (3)"]
