"""The chart in text: readable at 80 columns, whatever the song."""

from __future__ import annotations

import unicodedata

import pytest

from mixer.pages.form_text import form_as_text


def test_a_small_song_as_a_person_has_looked_at_it():
    sections = [("A", "start", 1, 4), ("B", "middle", 5, 8), ("A", "start", 13, 4)]
    layers = [("drums", [(5, 12)]), ("piano", [(1, 6), (9, 16)])]
    assert form_as_text(sections, layers).splitlines() == [
        "      |[A] start      |[B] middle                     |[A] start      |",
        "      |1              |5                              |13             |",
        "drums |------ 4 ------|===============================|------ 4 ------|",
        "piano |===============|=======--- 2 --================|===============|",
    ]


def test_energy_is_a_line_of_steps():
    sections = [("A", "start", 1, 2), ("B", "middle", 3, 2)]
    lines = form_as_text(sections, [("drums", [(1, 4)])], energy=(0.0, 0.4, 1.0, 0.6)).splitlines()
    assert lines[2:] == [
        "drums  |=========|=========|",
        "           fullest at bar 3",
        "                  _____",
        "                       ____",
        "             _____",
        "energy  _____",
    ]


def test_a_song_that_is_the_same_all_along_is_fullest_nowhere():
    lines = form_as_text([("A", "start", 1, 2)], [("drums", [(1, 2)])], energy=(1.0, 1.0)).splitlines()
    assert lines[3] == "        _________"
    assert not any("fullest" in line for line in lines)


def test_wide_letters_and_accents_keep_the_bars_in_line():
    """Wide letters take two columns (Unicode Standard Annex 11), combining signs none (terminals, common practice)."""
    sections = [("A", "はじまり", 1, 4), ("B", "e\u0301te\u0301", 5, 4)]
    layers = [("太鼓", [(1, 4)]), ("bass", [(5, 8)]), ("とても長い名前のレイヤー", [(1, 8)])]
    lines = form_as_text(sections, layers).splitlines()
    assert len({_bar_line_columns(line) for line in lines}) == 1
    assert "はじまり" in lines[0]


def _bar_line_columns(line):
    """At which columns of a terminal a line has its bar lines, by the blocks of the letters used here."""
    column, found = 0, []
    for sign in unicodedata.normalize("NFC", line):
        if sign == "|":
            found.append(column)
        column += 2 if "\u3000" <= sign <= "\u9fff" else 1
    return tuple(found)


def test_a_name_that_is_too_long_for_its_place_is_cut():
    lines = form_as_text([("A", "the longest name of all", 1, 1)], [("a layer with a very long name", [(1, 1)])])
    assert [line.split("|")[0].strip() for line in lines.splitlines()] == ["", "", "a layer with ~"]


@pytest.mark.parametrize("bars", [1, 2, 7, 64])
@pytest.mark.parametrize("count", [1, 5, 60])
def test_no_line_is_wider_than_the_page(bars, count):
    sections = [("A", "a section with a long name", 1 + bars * n, bars) for n in range(count)]
    layers = [("a layer with a very long name", [(1, bars)]), ("x", [])]
    lines = form_as_text(sections, layers).splitlines()
    assert max(len(line) for line in lines) <= 80
    assert sum(line.startswith("x") for line in lines) == len([line for line in lines if line == ""]) + 1
