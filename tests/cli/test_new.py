"""`new` into any place and under any name."""

from __future__ import annotations

import subprocess
import sys
from functools import partial

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


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="files cannot be kept small there")
def test_a_name_whose_recipe_found_no_room_can_be_used_when_there_is_some(tmp_path):
    import resource

    command = [sys.executable, "-m", "mixer", "new", "song"]
    small = partial(resource.setrlimit, resource.RLIMIT_FSIZE, (100, 100))  # as on a full disk; a recipe is larger
    done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False, preexec_fn=small)
    assert (done.returncode, "could not be written" in done.stderr) == (2, True)
    assert mixer("new", "song", cwd=tmp_path).returncode == 0


def test_a_name_is_needed(tmp_path):
    assert mixer("new", cwd=tmp_path).returncode == 2


def test_words_without_quotation_marks_are_one_name_and_the_title(tmp_path):
    done = mixer("new", "harbour", "lights", cwd=tmp_path)
    assert done.returncode == 0
    assert "\ntitle: Harbour Lights\n" in (tmp_path / "harbour-lights" / "harbour-lights.yaml").read_text("utf-8")


def test_a_song_is_found_by_less_than_its_name(tmp_path):
    mixer("new", "harbour-lights", cwd=tmp_path)
    told = {
        what: mixer("check", what, cwd=tmp_path).stderr for what in ("harbour-lights", "harbour-lights/harbour-lights")
    }
    assert "harbour-lights/harbour-lights.yaml" in told["harbour-lights"]
    assert 'Did you mean "harbour-lights/harbour-lights.yaml"?' in told["harbour-lights/harbour-lights"]
