"""Where the notes and hits of a loop begin, to the frame.

Stretching moves what it finds here and leaves the attack itself alone, so a hit that is missed ends up late
and one that is invented cuts a sound in two. In goes a circular loop, float32, shape (frames, channels); out come
frames, sorted.

Two steps. First, rises of level in bands (spectral flux on a decibel scale; Dixon, "Onset detection
revisited", DAFx 2006), so that a quiet hat is found under a ringing bass. The channels' powers are added,
never their samples: sound in opposite phase counts. Second, the start of each attack is the frame that best
parts a quiet stretch from a loud one: the picker of Maeda (1985) that seismology uses, minimum of k log
var(before) + (n - k) log var(after).

Deliberately left out: beats and tempo; what kind of sound it is.
"""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

Samples = NDArray[np.float32]
Frames = NDArray[np.int64]
Curve = NDArray[np.float64]

WINDOW_SECONDS = 0.023
HOPS_PER_WINDOW = 4
# So many stay in the processor's cache; eight times as many take twice as long.
WINDOWS_AT_ONCE = 64
ONSETS_AT_ONCE = 16
LOWEST_BAND_HZ = 90.0
BANDS_PER_OCTAVE = 3
# What is this far below the loudest band of the loop is not heard beside it.
FLOOR_DB = -65.0
# A window is compared with the loudest of the three before it, so that the flicker of noise is no rise.
LAG_HOPS = 3
# Mean rise over all bands that a note must reach.
LEAST_RISE_DB = 1.6
# And how far it must stand above the usual rise of its surroundings.
TIMES_USUAL = 2.0
USUAL_SECONDS = 0.12
# Closer than this is one event (a flam); rolls of 60 ms are found.
NEAREST_SECONDS = 0.04
# A low tone's first cycle, half of it pause between swings, may be so much fainter than what follows.
LONGEST_CYCLE_SECONDS = 0.025
QUIET_SECONDS = 0.006
CYCLE_TIMES = 8.0
# So near to where an onset is known it is that one.
KNOWN_SECONDS = 0.002
NONE: Frames = np.zeros(0, np.int64)
# A slow attack (bow, breath, shaken grains) climbs by so much each step, for up to so long.
LONGEST_FOOT_SECONDS = 0.025
STEP_SECONDS = 0.003
STEP_TIMES = 3.0
# Level and brightness each show where an attack starts; of two that show it half as clearly or more the earlier counts.
LEAST_CLEARLY = 0.5
# What is so much fainter than the attack itself is not looked at.
UNHEARD_TIMES = 1e-5


def find_onsets(samples: Samples, rate_hz: int, known: Frames = NONE) -> Frames:
    """Where notes and hits begin in a circular loop.

    Parameters
    ----------
    samples : float32 array, shape (frames, channels), circular
    rate_hz : int > 0, frames per second
    known : int64 array : if this is what is left of a loop from which tones were taken, where that has onsets. What is
        taken out leaves a faint shadow before each, which is no first cycle of it.

    Returns
    -------
    int64 array : frames, sorted, each from 0 to frames - 1; empty for silence and for a steady sound
    """
    window_frames = 1 << round(np.log2(WINDOW_SECONDS * rate_hz))
    if len(samples) < 2 * window_frames or not samples.any():
        return np.zeros(0, np.int64)
    hop_frames = len(samples) / round(len(samples) / (window_frames / HOPS_PER_WINDOW))
    rise_db = _rise_db(_band_levels_db(samples, rate_hz, window_frames, hop_frames))
    hops = _peaks(rise_db, hop_frames / rate_hz)
    coarse = np.floor(hops * hop_frames + 0.5).astype(np.int64)
    return _refine(samples, coarse, rate_hz, window_frames, known)


