"""A song made again while it is written: what comes from memory changes no byte, and what is the same is not made."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import numpy as np
import pytest

from mixer.signal.blocks import BLOCK_FRAMES
from mixer.song import survey as survey_room
from mixer.song.again import Again
from mixer.song.finish import finish
from mixer.song.mix import Mix
from tests.song.mixes import noise_materials, sound_of
from tests.versions.chance_songs import laid_out, some_recipe
from tests.versions.edits import EDITORS


@pytest.mark.parametrize("seed", range(6))
def test_after_any_edits_the_mix_is_the_same_as_a_fresh_one(seed):
    chance = Random(seed)  # noqa: S311 - songs, no secrets
    recipe = some_recipe(chance)
    again, kept = Again(), {}
    for editor in chance.sample(EDITORS, 6):
        plan = laid_out(recipe)
        materials = noise_materials(plan, kept)
        mix = again.mix(plan, materials)
        fresh = sound_of(Mix(plan, materials))
        assert np.array_equal(sound_of(mix), fresh)
        assert np.array_equal(sound_of(mix), fresh)  # what is kept by the first time is not spoilt by it
        edit = editor(chance, recipe)
        recipe = edit.recipe if edit is not None else recipe


def test_only_what_changed_is_mixed_again(monkeypatch):
    recipe = some_recipe(Random(3))  # noqa: S311 - songs, no secrets
    again, kept = Again(), {}
    plan = laid_out(recipe)
    sound_of(again.mix(plan, noise_materials(plan, kept)))
    made = []
    added_up = Mix.added_up
    monkeypatch.setattr(Mix, "added_up", lambda *given: made.append(given[1]) or added_up(*given))
    sound_of(again.mix(plan, noise_materials(plan, kept)))
    assert made == []
    shorter = laid_out(_without_the_last_entry(recipe))
    sound_of(again.mix(shorter, noise_materials(shorter, kept)))
    last = plan.marks[-1].start_frame
    assert made
    assert min(made) >= last - BLOCK_FRAMES - 441  # a block before it, and a fade-in of 10 ms
    assert again.size_bytes == 8 * plan.length_frames


def _without_the_last_entry(recipe):
    last = recipe.sections[-1]
    return replace(recipe, sections=(*recipe.sections[:-1], replace(last, entries=last.entries[:-1])))


@pytest.mark.parametrize("seed", range(4))
def test_what_is_measured_from_where_it_differs_is_what_is_measured_of_the_whole(monkeypatch, seed):
    monkeypatch.setattr(survey_room, "STOP_FRAMES", 100_000)
    chance = Random(seed)  # noqa: S311 - songs, no secrets
    recipe = some_recipe(chance)
    again, kept, passed = Again(), {}, []
    stop_before = survey_room.Stops.before
    monkeypatch.setattr(survey_room.Stops, "before", lambda *given: passed.append(given[1]) or stop_before(*given))
    for editor in chance.sample(EDITORS, 5):
        plan = laid_out(recipe)
        materials = noise_materials(plan, kept)
        found, whole = again.finished(plan, materials), finish(Mix(plan, materials))
        assert (found.gain_db, found.loudness_lufs, found.true_peak_dbtp) == (
            whole.gain_db,
            whole.loudness_lufs,
            whole.true_peak_dbtp,
        )
        assert np.array_equal(sound_of(found), sound_of(whole))
        edit = editor(chance, recipe)
        recipe = edit.recipe if edit is not None else recipe
    assert max(passed) > 0
