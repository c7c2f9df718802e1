"""Chords that are struck again, softly, while those before them ring; and what rises as much but strikes nothing."""

import numpy as np
import pytest

from mixer.signal.fit import fit_loop
from mixer.signal.onsets import attack_starts, find_onsets, find_rises
from mixer.signal.pieces import RINGING, piece_kinds
from mixer.signal.struck import with_struck
from tests.signal.signals import RATE_HZ, midi_hz, stereo

KEYS = (57, 60, 64)
BEATS, BEAT_SECONDS = 8, 0.4
LOUD, SOFT = (0.0, 2.0, 4.0, 6.0), (1.25, 3.0, 5.25, 7.0)
MS = RATE_HZ // 1000


def chord(seed, level_db=0.0):
    """Twelve partials a note, high ones gone sooner, each with a phase of its own."""
    t = np.arange(3 * RATE_HZ) / RATE_HZ
    phase = np.random.default_rng(seed).uniform(0, 2 * np.pi, (len(KEYS), 12))
    rung = sum(
        np.cos(2 * np.pi * midi_hz(key) * h * t + phase[number, h - 1]) / h * np.exp(-t * (2 + 0.3 * h))
        for number, key in enumerate(KEYS)
        for h in range(1, 13)
    )
    return 0.05 * 10 ** (level_db / 20) * rung * np.clip(t / 0.003, 0, 1)


def added(loop, start, sound):
    np.add.at(loop, (round(start) + np.arange(len(sound))) % len(loop), sound)


def struck(soft_db, *, damped=False):
    """Chords on every second beat and soft ones between them, each ringing on or until the next; and where they are."""
    loop = np.zeros(round(BEATS * BEAT_SECONDS * RATE_HZ))
    beats = sorted(LOUD + SOFT)
    places = np.array(beats) * BEAT_SECONDS * RATE_HZ
    for seed, (beat, place) in enumerate(zip(beats, places, strict=True)):
        rung = chord(seed, 0.0 if beat in LOUD else soft_db)
        if damped:
            until = BEAT_SECONDS * ([*beats, BEATS][seed + 1] - beat)
            rung *= np.clip((until + 0.04 - np.arange(len(rung)) / RATE_HZ) / 0.04, 0, 1)
        added(loop, place, rung)
    return stereo(loop), places


def all_of(loop):
    rises, soft = find_rises(loop, RATE_HZ)
    onsets = attack_starts(loop, RATE_HZ, rises)
    every, kinds = with_struck(loop, RATE_HZ, onsets, piece_kinds(loop, RATE_HZ, onsets), soft)
    assert kinds == piece_kinds(loop, RATE_HZ, every)
    return every


@pytest.mark.parametrize(
    ("soft_db", "damped"), [(-10, False), (-12, False), (-15, False), (-10, True), (-12, True), (-14, True)]
)
def test_they_are_found(soft_db, damped):
    loop, places = struck(soft_db, damped=damped)
    found = all_of(loop)
    assert len(find_onsets(loop, RATE_HZ)) < len(found) == len(places)
    apart = (found[:, None] - places + len(loop) / 2) % len(loop) - len(loop) / 2
    assert np.abs(apart).min(axis=0).max() < 4 * MS


def test_of_those_that_are_softer_still_three_of_four_are_found():
    loop, places = struck(-17)
    found = all_of(loop)
    assert len(found) == len(places) - 1
    apart = (found[:, None] - places + len(loop) / 2) % len(loop) - len(loop) / 2
    assert np.abs(apart).min(axis=1).max() < 4 * MS


@pytest.mark.parametrize("depth", [0.1, 0.2])
def test_brief_ones_are_found_under_what_beats_and_hides_that_they_die_away(depth):
    bar, brief, t = 1.2 * RATE_HZ, 0.14 * RATE_HZ, np.arange(2 * RATE_HZ) / RATE_HZ

    def notes(keys, per_second, level_db, frames):
        rung = sum(np.cos(2 * np.pi * midi_hz(key) * h * t + h * key) / h for key in keys for h in range(1, 9))
        rung *= np.exp(-t * per_second) * np.clip(t / 0.003, 0, 1) * np.clip((frames - t * RATE_HZ) / 441 + 1, 0, 1)
        return 0.05 * 10 ** (level_db / 20) * rung

    loop = np.zeros(round(2 * bar))
    for number in range(2):
        beats = 1 + depth * np.cos(2 * np.pi * 2 * (t - 1.2) + 5)
        added(loop, number * bar, notes((57, 60, 64), 0.8, 0, bar) * beats)
        added(loop, (number + 1) * bar - brief, notes((69, 72, 76), 1, -32, brief))
    loop = stereo(loop)
    rises, soft = find_rises(loop, RATE_HZ)
    onsets = attack_starts(loop, RATE_HZ, rises)
    every, kinds = with_struck(loop, RATE_HZ, onsets, piece_kinds(loop, RATE_HZ, onsets), soft)
    assert len(onsets) == 2
    assert every == pytest.approx([0, bar - brief, bar, 2 * bar - brief], abs=4 * MS)
    assert kinds == [RINGING] * 4