def _band_levels_db(samples: Samples, rate_hz: int, window_frames: int, hop_frames: float) -> Curve:
    """Level of each band in each window, shape (hops, bands); window k is centred on hop k."""
    hops = round(len(samples) / hop_frames)
    starts = np.floor(np.arange(hops) * hop_frames + 0.5).astype(np.int64)
    # Larger by what the transform is scaled down: see `vocoder.spectra_at`.
    window = np.hanning(window_frames + 1)[:-1].astype(np.float32) * np.float32(window_frames)
    edges = _band_edges(rate_hz, window_frames)
    half = window_frames // 2
    bands = np.zeros((hops, len(edges)))
    for channel in samples.T:
        wrapped = np.concatenate([channel[-half:], channel, channel[:window_frames]])
        views = sliding_window_view(wrapped, window_frames)
        for first in range(0, hops, WINDOWS_AT_ONCE):
            run = slice(first, first + WINDOWS_AT_ONCE)
            spectra = np.fft.rfft(views[starts[run]] * window, axis=1, norm="forward").astype(np.complex64, copy=False)
            bands[run] += np.add.reduceat(np.square(spectra.view(np.float32)), 2 * edges, axis=1)
    loudest = max(float(bands.max()), 1e-30)
    return np.asarray(10 * np.log10(bands / loudest + 10 ** (FLOOR_DB / 10)))


def _band_edges(rate_hz: int, window_frames: int) -> Frames:
    """First bin of each band: a third of an octave, but at least two bins (one alone flickers)."""
    octaves = np.log2(0.5 * rate_hz / LOWEST_BAND_HZ)
    edges_hz = LOWEST_BAND_HZ * 2 ** (np.arange(int(octaves * BANDS_PER_OCTAVE)) / BANDS_PER_OCTAVE)
    bins = np.round(edges_hz * window_frames / rate_hz).astype(np.int64)
    kept = [0]
    for edge in bins:
        if edge >= kept[-1] + 2:
            kept.append(int(edge))
    return np.array(kept)


def _rise_db(levels_db: Curve) -> Curve:
    """Mean over the bands of how far each rose above the windows just before."""
    before = np.max([np.roll(levels_db, lag, axis=0) for lag in range(1, LAG_HOPS + 1)], axis=0)
    return np.asarray(np.maximum(levels_db - before, 0).mean(axis=1))


def _peaks(rise_db: Curve, hop_seconds: float) -> Frames:
    """Hops at which the rise is largest nearby, large enough, and well above what is usual around it."""
    near = max(1, int(NEAREST_SECONDS / hop_seconds))
    around = max(2, int(USUAL_SECONDS / hop_seconds))
    largest = _wrapped_windows(rise_db, near).max(axis=1)
    # `np.median` gives the same, and loads what takes longer than finding the onsets of a loop.
    usual = np.partition(_wrapped_windows(rise_db, around), around, axis=1)[:, around]
    return np.flatnonzero((rise_db >= largest) & (rise_db > LEAST_RISE_DB) & (rise_db > TIMES_USUAL * usual))


def _wrapped_windows(curve: Curve, reach: int) -> NDArray[np.float64]:
    return sliding_window_view(np.pad(curve, reach, mode="wrap"), 2 * reach + 1)


def _refine(samples: Samples, coarse: Frames, rate_hz: int, window_frames: int, known: Frames) -> Frames:
    """Move each onset from its window to the frame where its attack starts."""
    if len(coarse) == 0:
        return coarse
    runs = (coarse[first : first + ONSETS_AT_ONCE] for first in range(0, len(coarse), ONSETS_AT_ONCE))
    found = np.concatenate([_attack_starts(samples, run, rate_hz, window_frames, known) for run in runs])
    found = np.sort(found % len(samples))
    gaps = np.diff(found, append=found[0] + len(samples))
    return found[gaps > NEAREST_SECONDS / 2 * rate_hz] if len(found) > 1 else found


