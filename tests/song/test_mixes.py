"""A mix that stays in memory until it is written sounds as one that is made again, whatever else is mixed meanwhile."""

from __future__ import annotations

from random import Random

import numpy as np
import pytest

from mixer.song import mixes as mixes_room
from mixer.song.mix import Mix
from mixer.song.mixes import Mixes
from tests.song.mixes import noise_materials, sound_of
from tests.versions.chance_songs import laid_out, some_recipe


def a_mix(seed):
    plan = laid_out(some_recipe(Random(seed)))  # noqa: S311 - songs, no secrets
    return Mix(plan, noise_materials(plan, {}))


@pytest.fixture
def mixed(monkeypatch):
    """Where each block began that was really added up."""
    done = []
    added_up = Mix.added_up
    monkeypatch.setattr(Mix, "added_up", lambda *given: done.append(given[1]) or added_up(*given))
    return done


@pytest.fixture
def second():
    """Memory that has seen a song."""
    mixes = Mixes()
    mixes.kept(a_mix(0))
    return mixes


def test_the_first_song_is_not_kept():
    mix = a_mix(1)
    assert Mixes().kept(mix) is mix


def test_the_second_is_added_up_once(second, mixed):
    mix = a_mix(1)
    fresh = sound_of(mix)
    mixed.clear()
    kept = second.kept(mix)
    assert np.array_equal(sound_of(kept), fresh)
    assert len(mixed) > 10
    mixed.clear()
    assert np.array_equal(sound_of(kept), fresh)
    assert mixed == []


def test_what_was_gone_through_half_is_gone_on_with(second):
    mix = a_mix(1)
    kept = second.kept(mix)
    some = kept.blocks()
    next(some), next(some)
    assert np.array_equal(sound_of(kept), sound_of(mix))


def test_another_song_takes_its_place_without_spoiling_it(second):
    first, other = a_mix(1), a_mix(2)
    fresh, fresh_other = sound_of(first), sound_of(other)
    kept = second.kept(first)
    sound_of(kept)
    halfway = kept.blocks()
    begun = [next(halfway).copy(), next(halfway).copy()]
    kept_other = second.kept(other)
    assert np.array_equal(sound_of(kept_other), fresh_other)
    assert np.array_equal(np.concatenate([*begun, *(block.copy() for block in halfway)]), fresh)
    assert np.array_equal(sound_of(kept), fresh)
    assert np.array_equal(sound_of(kept_other), fresh_other)


def test_a_song_that_is_too_long_is_not_kept():
    mix = a_mix(1)
    mixes = Mixes(most_frames=mix.length_frames - 1)
    mixes.kept(a_mix(0))
    assert mixes.kept(mix) is mix


def test_where_there_is_no_memory_it_is_made_again(second, monkeypatch):
    def none_left(*_):
        raise MemoryError

    mix = a_mix(1)
    monkeypatch.setattr(mixes_room.np, "empty", none_left)
    assert second.kept(mix) is mix
