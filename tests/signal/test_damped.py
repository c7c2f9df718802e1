"""A line that is played short, held against the same line played short at another tempo."""

from __future__ import annotations

import numpy as np
import pytest

from mixer.signal.damped import damped_after
from mixer.signal.fit import fit_loop
from tests.signal.signals import PLUCKS, RATE_HZ, Played, Samples, play_drums, pluck, stereo

TEMPO_BPM = 104.0
GAP_BEATS = 0.12
DAMPED_SECONDS = 0.02


def played_short(tempo_bpm: float, short: int = len(PLUCKS)) -> Played:
    """Plucked notes, the first so many of which are damped before the next, by as much as the tempo says."""
    beat_frames = RATE_HZ * 60 / tempo_bpm
    loop = np.zeros(round(8 * beat_frames))
    beats = [beat for beat, _ in PLUCKS]
    for number, (beat, note) in enumerate(PLUCKS):
        until = [*beats, 8.0][number + 1] - (GAP_BEATS if number < short else 0)
        sound = pluck(note, RATE_HZ, (until - beat) * 60 / tempo_bpm + DAMPED_SECONDS)
        release = round(DAMPED_SECONDS * RATE_HZ)
        sound[-release:] *= np.square(np.linspace(1, 0, release))
        start = round(beat * beat_frames)
        np.add.at(loop, (start + np.arange(len(sound))) % len(loop), sound)
    return Played(stereo(loop), np.array(beats) * beat_frames, RATE_HZ)


def pieces(loop: Played) -> tuple[Samples, int, np.ndarray, np.ndarray]:
    starts = np.round(loop.onsets_frames).astype(np.int64)
    return loop.samples, RATE_HZ, starts, np.append(starts[1:], starts[0] + len(loop.samples))


def before_notes_db(samples: Samples, loop: Played, seconds: float) -> np.ndarray:
    """Level of what is heard so long before each note, beside that of the loop."""
    places = np.round(loop.onsets_frames).astype(np.int64)[:, None] - np.arange(1, round(seconds * RATE_HZ))
    power = np.square(samples.take(places, axis=0, mode="wrap"), dtype=np.float64).mean(axis=(1, 2))
    return np.asarray(10 * np.log10(power / np.square(samples, dtype=np.float64).mean() + 1e-12))


def test_where_notes_are_damped_is_told() -> None:
    loop = played_short(TEMPO_BPM)
    *given, starts, ends = pieces(loop)
    after = damped_after(*given, starts, ends)
    truth = ends - starts - GAP_BEATS * 60 / TEMPO_BPM * RATE_HZ
    late_ms = (after - truth) / RATE_HZ * 1000
    assert (after > 0).all()
    assert late_ms.min() > -20
    assert late_ms.max() < 5


@pytest.mark.parametrize("ratio", [0.7, 0.85, 1.2, 1.4])
def test_it_is_as_silent_before_notes_at_another_tempo(ratio: float) -> None:
    source, wanted = played_short(TEMPO_BPM), played_short(TEMPO_BPM / ratio)
    silent_seconds = GAP_BEATS * 60 / TEMPO_BPM * ratio - DAMPED_SECONDS
    truth_db = before_notes_db(wanted.samples, wanted, silent_seconds)
    fitted = fit_loop(source.samples, RATE_HZ, len(wanted.samples))
    assert truth_db.max() < -60
    assert before_notes_db(fitted, wanted, silent_seconds).max() < -40


@pytest.mark.parametrize("ratio", [0.7, 1.4])
def test_it_rings_until_then(ratio: float) -> None:
    source, wanted = played_short(TEMPO_BPM), played_short(TEMPO_BPM / ratio)
    fitted = fit_loop(source.samples, RATE_HZ, len(wanted.samples))
    gap_seconds = GAP_BEATS * 60 / TEMPO_BPM * ratio
    early = Played(wanted.samples, wanted.onsets_frames - (gap_seconds + 0.02) * RATE_HZ, RATE_HZ)
    apart_db = before_notes_db(fitted, early, 0.03) - before_notes_db(wanted.samples, early, 0.03)
    assert np.abs(apart_db).max() < 2


def test_what_dies_by_itself_is_not_damped() -> None:
    assert not damped_after(*pieces(play_drums(TEMPO_BPM))).any()
    # Muted strings, which lose 20 dB within 150 ms and end soon after.
    samples, _, starts, ends = pieces(played_short(TEMPO_BPM, short=0))
    since = np.arange(len(samples)) - starts[np.searchsorted(starts, np.arange(len(samples)), side="right") - 1]
    seconds = since[:, None] / RATE_HZ
    muted = samples * np.exp(-seconds * 16) * (seconds < 0.2)
    assert not damped_after(muted.astype(np.float32), RATE_HZ, starts, ends).any()


def test_one_note_among_many_is_not_played_short() -> None:
    assert not damped_after(*pieces(played_short(TEMPO_BPM, short=4))).any()
    assert np.count_nonzero(damped_after(*pieces(played_short(TEMPO_BPM, short=5)))) == 5
    *given, starts, ends = pieces(played_short(TEMPO_BPM))
    assert not damped_after(*given, starts[:4], ends[:4], among=10).any()
    assert damped_after(*given, starts[:5], ends[:5], among=10).all()


def test_a_damped_string_that_sounds_again_is_not() -> None:
    """A tremble, not an end: what falls comes back before the next note."""
    samples, _, starts, ends = pieces(played_short(TEMPO_BPM, short=0))
    trembling = samples.copy()
    for end in ends:
        gap = np.arange(end - round(0.06 * RATE_HZ), end - round(0.03 * RATE_HZ)) % len(samples)
        trembling[gap] *= np.float32(0.05)
    assert not damped_after(trembling, RATE_HZ, starts, ends).any()


@pytest.mark.parametrize("rate_hz", [50, 8000, 22050])
def test_what_is_too_short_is_left(rate_hz: int) -> None:
    samples = np.ones((200, 1), np.float32)
    starts = np.array([0, 90], np.int64)
    assert not damped_after(samples, rate_hz, starts, np.array([90, 200], np.int64)).any()
    assert len(damped_after(samples, rate_hz, starts[:0], starts[:0])) == 0
