"""Tones that are held while hits go by: what a loop with both must have taken apart before it is cut.

Cut at the hits, a held tone would begin anew at each of them; not cut, the hits would be smeared. So the tones are
taken out and stretched by themselves. What is steady in time and narrow in pitch stands above the median of its
surroundings in pitch when the median over time is taken (Fitzgerald, "Harmonic/percussive separation using median
filtering", DAFx 2010; parting before stretching: Driedger, Mueller & Ewert, IEEE SPL 21(1), 2014). Those part
everything, noise too, and what is parted wrongly is heard. Here a tone is taken only if it lasts, does not die away
as a hit does, and a hit falls into it, and no more of it than is there before or after the hit; all else stays where
it was, and tones and rest add up to the loop.

In goes a circular loop, float32, shape (frames, channels), and where it would be cut. The channels' powers decide
together, so both lose the same.
"""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from mixer.signal.medians import running_median
from mixer.signal.windows import (
    Frames,
    Samples,
    Spectra,
    Windows,
    runs_of,
    spectra_at,
    views_of,
    window_for,
    windows_of,
)

HOPS_PER_WINDOW = 4
# Above this, what is held is hardly told from hiss.
HIGHEST_HZ = 6000.0
# A tone stands so many times above the median of what is around it, by its own over so many windows before and after,
CLEAR_TIMES = 3.0
AROUND_HZ = 500.0
STEADY_REACH = 8
# lasts so long, is not dying away so fast for most of its time (what is played unsteadily falls half of the time),
LEAST_SECONDS = 0.3
MOST_LOSS_DB_PER_SECOND = 12.0
LAG_WINDOWS = 8
FALLING_SHARE = 0.7
# and has a hit in it, no nearer than this to its ends. It reaches so many bins to both sides of its own.
END_SECONDS = 0.06
SIDE_BINS = 2
# In windows that hold a hit a tone may be so many times larger than so many windows before and after it, whichever is
# more: what is beyond that is the hit's, and would be smeared with the tone.
HIT_TIMES, CLEAR_WINDOWS = 2.0, 2
# Tones of less of the power are not worth taking out.
LEAST_SHARE = 0.01
# Tones are followed round the join for so long.
ROUND_SECONDS = 2.0
BINS_AT_ONCE = 64
WINDOWS_AT_ONCE = 16
# Tones begin where so much of the power is new so long after a hit: more than twice what was there before it.
NEW_SHARE = 0.25
NEW_TIMES = 2.0
AFTER_SECONDS = 0.02