def _attack_starts(samples: Samples, frames: Frames, rate_hz: int, window_frames: int, known: Frames) -> Frames:
    """Maeda's picker on the loop's slope (which favours what is new and bright over what rings on), and on its third.

    A soft note under loud ones that ring is nothing to the first, and all to the third; a dull one the other way.

    The search ends at the loudest millisecond near the window's centre, so that the decay after it plays no
    part.
    """
    first = frames - window_frames
    around = samples.take(first[:, None] + np.arange(-3, 2 * window_frames), axis=0, mode="wrap")
    slope = np.diff(np.moveaxis(around, 2, 0).astype(np.float64, order="C"))
    power, bright = (slope[:, :, 2:] ** 2).sum(axis=0), (np.diff(slope, 2) ** 2).sum(axis=0)
    total = np.cumsum(power, axis=1)
    short = max(4, rate_hz // 1000)
    smooth = total[:, short:] - total[:, :-short]
    from_here = window_frames // 4
    last = np.maximum(from_here + np.argmax(smooth[:, from_here:], axis=1) + short, 8 * short)
    totals = (total, np.cumsum(bright[:, : last.max()], axis=1))
    partings = [_parting(each, last, short, short // 2) for each in totals]
    least = LEAST_CLEARLY * np.maximum(*(clearly for _, clearly in partings))
    start = np.minimum(*(np.where(clearly >= least, at, last) for at, clearly in partings))
    apart = (first[:, None] + start[:, None] - known) % len(samples)
    is_known = (np.minimum(apart, len(samples) - apart) < KNOWN_SECONDS * rate_hz).any(axis=1)
    start = np.where(is_known, start, _first_cycle(power, start, rate_hz))
    return first + np.array([_foot(*each, rate_hz) for each in zip(bright, start, strict=True)], np.int64)


def _first_cycle(power: Curve, start: Frames, rate_hz: int) -> Frames:
    """Where a low tone begins whose first cycle is faint beside its later ones: parted again, if that parts clearly."""
    quiet_frames = round(QUIET_SECONDS * rate_hz)
    first = np.maximum(0, start - round(LONGEST_CYCLE_SECONDS * rate_hz))
    enough = np.flatnonzero(start - first > 2 * quiet_frames)
    if len(enough) == 0:
        return start
    counts = (start - first)[enough]
    total = np.cumsum(power[enough[:, None], first[enough, None] + np.arange(counts.max())], axis=1)
    parted, _ = _parting(total, counts, quiet_frames, quiet_frames // 4)
    quiet, every = (total[np.arange(len(total)), at - 1] for at in (parted, counts))
    clearly = (every - quiet) / (counts - parted) > CYCLE_TIMES * quiet / parted + 1e-30
    moved: Frames = start.copy()
    moved[enough] = np.where(clearly, first[enough] + parted, start[enough])
    return moved


def _foot(bright: Curve, start: int, rate_hz: int) -> int:
    """Down the slope of an attack that climbs slowly, while each stretch is clearly fainter than the next."""
    step = round(STEP_SECONDS * rate_hz)
    steps = min(start, round(LONGEST_FOOT_SECONDS * rate_hz)) // step
    levels = bright[start - steps * step : start].reshape(steps, step).sum(axis=1)[::-1]
    unheard = UNHEARD_TIMES * float(bright[start : start + step].sum()) + 1e-30
    climbs = levels[:-1] > STEP_TIMES * levels[1:] + unheard
    return start - step * int(np.argmin(np.append(climbs, False)))


def _parting(total: Curve, counts: Frames, least_quiet: int, least_loud: int) -> tuple[Frames, Curve]:
    """The frame that parts quiet from loud by the least k log var(before) + (n - k) log var(after); how clearly.

    `total` is each row's power so far; of each its first `counts` frames are meant.
    """
    n, most = counts[:, None], int(counts.max())
    every = np.take_along_axis(total, n - 1, axis=1)
    tiny = every * 1e-9 / n + 1e-30
    so_far = total[:, least_quiet - 1 : most - least_loud - 1]
    k = np.arange(least_quiet, most - least_loud, dtype=np.float64)
    left = np.maximum(n - k, 1)
    cost = k * np.log(so_far / k + tiny) + left * np.log(np.maximum(every - so_far, 0) / left + tiny)
    cost[k >= n - least_loud] = np.inf
    clearly = (n * np.log(every / n + tiny))[:, 0] - cost.min(axis=1)
    return least_quiet + np.argmin(cost, axis=1), clearly
