"""Low notes that are plucked softly while the last one rings: they begin where a finger lands on the string.

Such a note is heard 10 to 50 ms after that, at any tempo. Cut where it is heard, it comes too late where all is slower
and too early where it is faster, and the last note is damped twice or not at all. But the finger damps what rings, and
that is heard at once: the tones of the last note (`ringing`), told a little earlier, no longer go on as they were.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mixer.signal.pieces import between
from mixer.signal.ringing import tones_at_end

Samples = NDArray[np.float32]
Frames = NDArray[np.int64]
Curve = NDArray[np.float64]

# So much before the note is heard the last one is told, from so much at least; whether it goes on is asked in steps.
EARLIER_SECONDS, LEAST_SECONDS, STEP_SECONDS = 0.065, 0.061, 0.005
# What ends longer before was let go, and the note begins after a gap.
MOST_SECONDS = 0.05
# It is as loud as the new one, but for so many times in power, and low.
LOUD_TIMES, LOW_HZ = 30.0, 300.0
# It went on as it was until so much was left, and falls to less than so much; it had begun to a little before.
STILL, FALLEN, BEFORE_SECONDS = 0.9, 0.6, 0.001
# What trembles goes on a little sooner or later than a steady tone would: so much, asked in so many steps to each side.
STRAYS_SECONDS, STRAYS_STEPS = 0.002, 4
SMOOTH = np.ones(3)


def fingers_land_before(samples: Samples, rate_hz: int, onsets: Frames, asked: NDArray[np.bool_]) -> Frames:
    """How many frames before its onset a finger lands for each note; 0 where none does, or nothing tells.

    Parameters
    ----------
    samples : float32 array, shape (frames, channels), circular
    rate_hz : int > 0
    onsets : int64 array, sorted, at least one
    asked : which of them: those before which something rings
    """
    last = np.append(onsets[-1:] - len(samples), onsets[:-1])
    earlier = np.zeros(len(onsets), np.int64)
    for number in np.flatnonzero(asked).tolist():
        earlier[number] = _earlier(samples, rate_hz, int(last[number]), int(onsets[number]))
    return earlier


def _earlier(samples: Samples, rate_hz: int, last: int, onset: int) -> int:
    """By how many frames earlier a finger lands that damps the last note."""
    back, step = round(EARLIER_SECONDS * rate_hz), round(STEP_SECONDS * rate_hz)
    if onset - back - last < LEAST_SECONDS * rate_hz:
        return 0
    around = between(samples, onset - back - 5 * step, onset + 5 * step)
    if not _is_asked(around, step, rate_hz):
        return 0
    told = tones_at_end(between(samples, last, onset - back), rate_hz)
    if told is None:
        return 0
    strays = np.arange(-STRAYS_STEPS, STRAYS_STEPS + 1) * round(STRAYS_SECONDS / STRAYS_STEPS * rate_hz)
    at_times = [around[start : start + back] for start in (5 * step + strays).tolist()]
    goes_on = _goes_on(told[0].sound(0, back), at_times, step)
    fallen = goes_on < FALLEN
    still = np.flatnonzero((goes_on >= STILL)[: int(np.argmax(fallen))])
    if not fallen.any() or len(still) == 0:
        return 0
    at = int(still[-1])
    within = (goes_on[at] - STILL) / max(goes_on[at] - goes_on[at + 1], 1e-6)
    landed = round(float(at + within + len(SMOOTH) / 2) * step - BEFORE_SECONDS * rate_hz)
    return back - landed if 0 < back - landed < MOST_SECONDS * rate_hz else 0


def _is_asked(around: Samples, step: int, rate_hz: int) -> bool:
    """Whether a low tone rings before the note."""
    old, new, slope = around[: 5 * step], around[-5 * step :], np.diff(around[: 5 * step], axis=0)
    low = (2 * np.pi * LOW_HZ / rate_hz) ** 2
    power = _power(old)
    return power * LOUD_TIMES >= _power(new) and _power(slope) <= low * power


def _goes_on(tones: Samples, heard_at_times: list[Samples], step: int) -> Curve:
    """How much of the tones is still heard, step by step: at whichever of the times most is."""
    whole = _alike(tones, tones, step) + 1e-20
    goes_on: Curve = np.max([_alike(tones, heard, step) for heard in heard_at_times], axis=0) / whole
    return goes_on


def _alike(tones: Samples, heard: Samples, step: int) -> Curve:
    both = (tones * heard)[: len(tones) // step * step]
    return np.convolve(both.reshape(-1, step * tones.shape[1]).sum(axis=1), SMOOTH, "valid")


def _power(samples: Samples) -> float:
    return float(np.square(samples).sum())
