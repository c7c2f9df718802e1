"""`mixer compare` as it is used: recipes, songs, kept versions."""

from __future__ import annotations

import json

import pytest

from tests.cli.program import mixer

OLD = """title: Low Tide
tempo: 96
layers:
  drums: tin-roof
  bass: slow-tide
  shaker: rice-jar
sections:
  - verse, 4 bars: drums, bass
  - chorus, 4 bars: everything
"""
LONG = """sections:
  - name: verse
    bars: 4
    play:
      bass: 1-4
      drums:
  - name: chorus
    bars: 4
    play: {shaker: 1-, bass: 1-2 3-4, drums: }
layers:
  shaker:
    loop: rice-jar
    level: mf
  bass: {loop: slow-tide}
  drums: tin-roof
tempo: 96 bpm
title: Low Tide
""".replace("1-2 3-4", '"1-2, 3-4"')


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("compare")
    recipe = folder / "song.yaml"
    recipe.write_text(OLD, encoding="utf-8")
    assert mixer("render", "song.yaml", cwd=folder).returncode == 0
    recipe.write_text(OLD.replace("everything", "drums, bass, shaker 3-"), encoding="utf-8")
    return folder


SAID = 'chorus (from bar 5): "shaker" enters 2 bars later, at bar 7'


def test_the_version_before_is_the_other_side(folder):
    done = mixer("compare", "song.yaml", cwd=folder)
    assert done.returncode == 0
    assert done.stdout.splitlines()[0] == f"- {SAID}"


def test_a_song_is_compared_by_the_recipe_that_it_carries(folder):
    done = mixer("compare", "song.wav", "song.yaml", cwd=folder)
    assert done.stdout.splitlines()[0] == f"- {SAID}"


def test_versions_are_listed(folder):
    done = mixer("compare", "--versions", "song.yaml", cwd=folder)
    assert done.stdout.split("\n")[0].endswith("song 001.yaml")


def test_order_and_spelling_are_no_change(tmp_path):
    (tmp_path / "short.yaml").write_text(OLD, encoding="utf-8")
    (tmp_path / "long.yaml").write_text(LONG, encoding="utf-8")
    done = mixer("compare", "short.yaml", "long.yaml", cwd=tmp_path)
    assert done.stderr == ""
    assert done.stdout.startswith("Nothing has changed")


def test_each_change_has_a_reason_to_be_filled_in(folder, tmp_path):
    place = tmp_path / "why.md"
    done = mixer("compare", "song.yaml", "--because", str(place), cwd=folder)
    assert done.returncode == 0
    assert place.read_text(encoding="utf-8") == f"From song 001.yaml to song.yaml\n\n1. {SAID}\n   because ...\n"
    again = mixer("compare", "song.yaml", "--because", str(place), cwd=folder)
    assert again.returncode == 2
    assert "is there already" in again.stderr


def test_other_programs_read_it(folder):
    (change,) = json.loads(mixer("compare", "song.yaml", "--json", cwd=folder).stdout)["changes"]
    assert (change["kind"], change["old"], change["new"], change["layer"]) == ("enters", 1, 3, "shaker")
    assert change["places"][0]["new"] == {"section": "chorus", "first_bar": 5, "last_bar": 6}
    assert change["message"] == SAID


def test_what_cannot_be_compared_is_told(tmp_path):
    (tmp_path / "alone.yaml").write_text(OLD, encoding="utf-8")
    (tmp_path / "no.wav").write_bytes(b"RIFF")
    for given, told in (("alone.yaml", "no earlier version"), ("gone.yaml", "no file"), ("no.wav", "no recipe")):
        done = mixer("compare", given, cwd=tmp_path)
        assert done.returncode == 2
        assert told in done.stderr
        assert "Traceback" not in done.stderr
