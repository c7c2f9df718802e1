"""Notes that are heard before they are loud, under a low tone: they begin where it grows brighter than a cycle ago.

A finger or a plectrum on a string is faint and bright, and 7 to 45 ms later the note is loud, at any tempo. A low tone
is as bright once in each of its cycles, so neither level nor brightness tell it. But the tone repeats itself, and each
moment can be held against the same moment of the cycle before, as in the long-term prediction of speech (Atal &
Schroeder, "Adaptive predictive coding of speech signals", Bell System Technical Journal 49, 1970).
"""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from mixer.signal.onsets import parting

Samples = NDArray[np.float32]
Frames = NDArray[np.int64]
Curve = NDArray[np.float64]

# A note may be heard so long before it is loud. The tone is told from what comes before that; the attacks of the last
# note and of this one are no part of it.
EARLIER_SECONDS, KNOWN_SECONDS, ATTACK_SECONDS = 0.05, 0.05, 0.005
# Cycles of a low tone are told at a rate that shows them. One is like the next by so much; of those that are nearly as
# alike the shortest is meant.
LOW_HZ, LOW_RATE_HZ = 300.0, 2756
SHORTEST_CYCLE_SECONDS, LONGEST_CYCLE_SECONDS = 0.003, 0.03
ALIKE, NEARLY = 0.8, 0.01
# Brightness is told in steps, over so many of them; at least so many before the note begins and after.
STEP_SECONDS = 0.001
LONGEST_CYCLE_STEPS, SMOOTH_STEPS, LEAST_STEPS, LAST_STEPS = 30, 3, 8, 3
# It is so many times brighter from there on; or so many where the attack is clear (by so many times brighter itself).
# What was damped before, and is silent now, has only stopped growing duller: beside less than this it does not count.
BRIGHTER_TIMES, CLEARLY_BRIGHTER_TIMES, CLEAR_TIMES = 2.2, 10.0, 30.0
LEAST_BEFORE_TIMES = 0.5
# Being so many times brighter than needed counts for no more: a click alone is no note.
MOST_TIMES = 8.0
# And never much less than before: a note that is let go ends with a click, and is dull after it.
STAYS_TIMES = 0.3
# What is so much fainter than the attack is not heard.
UNHEARD_TIMES = 1e-7


