"""Files are there whole or not at all; names are safe everywhere."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mixer.store.names import distinct_places, safe_name
from mixer.store.whole import whole_file, write_text


def test_what_stood_there_stays_when_writing_fails(tmp_path):
    path = tmp_path / "song.wav"
    path.write_bytes(b"the last good song")
    with pytest.raises(OSError, match="full"):
        _write_half(path)
    assert path.read_bytes() == b"the last good song"
    assert list(tmp_path.iterdir()) == [path]


def _write_half(path, error=None):
    with whole_file(path) as stream:
        stream.write(b"half of ")
        raise error or OSError("disk full")


def test_nothing_is_there_before_all_of_it_is(tmp_path):
    path = tmp_path / "deep" / "er" / "song.wav"
    with whole_file(path) as stream:
        stream.write(b"half of ")
        assert not path.exists()
        stream.write(b"a song")
    assert path.read_bytes() == b"half of a song"
    assert list(path.parent.iterdir()) == [path]


def test_ctrl_c_in_the_middle_leaves_nothing(tmp_path):
    with pytest.raises(KeyboardInterrupt):
        _write_half(tmp_path / "song.wav", KeyboardInterrupt())
    assert list(tmp_path.iterdir()) == []


def test_where_nothing_can_be_written_nothing_changes(tmp_path):
    (tmp_path / "file").write_bytes(b"mine")
    with pytest.raises(OSError, match=r"file|directory"):  # a folder is wanted where a file stands
        write_text(tmp_path / "file" / "song.txt", "x")
    (tmp_path / "folder").mkdir()
    with pytest.raises(OSError, match=r"folder|directory"):  # a file is wanted where a folder stands
        write_text(tmp_path / "folder", "x")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["file", "folder"]
    assert (tmp_path / "file").read_bytes() == b"mine"


@pytest.mark.skipif(os.geteuid() == 0, reason="nothing is unwritable for the superuser")
def test_a_folder_that_may_not_be_written_to(tmp_path):
    (tmp_path / "song.wav").write_bytes(b"the last good song")
    tmp_path.chmod(0o500)
    try:
        with pytest.raises(PermissionError):
            _write_half(tmp_path / "song.wav")
        assert [path.name for path in tmp_path.iterdir()] == ["song.wav"]
    finally:
        tmp_path.chmod(0o700)


def test_a_full_disk_when_it_takes_its_place(tmp_path, monkeypatch):
    def full(*_arguments):
        raise OSError(28, "No space left on device")

    path = tmp_path / "song.txt"
    path.write_text("before", encoding="utf-8")
    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(OSError, match="space"):
        write_text(path, "after")
    assert path.read_text(encoding="utf-8") == "before"
    assert list(tmp_path.iterdir()) == [path]


def test_a_long_name_in_another_script_can_be_written(tmp_path):
    name = "港" * 80 + ".txt"
    write_text(tmp_path / name, "x\n")
    assert (tmp_path / name).read_bytes() == b"x\n"


# Reserved names with and without endings: Microsoft, "Naming Files, Paths, and Namespaces" (from memory).
@pytest.mark.parametrize(
    ("text", "safe"),
    [
        ("Harbour Lights", "Harbour Lights"),
        ("../../etc/passwd", "etc passwd"),
        ("con", "con_"),
        ("Con", "Con_"),
        ("nul.tar.gz", "nul_.tar.gz"),
        ("LPT1.song", "LPT1_.song"),
        ("COM² .x", "COM²_.x"),
        ("console", "console"),
        ("..", "song"),
        (".hidden", "hidden"),
        ("--out", "out"),
        ("a - b", "a - b"),
        ("नदी का गीत", "नदी का गीत"),
        ("\u202eevil\u202c", "evil"),
        ("line\nend", "line end"),
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


@settings(derandomize="CI" in os.environ, deadline=None)
@given(st.text(max_size=80))
def test_any_name_is_safe(text):
    name = safe_name(text)
    assert 0 < len(name.encode()) <= 121
    assert not set(name) & set('/\\:*?"<>|\0')
    assert name[0] not in " .-"
    assert name[-1] not in " ."
    assert name.split(".")[0].strip().lower() not in ("con", "prn", "aux", "nul", "com1", "lpt9")
    assert safe_name(name) == name


def test_names_are_distinct_whatever_their_accents_are_made_of():
    places = distinct_places([Path("été"), Path("e\u0301te\u0301"), Path("ÉTÉ"), Path("Straße"), Path("STRASSE")])
    assert [place.name for place in places] == ["été", "été (2)", "ÉTÉ (3)", "Straße", "STRASSE (2)"]


def test_no_two_at_one_place():
    places = distinct_places([Path("a/Song"), Path("a/song"), Path("b/song"), Path("a/SONG")])
    assert [str(place) for place in places] == ["a/Song", "a/song (2)", "b/song", "a/SONG (3)"]
