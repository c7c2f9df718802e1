"""A song gives its recipe back."""

from __future__ import annotations

import json

import pytest

from mixer.signal.riff import read_chunks
from tests.cli.program import mixer

RECIPE = "title: Ölfass & Möwe\ntempo: 96\nlayers:\n  box: tin-roof\nsections:\n  - eins, 4 bars: box   # ☂\n"


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("song")
    (folder / "song.yaml").write_text(RECIPE, encoding="utf-8", newline="")
    assert mixer("render", "song.yaml", cwd=folder).returncode == 0
    return folder


def test_the_recipe_comes_back_to_the_letter(folder):
    assert mixer("recipe", "song.wav", cwd=folder).stdout == RECIPE
    done = mixer("recipe", "song.wav", "--out", "again.yaml", cwd=folder)
    assert done.returncode == 0
    assert (folder / "again.yaml").read_text(encoding="utf-8") == RECIPE


def test_a_song_rendered_from_it_has_the_same_bytes(folder):
    (folder / "twin").mkdir()
    mixer("recipe", "song.wav", "--out", "twin/song.yaml", cwd=folder)
    mixer("render", "twin/song.yaml", cwd=folder)
    assert (folder / "twin" / "song.wav").read_bytes() == (folder / "song.wav").read_bytes()


def test_it_knows_its_loops_by_their_content(folder):
    carried = next(chunk.content for chunk in read_chunks(folder / "song.wav") if chunk.name == b"mixr")
    content = json.loads(carried)
    assert list(content["loops"]) == ["tin-roof"]
    assert len(content["loops"]["tin-roof"]) == 32
    assert content["version"]


def test_nothing_is_written_over(folder):
    done = mixer("recipe", "song.wav", "--out", "song.yaml", cwd=folder)
    assert done.returncode == 2
    assert "is there already" in done.stderr
    assert (folder / "song.yaml").read_text(encoding="utf-8") == RECIPE


@pytest.mark.parametrize(
    "content", [b"", b"RIFF", b"not a song", b"RIFF\x04\0\0\0WAVE", b"RIFF\x10\0\0\0WAVEmixr\x02\0\0\0[]"]
)
def test_what_is_no_song_of_ours_is_told(tmp_path, content):
    (tmp_path / "x.wav").write_bytes(content)
    done = mixer("recipe", "x.wav", cwd=tmp_path)
    assert done.returncode == 2
    assert "no recipe" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_song_that_is_not_there(tmp_path):
    done = mixer("recipe", "nix.wav", cwd=tmp_path)
    assert (done.returncode, 'no song called "nix.wav"' in done.stderr) == (2, True)


def test_where_it_cannot_be_written_a_sentence_says_so(folder, tmp_path):
    (tmp_path / "file").write_bytes(b"mine")
    done = mixer("recipe", folder / "song.wav", "--out", "file/song.yaml", cwd=tmp_path)
    assert (done.returncode, "could not be written" in done.stderr, "Traceback" in done.stderr) == (2, True, False)
