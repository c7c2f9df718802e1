"""`new` into any place and under any name."""

from __future__ import annotations

import pytest

from tests.cli.program import mixer


@pytest.mark.parametrize(
    ("name", "folder"),
    [
        ("ночной порт", "ночной порт"),
        ("港の夜", "港の夜"),
        ("nul.song", "nul_.song"),
        ("what?", "what"),
        ("mine.yaml", "mine"),
        ("x" * 200, "x" * 120),
        ("a\x1b[31mb", "a 31mb"),
    ],
)
def test_any_name_makes_a_folder_that_any_system_can_hold(tmp_path, name, folder):
    done = mixer("new", name, cwd=tmp_path)
    assert done.returncode == 0
    assert [path.name for path in tmp_path.iterdir() if path.is_dir()] == [folder]
    assert (tmp_path / folder / f"{folder}.yaml").is_file()
    assert mixer("check", f"{folder}/{folder}.yaml", cwd=tmp_path).returncode == 0


def test_where_nothing_can_be_written_a_sentence_says_so(tmp_path):
    (tmp_path / "file").write_bytes(b"mine")
    done = mixer("new", "file/song", cwd=tmp_path)
    assert (done.returncode, "could not be written" in done.stderr) == (2, True)
    assert "Traceback" not in done.stderr
    assert (tmp_path / "file").read_bytes() == b"mine"


def test_a_name_is_needed(tmp_path):
    assert mixer("new", cwd=tmp_path).returncode == 2