def heard_before(samples: Samples, rate_hz: int, onsets: Frames, asked: NDArray[np.bool_]) -> Frames:
    """How many frames before its onset each note begins to be heard; 0 where nothing tells of it.

    Parameters
    ----------
    samples : float32 array, shape (frames, channels), circular
    rate_hz : int > 0
    onsets : int64 array, sorted, at least one
    asked : which of them
    """
    earlier = np.zeros(len(onsets), np.int64)
    step, attack, back, known = (
        max(1, round(seconds * rate_hz)) for seconds in (STEP_SECONDS, ATTACK_SECONDS, EARLIER_SECONDS, KNOWN_SECONDS)
    )
    far = np.diff(onsets, prepend=onsets[-1] - len(samples)) >= back + known + attack
    rows = np.flatnonzero(asked & far)
    if len(rows) == 0:
        return earlier
    channels = np.ascontiguousarray(samples.T)
    before = channels.take(onsets[rows, None] + np.arange(-back - known, -back), axis=1, mode="wrap")
    seconds = _cycle_seconds(before, rate_hz)
    rows, seconds = rows[seconds > 0], seconds[seconds > 0]
    if len(rows) == 0:
        return earlier
    many = np.floor(LONGEST_CYCLE_SECONDS / seconds)
    cycles = np.floor(many * seconds / STEP_SECONDS + 0.5).astype(np.int64)
    steps = (back + known) // step
    around = channels.take(onsets[rows, None] + np.arange(-steps * step - 3, attack), axis=1, mode="wrap")
    bright = np.square(np.diff(around, 3)).sum(axis=0)
    now, last = bright[:, -attack:].sum(axis=1), bright[:, -2 * attack : -attack].sum(axis=1)
    levels = bright[:, :-attack].reshape(len(rows), steps, step).sum(axis=2, dtype=np.float64)
    times = _brighter_times(levels + UNHEARD_TIMES * step / attack * now[:, None] + 1e-30, cycles)
    since = _steps_since(times, np.where(now < CLEAR_TIMES * last, BRIGHTER_TIMES, CLEARLY_BRIGHTER_TIMES))
    # The last that is asked is two steps before the onset, and where a window begins to be brighter one more.
    earlier[rows] = np.where((since > 0) & (since <= back // step - 2), (since + 2) * step, 0)
    return earlier


def _cycle_seconds(sounds: Samples, rate_hz: int) -> Curve:
    """How long the shortest cycle is in which each low sound all but repeats itself, 0 if it does not.

    Their shape is (channels, sounds, frames).
    """
    every = max(1, rate_hz // LOW_RATE_HZ)
    count = sounds.shape[2] // every
    low = sounds[:, :, : count * every].reshape(*sounds.shape[:2], count, every).sum(axis=3)
    so_far = np.cumsum(np.square(low).sum(axis=0, dtype=np.float64), axis=1)
    every_power = so_far[:, -1:] + 1e-30
    is_low = np.square(np.diff(low)).sum(axis=(0, 2)) < (2 * np.pi * LOW_HZ * every / rate_hz) ** 2 * so_far[:, -1]
    lags = np.arange(*(round(seconds * rate_hz / every) for seconds in (SHORTEST_CYCLE_SECONDS, LONGEST_CYCLE_SECONDS)))
    size = 1 << (2 * count - 1).bit_length()
    spectra = np.fft.rfft(low, size, norm="forward")
    both = np.fft.irfft((spectra.real**2 + spectra.imag**2).sum(axis=0), size, norm="forward")[:, lags] * size
    alike = both / np.sqrt((every_power - so_far[:, lags - 1]) * so_far[:, count - 1 - lags] + 1e-30)
    inner = alike[:, 1:-1]
    peaks = (inner >= alike[:, :-2]) & (inner >= alike[:, 2:]) & (inner > ALIKE) & is_low[:, None]
    peaks &= inner > np.where(peaks, inner, 0).max(axis=1, initial=0, keepdims=True) - NEARLY
    shortest: Curve = np.where(peaks.any(axis=1), lags[1 + peaks.argmax(axis=1)] * every / rate_hz, 0)
    return shortest


def _brighter_times(bright: Curve, cycles: Frames) -> Curve:
    """How many times brighter each step but the last is than one and two cycles of so many steps ago.

    That is a step more or less; two cycles ago counts where it was fainter, since what is heard for longer than a cycle
    is no brighter than itself.
    """
    smooth = sliding_window_view(bright, SMOOTH_STEPS, axis=1).sum(axis=2)
    near = np.maximum(np.maximum(smooth[:, :-2], smooth[:, 1:-1]), smooth[:, 2:])
    asked = np.arange(LONGEST_CYCLE_STEPS + 1, smooth.shape[1] - 1)
    ago = asked - cycles[:, None] - 1
    before = ago - cycles[:, None]
    last, earlier = (np.take_along_axis(near, np.maximum(each, 0), axis=1) for each in (ago, before))
    times: Curve = smooth[:, asked] / np.where(before >= 0, np.minimum(last, earlier), last)
    return times


def _steps_since(times: Curve, least: Curve) -> Frames:
    """For how many steps each has been at least so many times brighter, 0 if it has not."""
    count = times.shape[1]
    total = np.cumsum(times, axis=1)
    begun, _ = parting(total, np.full(len(times), count), LEAST_STEPS, LAST_STEPS)
    so_far = np.take_along_axis(total, begun[:, None] - 1, axis=1)[:, 0]
    before = np.maximum(so_far / begun, LEAST_BEFORE_TIMES)
    is_since = np.arange(count) >= begun[:, None]
    since = np.minimum(times, MOST_TIMES * least[:, None]).sum(axis=1, where=is_since) / (count - begun)
    darkest = times.min(axis=1, where=is_since, initial=np.inf)
    brighter = (since > least * before) & (darkest > STAYS_TIMES * before)
    # What is no longer than the least is the attack itself.
    return np.where(brighter & (count - begun > LAST_STEPS + 1), count - begun, 0)
