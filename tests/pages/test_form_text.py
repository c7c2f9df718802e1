"""The chart in text: readable at 80 columns, whatever the song."""

from __future__ import annotations

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


@pytest.mark.parametrize("bars", [1, 2, 7, 64])
@pytest.mark.parametrize("count", [1, 5, 60])
def test_no_line_is_wider_than_the_page(bars, count):
    sections = [("A", "a section with a long name", 1 + bars * n, bars) for n in range(count)]
    layers = [("a layer with a very long name", [(1, bars)]), ("x", [])]
    lines = form_as_text(sections, layers).splitlines()
    assert max(len(line) for line in lines) <= 80
    assert sum(line.startswith("x") for line in lines) == len([line for line in lines if line == ""]) + 1
