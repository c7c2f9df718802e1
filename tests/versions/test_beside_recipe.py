"""Beside a watched recipe: page and mistakes are written, anew too, and what a person made stays."""

from __future__ import annotations

from mixer.pages.document import document
from mixer.versions.beside_recipe import write_beside

PAGE = document("Low Tide", "one", "", "", {})


def test_page_and_mistakes_come_and_mistakes_go(tmp_path):
    recipe = tmp_path / "song.yaml"
    assert write_beside(recipe, PAGE, "line 3: no") == []
    assert (tmp_path / "song.html").read_text(encoding="utf-8") == PAGE
    assert "line 3: no" in (tmp_path / "song (mistakes).txt").read_text(encoding="utf-8")
    assert write_beside(recipe, PAGE.replace("one", "two"), "") == []
    assert "two" in (tmp_path / "song.html").read_text(encoding="utf-8")
    assert [path.name for path in tmp_path.iterdir()] == ["song.html"]


def test_without_a_song_the_page_stays(tmp_path):
    recipe = tmp_path / "song.yaml"
    write_beside(recipe, PAGE, "")
    write_beside(recipe, "", "that is no recipe")
    assert (tmp_path / "song.html").read_text(encoding="utf-8") == PAGE


def test_what_a_person_made_stays(tmp_path):
    recipe = tmp_path / "song.yaml"
    page, notes = tmp_path / "song.html", tmp_path / "song (mistakes).txt"
    page.write_text("<h1>mine</h1>", encoding="utf-8")
    notes.write_text("my own", encoding="utf-8")
    assert write_beside(recipe, PAGE, "line 3: no") == [page, notes]
    assert write_beside(recipe, PAGE, "") == [page]
    assert (page.read_text(encoding="utf-8"), notes.read_text(encoding="utf-8")) == ("<h1>mine</h1>", "my own")
