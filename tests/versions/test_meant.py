"""What was meant: only words that say how much goes on, and nothing else, are held against the sound."""

from __future__ import annotations

from fractions import Fraction

import pytest

from mixer.recipe.model import Entry, Layer, LoopSource, Recipe, Section
from mixer.versions.changes import compare
from mixer.versions.effect import Effect
from mixer.versions.meant import toward_meant
from mixer.words.english.compared import amounts_in
from tests.versions.chance_songs import laid_out


@pytest.mark.parametrize(
    ("text", "amounts"),
    [
        ("quiet", (-1, 0)),
        ("Very loud and WILD", (1, 1)),
        ("calm", (0, -1)),
        ("loud and quiet", (0, 0)),
        ("quiet and busy", (-1, 1)),
        ("not quiet", (0, 0)),
        ("the big ship leaves", (0, 0)),
        ("sad", (0, 0)),
        ("", (0, 0)),
    ],
)
def test_words_of_amount(text, amounts):
    assert amounts_in(text) == amounts


@pytest.mark.parametrize(
    ("meant", "fuller", "busier", "nearer"),
    [
        ("loud", 1, 0, 1),
        ("loud", -1, 0, -1),
        ("loud", 0, 1, None),  # of busy the word says nothing
        ("wild", 1, 1, 1),
        ("wild", 1, -1, 0),
        ("like rain", 1, 1, None),
    ],
)
def test_nearer_and_further(meant, fuller, busier, nearer):
    section = Section("verse", 4, (Entry("tins"),), meant=meant)
    plan = laid_out(Recipe("song.yaml", Fraction(96), (Layer("tins", LoopSource("loop 0")),), (section, section)))
    (found,) = toward_meant(compare(plan, plan), [Effect("verse", 5, fuller, busier)])
    assert (found.bars, found.meant, found.nearer) == ((5, 8), meant, nearer)


def test_of_what_nothing_was_meant_nothing_is_told():
    section = Section("verse", 4, (Entry("tins"),))
    plan = laid_out(Recipe("song.yaml", Fraction(96), (Layer("tins", LoopSource("loop 0")),), (section,)))
    assert toward_meant(compare(plan, plan), [Effect("verse", 1, 1, 1)]) == []
