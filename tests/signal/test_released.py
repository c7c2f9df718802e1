"""Chords let go softly, held against the same chords let go at another tempo."""

from __future__ import annotations

import numpy as np
import pytest

from mixer.signal.fit import fit_loop
from mixer.signal.released import released_after
from tests.signal.signals import RATE_HZ, Played, Samples, stereo

TEMPO_BPM = 100.0
BEATS = 8
# A key is held for so much of each beat, and a damper takes so long to quieten a string to 1/e.
HELD_BEATS = 0.9
RELEASE_SECONDS = 0.08
CHORDS_HZ = ((440.0, 554.4, 659.3), (392.0, 493.9, 587.3), (349.2, 440.0, 523.3), (392.0, 466.2, 587.3))


def _chord(
    hz: tuple[float, ...], seconds: float, held_seconds: float, release_seconds: float = RELEASE_SECONDS
) -> np.ndarray:
    at = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    sound = np.zeros(len(at))
    for base in hz:
        for partial in (1, 2, 3, 4):
            sound += np.sin(2 * np.pi * partial * base * at + partial) * np.exp(-at * partial) / partial
    rise = np.minimum(at / 0.002, 1)
    return 0.1 * sound * rise * np.exp(-np.maximum(at - held_seconds, 0) / release_seconds)


def play_chords(
    tempo_bpm: float, held_beats: float = HELD_BEATS, octaves: float = 0, release_seconds: float = RELEASE_SECONDS
) -> Played:
    """A chord on every beat, held for so much of it."""
    beat_seconds = 60 / tempo_bpm
    loop = np.zeros(round(BEATS * beat_seconds * RATE_HZ))
    starts = np.arange(BEATS) * beat_seconds * RATE_HZ
    for number, start in enumerate(starts):
        hz = tuple(each * 2**octaves for each in CHORDS_HZ[number % len(CHORDS_HZ)])
        sound = _chord(hz, beat_seconds, held_beats * beat_seconds, release_seconds)
        loop[round(start) : round(start) + len(sound)] += sound[: len(loop) - round(start)]
    return Played(stereo(loop), starts, RATE_HZ)


def released(loop: Played) -> tuple[np.ndarray, float]:
    starts = np.round(loop.onsets_frames).astype(np.int64)
    return released_after(loop.samples, RATE_HZ, starts, np.append(starts[1:], len(loop.samples)))


def levels_db(samples: Samples, loop: Played, after_beats: float, count: int) -> np.ndarray:
    """Level of so many frames of each chord from so many beats after it on."""
    first = np.round(loop.onsets_frames + after_beats * len(samples) / BEATS).astype(np.int64)
    heard = samples.take(first[:, None] + np.arange(count), axis=0, mode="wrap")
    return np.asarray(10 * np.log10(np.square(heard, dtype=np.float64).mean(axis=(1, 2)) + 1e-12))


def test_when_chords_are_let_go_is_told_and_how_fast_they_are_damped() -> None:
    after, db_per_second = released(play_chords(TEMPO_BPM))
    assert after / RATE_HZ == pytest.approx(HELD_BEATS * 60 / TEMPO_BPM, abs=0.015)
    assert db_per_second == pytest.approx(20 / np.log(10) / RELEASE_SECONDS, rel=0.15)


@pytest.mark.parametrize(("held_beats", "release_seconds"), [(0.93, 0.05), (0.94, 0.05), (0.94, 0.04)])
def test_how_fast_is_told_also_just_before_the_next(held_beats: float, release_seconds: float) -> None:
    _, db_per_second = released(play_chords(TEMPO_BPM, held_beats, release_seconds=release_seconds))
    assert db_per_second == pytest.approx(20 / np.log(10) / release_seconds, rel=0.15)


@pytest.mark.parametrize("held_beats", [1.0, 0.98])
def test_what_rings_until_the_next_is_not_let_go(held_beats: float) -> None:
    after, db_per_second = released(play_chords(TEMPO_BPM, held_beats))
    assert not after.any()
    assert db_per_second == 0


def test_low_tones_are_not_asked() -> None:
    assert not released(play_chords(TEMPO_BPM, octaves=-3))[0].any()


@pytest.mark.parametrize(("beats_hz", "phase"), [(4.0, 0.0), (2.5, 1.0)])
def test_what_beats_is_not_let_go(beats_hz: float, phase: float) -> None:
    loop = play_chords(TEMPO_BPM, 1.0)
    at = np.arange(len(loop.samples)) / RATE_HZ
    beating = (1 + 0.9 * np.cos(2 * np.pi * beats_hz * at + phase)) / 2
    after, _ = released(Played((loop.samples * beating[:, None]).astype(np.float32), loop.onsets_frames, RATE_HZ))
    assert not after.any()


def test_of_one_chord_among_many_nothing_is_told() -> None:
    loop, short = play_chords(TEMPO_BPM, 1.0), play_chords(TEMPO_BPM)
    beat = len(loop.samples) // BEATS
    mixed = np.concatenate([short.samples[:beat], loop.samples[beat:]])
    assert released(short)[0].all()
    assert not released(Played(mixed, loop.onsets_frames, RATE_HZ))[0].any()


@pytest.mark.parametrize("ratio", [0.7, 0.85, 1.3])
def test_they_are_let_go_sooner_or_later(ratio: float) -> None:
    source, wanted = play_chords(TEMPO_BPM), play_chords(TEMPO_BPM / ratio)
    fitted = fit_loop(source.samples, RATE_HZ, len(wanted.samples))
    count = round(0.015 * RATE_HZ)
    for after_beats in (0.3, 0.75, 0.95):
        off_db = levels_db(fitted, wanted, after_beats, count) - levels_db(wanted.samples, wanted, after_beats, count)
        assert np.abs(off_db).max() < 2.5
