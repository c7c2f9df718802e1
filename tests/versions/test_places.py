"""The same place in two versions is section and bar; where there is none, the nearest that both have."""

from __future__ import annotations

from fractions import Fraction
from random import Random

from mixer.recipe.model import Entry, Layer, LoopSource, Recipe, Section
from mixer.versions.changes import compare
from mixer.versions.places import places
from tests.versions.chance_songs import laid_out, some_recipe
from tests.versions.edits import EDITORS


def _plan(*sections: tuple[str, int]):
    layers = (Layer("tins", LoopSource("loop 0")), Layer("rope", LoopSource("loop 1")))
    made = tuple(Section(name, bars, (Entry("rope" if name == "bridge" else "tins"),)) for name, bars in sections)
    return laid_out(Recipe("song.yaml", Fraction(96), layers, made))


def _bars(found):
    return [(each.bar, each.why) for each in found]


def test_a_longer_intro_moves_all_that_follows():
    found = places(compare(_plan(("intro", 2), ("verse", 2)), _plan(("intro", 4), ("verse", 2))))
    assert _bars(found.old) == [(1, "same"), (2, "same"), (5, "same"), (6, "same")]
    assert _bars(found.new) == [
        (1, "same"),
        (2, "same"),
        (2, "shorter"),
        (2, "shorter"),
        (3, "same"),
        (4, "same"),
    ]


def test_a_section_without_partner_goes_to_the_nearest_bar_that_has_one():
    found = places(compare(_plan(("verse", 2), ("bridge", 4), ("outro", 2)), _plan(("verse", 2), ("outro", 2))))
    assert _bars(found.old)[2:6] == [(2, "alone"), (2, "alone"), (3, "alone"), (3, "alone")]
    assert _bars(found.new) == [(1, "same"), (2, "same"), (7, "same"), (8, "same")]


def test_of_any_two_versions_each_bar_has_a_place_and_the_same_ones_lead_back():
    for seed in range(80):
        chance = Random(seed)  # noqa: S311 - the same everywhere is what is wanted
        recipe = other = some_recipe(chance)
        for _ in range(chance.randint(1, 4)):
            edit = chance.choice(EDITORS)(chance, other) if other.layers and len(other.sections) > 1 else None
            if edit is not None and all(section.entries for section in edit.recipe.sections):
                other = edit.recipe
        found = places(compare(laid_out(recipe), laid_out(other)))
        assert (len(found.old), len(found.new)) == (recipe.bars, other.bars)
        for bar, there in enumerate(found.old, 1):
            assert 1 <= there.bar <= other.bars
            if there.why == "same":
                assert (found.new[there.bar - 1].bar, found.new[there.bar - 1].why) == (bar, "same"), f"seed {seed}"
