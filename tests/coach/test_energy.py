"""Energy behaves: what joins never lowers it, what leaves never raises it, and no other bar is touched."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from mixer.coach import energy as rules
from mixer.coach.energy import Energy
from mixer.signal.loudness import integrated_loudness
from mixer.song.mix import Mix
from mixer.song.plan import plan
from tests.coach.songs import LAYERS, heard, laid_out, library, materials_of, text_of


def energy_of(*sections: str, top: str = "", layers=LAYERS) -> Energy:
    return heard(laid_out(text_of(*sections, top=top, layers=layers)))


def _random_spans(chance: np.random.Generator) -> dict[str, set[int]]:
    return {name: {bar for bar in range(1, 9) if chance.random() < 0.4} for name in LAYERS}


def _section(spans: dict[str, set[int]], length: int = 8) -> str:
    heard = ", ".join(f"{name} {', '.join(map(str, sorted(bars)))}" for name, bars in spans.items() if bars)
    return f"part, {length} bars: {heard or 'nothing'}"


@pytest.mark.parametrize("seed", range(8))
def test_a_layer_more_never_lowers_a_bar_and_touches_no_other(seed):
    chance = np.random.default_rng(seed)
    spans = _random_spans(chance)
    before = energy_of(_section(spans))
    silent = [(name, bar) for name in LAYERS for bar in range(1, 9) if bar not in spans[name]]
    name, bar = silent[chance.integers(len(silent))]
    spans[name].add(bar)
    after = energy_of(_section(spans))
    others = [number for number in range(8) if number != bar - 1]
    assert [after.bars[each] for each in others] == [before.bars[each] for each in others]
    assert after.bars[bar - 1] > before.bars[bar - 1]
    assert after.detail[bar - 1].loudness_lufs > (before.detail[bar - 1].loudness_lufs or -np.inf)


@pytest.mark.parametrize("gone", ["drums", "bass"])
def test_without_drums_or_bass_a_bar_has_less(gone):
    whole = energy_of("part, 4 bars: drums, bass, piano, gulls")
    less = energy_of(f"part, 4 bars: drums, bass, piano, gulls, without {gone}")
    assert all(a < b for a, b in zip(less.bars, whole.bars, strict=True))


def test_four_roles_have_more_than_any_three():
    """Common practice, no source: drums, bass, harmony and percussion together are the fullest."""
    roles = ("drums", "bass", "piano", "shaker")
    four = energy_of(f"part, 4 bars: {', '.join(roles)}").bars
    for three in combinations(roles, 3):
        assert all(a < b for a, b in zip(energy_of(f"part, 4 bars: {', '.join(three)}").bars, four, strict=True))


def test_a_breakdown_is_a_fall_and_a_build_is_a_rise():
    """Common practice, no source: most layers leave in a breakdown; in a build one after the other joins."""
    song = energy_of(
        "chorus, 8 bars: drums, bass, piano, gulls",
        "breakdown, 8 bars: lamp",
        "build, 8 bars: lamp, shaker 3-, bass 5-, drums 7-",
        "chorus, 8 bars: drums, bass, piano, gulls",
    ).bars
    chorus, breakdown, build = song[:8], song[8:16], song[16:24]
    assert max(breakdown) < 0.6 * min(chorus)
    steps = [np.mean(build[at : at + 2]) for at in (0, 2, 4, 6)]
    assert steps == sorted(steps)
    assert steps[-1] > 2 * steps[0]
    assert song[24:] == chorus


def test_the_same_bar_again_has_the_same_energy_to_the_last_bit():
    whole = energy_of(
        "a, 4 bars: drums, bass, gulls",
        "b, 3 bars: everything",
        "a",
        "c, 2 bars: nothing",
        "d, 8 bars: drums, bass, gulls",
        top="time: 4/4\n",
    ).bars
    assert whole[:4] == whole[7:11] == whole[13:17] == whole[17:]


def test_a_level_of_the_next_section_does_not_reach_back():
    plain = energy_of("a, 4 bars: drums", "b, 4 bars: drums")
    # The mix goes to the new level in the last hundredth of a second before the bar line.
    softer = laid_out(text_of("a, 4 bars: drums", "name: b\n    bars: 4\n    play:\n      drums:\n        level: -12"))
    bars = heard(softer).bars
    assert bars[:4] == plain.bars[:4]
    assert all(a < b for a, b in zip(bars[4:], plain.bars[4:], strict=True))


@pytest.mark.parametrize("level_db", [-24, -6, 6])
def test_everything_softer_or_louder_keeps_the_shape(level_db):
    sections = ("a, 4 bars: drums, rain", "b, 4 bars: everything", "c, 2 bars: nothing", "d, 4 bars: piano, bass 3-")
    song = laid_out(text_of(*sections))
    layers = tuple(replace(layer, level_db=level_db) for layer in song.recipe.layers)
    moved = plan(replace(song.recipe, layers=layers), library())
    usual, other = heard(song), heard(moved)
    assert other.shape == pytest.approx(usual.shape, abs=1e-9)
    assert other.fullest_bar == usual.fullest_bar
    assert [(bar.onsets, bar.roles, bar.bands) for bar in other.detail] == [
        (bar.onsets, bar.roles, bar.bands) for bar in usual.detail
    ]


def test_ten_decibels_are_twice_as_much():
    """ISO 131 and ISO 532: ten phon more are twice as many sones."""
    loud, soft = (energy_of("a, 4 bars: x", layers={"x": f"{{loop: tin-roof, level: {level}}}"}) for level in (+0, -10))
    assert np.array(loud.bars) / np.array(soft.bars) == pytest.approx(2.0)


def test_silence_is_lowest_and_a_shape_goes_from_quietest_to_fullest():
    song = energy_of("a, 2 bars: drums", "b, 2 bars: nothing", "c, 2 bars: everything")
    assert song.bars[2:4] == (0.0, 0.0)
    assert min(song.shape) == song.shape[2] == 0.0
    assert max(song.shape) == song.shape[song.fullest_bar - 1] == 1.0
    assert song.fullest_bar in (5, 6)
    assert song.detail[2].loudness_lufs is None


def test_songs_without_sound_have_no_fullest_bar():
    nothing = energy_of("a, 2 bars: nothing")
    assert (nothing.bars, nothing.shape, nothing.fullest_bar) == ((0.0, 0.0), (0.0, 0.0), 0)
    assert (Energy(()).shape, Energy(()).fullest_bar) == ((), 0)


def test_a_song_that_stays_the_same_is_no_mountain():
    shape = energy_of("a, 16 bars: drums, bass, piano").shape
    assert min(shape) > 0.5


def test_a_fade_falls_bar_by_bar_and_takes_nothing_with_it():
    faded = laid_out(text_of("name: a\n    bars: 8\n    fade out: 4 bars\n    play: lamp, bass"))
    bars = heard(faded).bars
    assert bars[:4] == energy_of("a, 8 bars: lamp, bass").bars[:4]
    assert list(bars[4:]) == sorted(bars[4:], reverse=True)
    assert 0 < bars[-1] < 0.5 * bars[0]


def test_loudness_of_a_bar_is_that_of_the_mix():
    """Layers that have little to do with each other add up as powers do; ITU-R BS.1770 reads it of the mixed sound."""
    song = laid_out(text_of("a, 4 bars: drums, bass, rain"))
    mixed = np.concatenate([block.copy() for block in Mix(song, materials_of(song)).blocks()])
    bars = heard(song).detail
    powers = np.mean([10 ** (bar.loudness_lufs / 10) for bar in bars])
    assert 10 * np.log10(powers) == pytest.approx(integrated_loudness(mixed, song.rate_hz), abs=0.5)


def test_onsets_are_counted_where_they_are():
    """The demo loops are made from notes: this shaker plays eighths or more, so eight onsets a bar at least."""
    song = energy_of("a, 4 bars: shaker", "b, 4 bars: lamp", "c, 4 bars: shaker, lamp")
    shaker, lamp, both = (song.detail[at : at + 4] for at in (0, 4, 8))
    assert all(bar.onsets >= 8 for bar in shaker)
    assert all(bar.onsets < 8 for bar in lamp)
    assert all(b.onsets >= a.onsets for a, b in zip(shaker, both, strict=True))
    assert {bar.roles for bar in both} == {("harmony", "percussion")}


def test_a_full_bar_is_made_of_all_four_terms(monkeypatch):
    """The shares are set so that none of the four terms rules alone: each makes up a tenth to a half of a full bar."""
    whole = energy_of("a, 4 bars: drums, bass, piano, shaker, gulls").bars
    for term in rules.SHARES:
        monkeypatch.setattr(rules, "SHARES", {**rules.SHARES, term: 0.0})
        less = energy_of("a, 4 bars: drums, bass, piano, shaker, gulls").bars
        monkeypatch.undo()
        assert all(0.1 < 1 - b / a < 0.5 for a, b in zip(whole, less, strict=True)), term


def test_a_layers_share_is_what_goes_with_it():
    song = laid_out(text_of("a, 4 bars: drums, bass 3-", "b, 4 bars: everything"))
    sounds = materials_of(song)
    found = rules.shares(song, sounds)
    for name in sounds:
        rest = rules.energy(song, {other: sound for other, sound in sounds.items() if other != name})
        lost = [1 - less / full for less, full in zip(rest.bars, heard(song).bars, strict=True)]
        assert found[name] == pytest.approx(lost, abs=1e-9)
    assert found["drums"][:2] == (1.0, 1.0)
    assert found["bass"][:2] == (0.0, 0.0)
