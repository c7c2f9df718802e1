"""Chords that are struck again, softly, while the ones before ring; and what sounds like that but strikes nothing."""

import numpy as np
import pytest

from benchmarks.stretch.attacks import Attacks
from mixer.signal.fit import fit_loop
from mixer.signal.onsets import attack_starts, find_onsets, find_rises
from mixer.signal.slices import piece_kinds
from mixer.signal.struck import with_struck
from tests.signal.signals import RATE_HZ, midi_hz, stereo

KEYS = (57, 60, 64)
BEATS = 8
# Eighths of a second; what is struck there, how many dB below full.
LOUD, SOFT = (0.0, 2.0, 4.0, 6.0), (1.25, 3.0, 5.25, 7.0)


def partials(seconds, keys, seed, level_db=0.0, ring_seconds=0.9):
    """A chord whose partials die away, high ones sooner, each with a phase of its own."""
    t = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    phase = np.random.default_rng(seed).uniform(0, 2 * np.pi, (len(keys), 12))
    chord = sum(
        np.cos(2 * np.pi * midi_hz(key) * h * t + phase[number, h - 1]) / h * np.exp(-t * np.sqrt(h) / ring_seconds)
        for number, key in enumerate(keys)
        for h in range(1, 13)
    )
    return 0.05 * 10 ** (level_db / 20) * chord * np.clip(t / 0.003, 0, 1)


def struck(beat_seconds, soft_db):
    """Chords on every second beat, and softer ones between them, all of which ring on."""
    loop = np.zeros(round(BEATS * beat_seconds * RATE_HZ))
    places = []
    for seed, beat in enumerate(sorted(LOUD + SOFT)):
        places.append(beat * beat_seconds * RATE_HZ)
        note = partials(3.0, KEYS, seed, 0.0 if beat in LOUD else soft_db)
        np.add.at(loop, (round(places[-1]) + np.arange(len(note))) % len(loop), note)
    return stereo(loop), np.array(places)


def all_of(loop):
    rises, soft = find_rises(loop, RATE_HZ)
    onsets = attack_starts(loop, RATE_HZ, rises)
    return with_struck(loop, RATE_HZ, onsets, piece_kinds(loop, RATE_HZ, onsets), soft)[0]


def apart_ms(found, exact, frames):
    return np.abs((found[:, None] - exact + frames / 2) % frames - frames / 2).min(axis=0) / RATE_HZ * 1000


@pytest.mark.parametrize("soft_db", [-8, -10, -12, -14])
@pytest.mark.parametrize("beat_seconds", [0.4, 0.5])
def test_they_are_found(beat_seconds, soft_db):
    loop, places = struck(beat_seconds, soft_db)
    found = all_of(loop)
    print(soft_db, beat_seconds, len(find_onsets(loop, RATE_HZ)), len(found), apart_ms(found, places, len(loop)).round(1))
    assert len(found) == len(places)
    assert apart_ms(found, places, len(loop)).max() < 4


@pytest.mark.parametrize("ratio", [0.8, 1.25])
def test_stretched_they_come_where_they_are_played_at_that_tempo(ratio):
    loop, _ = struck(0.45, -12)
    wanted, places = struck(0.45 * ratio, -12)
    late_ms = Attacks(wanted, RATE_HZ, places).heard_in(fit_loop(loop, RATE_HZ, len(wanted))).late_ms
    print(ratio, late_ms.round(1))
    assert np.abs(late_ms).max() < 3
