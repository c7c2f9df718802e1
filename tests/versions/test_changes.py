"""What changed between two versions: any single edit is found, named in the right bars, and nothing else is."""

from __future__ import annotations

from random import Random

import pytest

from mixer.versions.changes import compare
from mixer.words.english.changes import sentence
from tests.versions.chance_songs import laid_out, some_recipe
from tests.versions.edits import EDITORS

EACH = 30  # songs for every kind of edit


def _seen(change):
    """A change in the form in which the edits say what must be found."""
    sides = [passage.new if change.value.new is not None else passage.old for passage in change.passages]
    bars = tuple((side.song_first_bar, side.song_last_bar) for side in sides)
    return change.kind, change.value.old, change.value.new, change.layer.new if change.layer else "", bars


@pytest.mark.parametrize("editor", EDITORS, ids=lambda editor: editor.__name__)
def test_a_single_edit_is_found_and_nothing_else(editor):
    made = 0
    for seed in range(EACH * 4):
        chance = Random(seed)  # noqa: S311 - the same everywhere is what is wanted
        recipe = some_recipe(chance)
        edit = editor(chance, recipe)
        if edit is None:
            continue
        made += 1
        found = [_seen(change) for change in compare(laid_out(recipe), laid_out(edit.recipe)).changes]
        if edit.one_of:
            assert found in [[right] for right in edit.one_of], f"seed {seed}"
        else:
            assert found == [], f"seed {seed}"
        if made == EACH:
            break
    assert made >= EACH // 2


def test_a_song_against_itself_has_no_change():
    for seed in range(60):
        recipe = some_recipe(Random(seed))  # noqa: S311 - the same everywhere is what is wanted
        assert compare(laid_out(recipe), laid_out(recipe)).changes == ()


def test_a_replaced_recording_is_found_where_it_is_heard_and_nothing_else_is():
    for seed in range(30):
        plan = laid_out(some_recipe(Random(seed)))  # noqa: S311 - the same everywhere is what is wanted
        part = next(part for part in plan.parts if part.cues)
        (change,) = compare(plan, plan, {part.fit.card.name, "a loop that is not in it"}).changes
        assert (change.kind, change.layer.new, change.heard) == ("recording", part.layer.name, True)
        assert change.turned() == change
        assert "is another recording now" in sentence(change)


def test_old_to_new_and_new_to_old_mirror_each_other():
    for seed in range(250):
        chance = Random(seed)  # noqa: S311 - the same everywhere is what is wanted
        recipe = some_recipe(chance)
        other = some_recipe(chance) if seed % 5 == 0 else recipe
        for _ in range(chance.randint(1, 6)):
            edit = chance.choice(EDITORS)(chance, other) if other.layers and len(other.sections) > 1 else None
            if edit is not None and all(section.entries for section in edit.recipe.sections):
                other = edit.recipe
        there = compare(laid_out(recipe), laid_out(other)).changes
        back = compare(laid_out(other), laid_out(recipe)).changes
        assert _as_set(change.turned() for change in back) == _as_set(there), f"seed {seed}"
        assert all(sentence(change) for change in (*there, *back))


def _as_set(changes):
    """Without the order, in which what is gone stands where it was."""
    return sorted(
        repr((c.kind, c.value, c.layer, sorted(map(repr, c.passages)), c.throughout, sorted(c.who))) for c in changes
    )