@pytest.mark.parametrize(("let_go_seconds", "db_per_second"), [(0.35, 100), (0.3, 67)])
def test_one_that_is_struck_where_another_is_let_go_is_found(let_go_seconds, db_per_second):
    loop, t = np.zeros(round(1.2 * RATE_HZ)), np.arange(3 * RATE_HZ) / RATE_HZ
    let_go_db = np.clip((t - let_go_seconds) * db_per_second, 0, 120)
    added(loop, 0, chord(1) * 10 ** (-let_go_db / 20) * np.clip((1 - t) / 0.1, 0, 1))
    added(loop, 0.5 * RATE_HZ, chord(2, -24) * np.clip((1.15 - t) / 0.04, 0, 1))
    found = all_of(stereo(loop))
    assert len(find_onsets(stereo(loop), RATE_HZ)) < len(found) == 2
    assert abs(found[1] - 0.5 * RATE_HZ) < 4 * MS


@pytest.mark.parametrize("ratio", [0.8, 1.25])
def test_their_attacks_are_moved_as_they_were_played(ratio):
    loop, places = struck(-12)
    fitted = fit_loop(loop, RATE_HZ, round(len(loop) * ratio))
    after = np.arange(45 * MS, 100 * MS)  # until then what rings under them is as old as it is there: see `test_under`
    for place in places:
        wanted = loop.take(round(place) + after, axis=0, mode="wrap")
        lags = round(place * ratio) + np.arange(-2 * MS, 2 * MS + 1)
        apart = [np.abs(fitted.take(at + after, axis=0, mode="wrap") - wanted).max() for at in lags]
        assert min(apart) < 1e-4


def clicks():
    """Four bass notes that are let go, each with a click at its end."""
    loop, t = np.zeros(2 * RATE_HZ), np.arange(round(0.45 * RATE_HZ)) / RATE_HZ
    for number, hz in enumerate((55.0, 65.4, 49.0, 61.7)):
        rung = sum(np.sin(2 * np.pi * hz * h * t + h) / h * np.exp(-t * (1 + 0.4 * h)) for h in range(1, 25))
        start = number * RATE_HZ / 2
        added(loop, start, 0.2 * rung * np.clip(np.minimum(t / 0.002, (0.4 - t) / 0.03), 0, 1))
        click = np.random.default_rng(number).standard_normal(10 * MS) * np.hanning(10 * MS)
        added(loop, start + 0.37 * RATE_HZ, 0.0005 * click)
    return loop


def beating():
    """A chord of pairs of strings that are half a hertz out of tune."""
    t = np.arange(2 * RATE_HZ) / RATE_HZ
    rung = sum(
        np.sin(2 * np.pi * (midi_hz(key) + off_hz) * h * t + key * h) / h * np.exp(-t * (1 + 0.2 * h))
        for key in KEYS
        for off_hz in (0, 0.5)
        for h in range(1, 13)
    )
    return 0.05 * rung * np.clip(t / 0.002, 0, 1)


@pytest.mark.parametrize(("sound", "notes"), [(clicks, 4), (beating, 1)])
def test_nothing_else_is_struck_there(sound, notes):
    loop = stereo(sound())
    assert len(find_rises(loop, RATE_HZ)[1]) > 0
    assert len(all_of(loop)) == notes


def test_opposite_phases_count():
    loop, _ = struck(-12)
    assert np.array_equal(all_of(loop * np.float32([1, -1])), all_of(loop))


def test_there_are_none_in_silence():
    assert len(all_of(np.zeros((RATE_HZ, 2), np.float32))) == 0
