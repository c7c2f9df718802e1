"""How far the partials of the notes of a stretched loop are off.

Note by note, as the score of the truth has them: a partial that is steady within a note is told from that note alone.
"""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

Samples = NDArray[np.float32]
Grid = NDArray[np.float64]

# Of each note the stretch from its attack to shortly before the next.
ATTACK_SECONDS, END_SECONDS = 0.03, 0.01
SHORTEST_SECONDS, LONGEST_SECONDS = 0.12, 0.6
LOWEST_HZ, HIGHEST_HZ = 60.0, 6000.0
MOST_PARTIALS = 6
# A partial stands so far above its surroundings, and is no fainter than this beside the note's strongest.
CLEAR_DB, FAINT_DB = 25.0, 30.0
AROUND_BINS = 12
# It is looked for so far up and down.
REACH_CENTS = 50.0
FINER = 8


def partials_of(samples: Samples, rate_hz: int, notes: Grid) -> list[tuple[float, float, Grid]]:
    """Of each note long enough the frames from which to which it is looked at, and its strongest partials in Hz."""
    ends = np.append(notes[1:], notes[0] + len(samples))
    found = []
    for start, end in zip(notes + ATTACK_SECONDS * rate_hz, ends - END_SECONDS * rate_hz, strict=True):
        if end - start >= SHORTEST_SECONDS * rate_hz:
            last = min(end, start + LONGEST_SECONDS * rate_hz)
            hz = _strongest_hz(_power(samples, start, last), rate_hz)
            if len(hz):
                found.append((float(start), float(last), hz))
    return found


def cents_off(
    samples: Samples, rate_hz: int, partials: list[tuple[float, float, Grid]], scale: float, semitones: float = 0.0
) -> Grid:
    """How far each of them is off in a sound whose times are so many times those of the truth; up is positive.

    What is told is where the strongest peak nearby is; one that is not there counts as as far off as is looked.
    """
    off = []
    for start, end, wanted_hz in partials:
        power = _power(samples, start * scale, end * scale)
        for centre in wanted_hz * 2 ** (semitones / 12) * (2 * (len(power) - 1) / rate_hz):
            low, high = (int(centre * 2 ** (side * REACH_CENTS / 1200)) for side in (-1, 1))
            near = np.arange(max(1, low), min(high + 2, len(power) - 1))
            peaks = near[(power[near] >= power[near - 1]) & (power[near] > power[near + 1])]
            best = peaks[np.argsort(power[peaks])[-1:]]
            cents = 1200 * np.log2(_between_bins(power, best) / centre)
            off.append(float(np.clip(cents[0], -REACH_CENTS, REACH_CENTS)) if len(best) else REACH_CENTS)
    return np.array(off)


def _power(samples: Samples, start: float, end: float) -> Grid:
    first, last = round(start), round(end)
    window = np.hanning(last - first)
    size = FINER << int(np.ceil(np.log2(last - first)))
    total = np.zeros(size // 2 + 1)
    for channel in samples.T:
        piece = channel.take(np.arange(first, last), mode="wrap") * window
        total += np.abs(np.fft.rfft(piece, size)) ** 2
    return total


def _strongest_hz(power: Grid, rate_hz: int) -> Grid:
    """The strongest of the peaks that stand out clearly, strongest first."""
    hz_per_bin = rate_hz / 2 / (len(power) - 1)
    inside = np.arange(round(LOWEST_HZ / hz_per_bin), min(round(HIGHEST_HZ / hz_per_bin), len(power) - 2))
    reach = AROUND_BINS * FINER
    around = np.median(sliding_window_view(np.pad(power, reach, mode="edge"), 2 * reach + 1)[inside], axis=1)
    here = power[inside]
    peak = (here >= power[inside - 1]) & (here > power[inside + 1])
    clear = (here > around * 10 ** (CLEAR_DB / 10)) & (here > power.max() * 10 ** (-FAINT_DB / 10))
    peaks = inside[peak & clear]
    strongest = peaks[np.argsort(power[peaks])[::-1][:MOST_PARTIALS]]
    return _between_bins(power, strongest) * hz_per_bin


def _between_bins(power: Grid, peaks: NDArray[np.int64]) -> Grid:
    """Where the parabola through a peak and its neighbours is highest."""
    low, mid, high = (np.log(power[np.clip(peaks + step, 0, len(power) - 1)] + 1e-30) for step in (-1, 0, 1))
    curved = low - 2 * mid + high
    shift: Grid = np.where(curved < 0, 0.5 * (low - high) / np.where(curved < 0, curved, 1), 0)
    return peaks + shift
