"""A brief is found by its name and nowhere but where it may be."""

from __future__ import annotations

import os

import pytest

from mixer.song.briefs import Shelf, read_brief_file, shipped_briefs

BRIEF = "brief: Ours\ngoal: Try.\nlongest: 1:00\n"


@pytest.fixture
def recipe(tmp_path):
    (tmp_path / "class").mkdir()
    (tmp_path / "outside.yaml").write_text(BRIEF, encoding="utf-8")
    path = tmp_path / "class" / "song.yaml"
    path.write_text("tempo: 96\n", encoding="utf-8")
    return path


@pytest.mark.parametrize(
    "name", ["First song", "first song", "FIRST-SONG", "first_song", "01-first-song", "first  song", "first-song.yaml"]
)
def test_the_programs_own_are_found_by_title_and_file_whatever_the_spelling(name):
    found = Shelf().find(name)
    assert found is not None
    assert (found.path.name, found.ours) == ("01-first-song.yaml", True)


def test_all_of_the_programs_own_are_found_by_the_name_that_is_told():
    assert [Shelf().find(name).path for name in Shelf()] == [each.path for each in shipped_briefs()]


def test_one_beside_the_recipe_is_found_by_its_file_and_comes_first(recipe):
    (recipe.parent / "Week 3.yml").write_text(BRIEF, encoding="utf-8")
    (recipe.parent / "first-song.yaml").write_text(BRIEF, encoding="utf-8")
    shelf = Shelf(recipe)
    assert shelf.find("week-3").path.name == "Week 3.yml"
    assert shelf.find("First song").brief.name == "Ours"
    assert list(shelf)[:2] == ["Week 3", "first-song"]


@pytest.mark.parametrize("name", ["outside", "../outside", "../outside.yaml", "link", "folder", "song", "", ".", "a/b"])
def test_no_name_leads_anywhere_else(recipe, name):
    (recipe.parent / "link.yaml").symlink_to(recipe.parents[1] / "outside.yaml")
    (recipe.parent / "folder.yaml").mkdir()
    assert Shelf(recipe).find(name) is None
    assert Shelf(recipe).find(str(recipe.parents[1] / "outside.yaml")) is None


def test_what_cannot_be_read_is_told_and_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "pipe.yaml")
    (tmp_path / "large.yaml").write_bytes(b"# x\n" * 100_000)
    (tmp_path / "sound.yaml").write_bytes(b"RIFF\0\0\0\0\0\0WAVE")
    for name in ("pipe.yaml", "large.yaml", "sound.yaml", "gone.yaml", "x" * 300, "a\0b"):
        found = read_brief_file(tmp_path / name)
        assert (found.brief, [problem.kind for problem in found.reading.problems]) == (None, ["brief-locked"]), name