def held_tones(samples: Samples, rate_hz: int, onsets: Frames) -> Samples | None:
    """What is held through the hits of a circular loop.

    Parameters
    ----------
    samples : float32 array, shape (frames, channels), circular
    rate_hz : int > 0
    onsets : int64 array, sorted

    Returns
    -------
    float32 array, shape (frames, channels), circular; None if next to nothing is held through any of the onsets
    """
    window = window_for(rate_hz, len(samples) // 2)
    count = round(len(samples) * HOPS_PER_WINDOW / len(window))
    places = np.floor(np.arange(count) * (len(samples) / count) + 0.5).astype(np.int64)
    half = len(window) // 2
    views = views_of(np.pad(samples.T.copy(), ((0, 0), (half, half)), mode="wrap").T, len(window))
    hop_seconds = len(samples) / count / rate_hz
    bins = min(round(HIGHEST_HZ * len(window) / rate_hz), len(window) // 2)
    spectra = spectra_at(views, places, window, bins)
    power = (spectra.real**2 + spectra.imag**2).sum(axis=0)
    hits = np.bincount(np.floor(onsets * (count / len(samples)) + 0.5).astype(np.int64) % count, minlength=count)
    tones = _tones(np.sqrt(power), rate_hz / len(window), hop_seconds, hits)
    if float(power.sum(where=tones)) <= LEAST_SHARE * float(power.sum()):
        return None
    return _only(spectra, places, window, _without_hits(tones, power, hits), len(samples))


def where_tones_begin(tones: Samples, rate_hz: int, onsets: Frames) -> Frames:
    """Those of the onsets at which held tones begin, rather than ring on.

    Parameters
    ----------
    tones : float32 array, shape (frames, channels), circular: what `held_tones` found
    rate_hz : int > 0
    onsets : int64 array, sorted

    Returns
    -------
    int64 array, sorted
    """
    window = window_for(rate_hz, len(tones) // 2)
    after_frames = round(AFTER_SECONDS * rate_hz)
    over = len(window)
    wrapped = np.pad(tones, ((over, after_frames + over), (0, 0)), mode="wrap")
    spectra = spectra_at(views_of(wrapped, over), np.concatenate([onsets, onsets + over + after_frames]), window)
    before, after = np.split((spectra.real**2 + spectra.imag**2).sum(axis=0), 2)
    widest = np.maximum(np.maximum(before[:, 1:-1], before[:, :-2]), before[:, 2:])
    new = np.maximum(after[:, 1:-1] - NEW_TIMES * widest, 0).sum(axis=1)
    begins: NDArray[np.bool_] = new > NEW_SHARE * after.sum(axis=1)
    return onsets[begins]


def _tones(size: NDArray[np.float32], bin_hz: float, hop_seconds: float, hits: Frames) -> NDArray[np.bool_]:
    """Which bins of which windows hold a tone that hits fall into."""
    usual = _usual(size, max(3, round(AROUND_HZ / bin_hz)))
    loss = 10 ** (MOST_LOSS_DB_PER_SECOND * LAG_WINDOWS * hop_seconds / 20)
    clear, falling = np.empty(size.shape, np.bool_), np.empty(size.shape, np.bool_)
    for first in range(0, size.shape[1], BINS_AT_ONCE):
        run = slice(first, first + BINS_AT_ONCE)
        steady = running_median(size[:, run], STEADY_REACH)
        np.greater(steady, CLEAR_TIMES * usual[:, run], out=clear[:, run])
        np.less(np.roll(steady, -LAG_WINDOWS, axis=0) * loss, steady, out=falling[:, run])
    tones = _lasting(clear, falling, hits, hop_seconds)
    wide: NDArray[np.bool_] = tones.copy()
    for side in range(1, SIDE_BINS + 1):
        wide[:, side:] |= tones[:, :-side]
        wide[:, :-side] |= tones[:, side:]
    return wide


def _usual(size: NDArray[np.float32], width: int) -> NDArray[np.float32]:
    """The median of `width` bins around each; nearly the same for neighbours, so taken at every few."""
    step = max(1, width // 8)
    padded = np.pad(size, ((0, 0), (width // 2, width // 2 + step)), mode="reflect")
    groups = sliding_window_view(padded, width, axis=1)[:, step // 2 :: step]
    medians = np.empty(groups.shape[:2], np.float32)
    for first in range(0, len(groups), WINDOWS_AT_ONCE):
        run = slice(first, first + WINDOWS_AT_ONCE)
        some = np.ascontiguousarray(groups[run])
        # What is not negative has the order of its bits, and whole numbers are compared faster.
        some.view(np.int32).partition(width // 2, axis=2)
        medians[run] = some[:, :, width // 2]
    return np.repeat(medians, step, axis=1)[:, : size.shape[1]]


def _lasting(
    clear: NDArray[np.bool_], falling: NDArray[np.bool_], hits: Frames, hop_seconds: float
) -> NDArray[np.bool_]:
    """Those runs of clear windows, shape (windows, bins), that last, do not die away, and have a hit in them."""
    around = min(len(clear), round(ROUND_SECONDS / hop_seconds))
    longer = np.arange(-around, len(clear) + around) % len(clear)
    # Bins in a row, each parted from the next by windows that are not clear.
    row = np.pad(clear[longer].T, ((0, 0), (1, 1))).reshape(-1)
    edges = np.flatnonzero(row[1:] != row[:-1])
    if len(edges) == 0:
        return np.zeros_like(clear)
    bins, starts = np.divmod(edges[::2], len(longer) + 2)
    fallen = np.add.reduceat(np.pad(falling[longer].T, ((0, 0), (0, 2))).reshape(-1), edges, dtype=np.int64)[::2]
    length = edges[1::2] - edges[::2]
    ends = starts + length
    hits_so_far = np.concatenate([[0], np.cumsum(hits[longer])])
    end = round(END_SECONDS / hop_seconds)
    last, first = np.maximum(ends - end, 0), np.minimum(starts + end, len(longer))
    kept = length * hop_seconds >= LEAST_SECONDS
    kept &= fallen < FALLING_SHARE * length
    kept &= hits_so_far[last] > hits_so_far[first]
    lasting = np.zeros((clear.shape[1], len(longer)), np.bool_)
    # The windows before and after hold some of it too.
    for bin_, start, until in zip(bins[kept].tolist(), starts[kept].tolist(), ends[kept].tolist(), strict=True):
        lasting[bin_, max(0, start - 1) : until + 1] = True
    return np.ascontiguousarray(lasting[:, around:-around].T)


def _without_hits(tones: NDArray[np.bool_], power: NDArray[np.float32], hits: Frames) -> NDArray[np.float32]:
    """How much of each bin of each window is a tone's, shape (windows, bins): none, all, or what no hit brings."""
    shares = tones.astype(np.float32)
    for hit in np.flatnonzero(hits).tolist():
        first, *inside, last = (np.arange(hit - CLEAR_WINDOWS, hit + CLEAR_WINDOWS + 1) % len(power)).tolist()
        most = HIT_TIMES**2 * np.maximum(power[first], power[last]) + np.float32(1e-30)
        for row in inside:
            np.minimum(shares[row], np.sqrt(most / np.maximum(power[row], most)), out=shares[row])
    return shares


def _only(spectra: Spectra, places: Frames, window: Windows, shares: NDArray[np.float32], frames: int) -> Samples:
    """The loop with so much of each bin alone."""
    over, square = len(window), np.square(window)
    out, weight = np.zeros((len(spectra), frames + over), np.float32), np.zeros(frames + over, np.float32)
    for start in places.tolist():
        weight[start : start + over] += square
    for run in runs_of(len(places), over):
        if shares[run].any():
            pieces = windows_of(spectra[:, run], shares[run].astype(np.complex64), over)
            pieces *= window
            for number, start in enumerate(places[run].tolist()):
                out[:, start : start + over] += pieces[:, number]
    out[:, :over] += out[:, frames:]
    weight[:over] += weight[frames:]
    even = np.roll(out[:, :frames] / weight[:frames], -over // 2, axis=1)
    return np.stack(tuple(even), axis=1)
