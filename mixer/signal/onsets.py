"""Where the notes and hits of a loop begin, to the frame.

Stretching moves what it finds here and leaves the attack itself alone, so a hit that is missed ends up late
and one that is invented cuts a sound in two. In goes a circular loop, float32, shape (frames, channels); out come
frames, sorted.

Two steps. First, rises of level in bands (spectral flux on a decibel scale; Dixon, "Onset detection
revisited", DAFx 2006), so that a quiet hat is found under a ringing bass. The channels' powers are added,
never their samples: sound in opposite phase counts. Second, the start of each attack is the frame that best
parts a quiet stretch from a loud one: the picker of Maeda (1985) that seismology uses, minimum of k log
var(before) + (n - k) log var(after). Where that parts nothing clearly, as in a soft note under ringing ones, it is
asked of what the sound before does not foretell (as Takanami & Kitagawa do, "A new efficient procedure for the
estimation of onset times of seismic waves", Journal of Physics of the Earth 36, 1988).

Deliberately left out: beats and tempo; what kind of sound it is.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

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
# Less may be a note too where nothing else moves, nor did just before: see `struck`.
LEAST_SOFT_RISE_DB, SOFT_TIMES_USUAL, SOFT_TIMES_BEFORE = 0.4, 4.0, 1.4
USUAL_SECONDS = 0.12
# A sound that swells out of silence has no attack: it begins where it leaves that (beside the loop's loudest band).
SILENT_SECONDS, SILENT_DB = 0.05, -60.0
SWELL_SECONDS, SWELL_DB = 0.15, -40.0
# And climbs by so much from window to window.
CLIMB_DB = 0.5
# Closer than this is one event (a flam); rolls of 60 ms are found.
NEAREST_SECONDS = 0.04
# A low tone's first cycle, half of it pause between swings, may be much fainter than what follows: it is so many times
# louder than all that was heard for as long before it.
LONGEST_CYCLE_SECONDS = 0.025
QUIET_SECONDS = 0.006
CYCLE_TIMES = 8.0
# Out of silence a note may speak for so long before it is loud (a finger on a string, breath): that is so much louder.
LONGEST_SPEAKING_SECONDS = 0.06
SPEAKING_TIMES = 1000.0
# What is so much fainter than the loop's loudest frame is silence.
SILENCE_TIMES = 1e-10
# A slow attack (bow, breath, shaken grains) climbs by so much each step, for up to so long.
LONGEST_FOOT_SECONDS = 0.025
STEP_SECONDS = 0.003
STEP_TIMES = 3.0
# The lowest step begins where so much of it is done.
BEGUN = 0.01
# Level and brightness each show where an attack starts; of two that show it half as clearly or more the earlier counts.
LEAST_CLEARLY = 0.5
# Where they part it less clearly than this, by the frame, it is asked of what is not foretold, if that tells at all.
CLEARLY, AT_ALL = 0.6, 0.03
# So many frames foretell the next; from so much before the window's centre so much is looked at, and so much of that is
# known, since it ends before an attack may begin (all in windows).
FORETOLD_BY = 32
EARLIER_WINDOWS, LOOKED_WINDOWS, KNOWN_WINDOWS = 1.4, 1.95, 0.9
# What is so much fainter than the rest of what is known does not count in it.
NEGLIGIBLE = 1e-6
# What is so much fainter than the attack itself is not looked at.
UNHEARD_TIMES = 1e-5


def find_onsets(samples: Samples, rate_hz: int) -> Frames:
    """Where notes and hits begin in a circular loop.

    Parameters
    ----------
    samples : float32 array, shape (frames, channels), circular
    rate_hz : int > 0, frames per second

    Returns
    -------
    int64 array : frames, sorted, each from 0 to frames - 1; empty for silence and for a steady sound
    """
    return attack_starts(samples, rate_hz, find_rises(samples, rate_hz)[0])


def find_rises(samples: Samples, rate_hz: int) -> tuple[Frames, Frames]:
    """Where level rises in a circular loop, to a window: clearly; and where little rises, but nothing else moves.

    Arguments as for `find_onsets`.

    Returns
    -------
    two int64 arrays : frames, sorted
    """
    window_frames = _window_frames(rate_hz)
    if len(samples) < 2 * window_frames or not samples.any():
        return np.zeros(0, np.int64), np.zeros(0, np.int64)
    hop_frames = len(samples) / round(len(samples) / (window_frames / HOPS_PER_WINDOW))
    levels_db = _band_levels_db(samples, rate_hz, window_frames, hop_frames)
    clear, soft = _peaks(_rise_db(levels_db), hop_frames / rate_hz)
    loudest_db = levels_db.max(axis=1)
    clear = _without_climbs(_with_swells(clear, loudest_db, hop_frames / rate_hz), loudest_db)
    return _frames_at(clear, hop_frames), _frames_at(soft, hop_frames)


def attack_starts(samples: Samples, rate_hz: int, rises: Frames, *, rest: bool = False) -> Frames:
    """To the frame where the attacks start of which level rises nearby; some may be under what rings on.

    Arguments as for `find_onsets`; `rises` as `find_rises` tells; `rest` is whether it is what is left of a loop from
    which tones were taken. Those leave a faint shadow before each onset, which is no beginning of it.

    Returns
    -------
    int64 array : frames, sorted; of two that are all but one the later
    """
    if len(rises) == 0:
        return rises
    window_frames = _window_frames(rate_hz)
    found, clearly = _in_runs(partial(_attack_starts, samples, rate_hz=rate_hz, window_frames=window_frames), rises)
    unclear = clearly < CLEARLY
    if not rest and unclear.any():  # where tones were taken out nothing rings
        starts = partial(_unforeseen_starts, samples, rate_hz=rate_hz, window_frames=window_frames)
        parted, more_clearly = _in_runs(starts, rises[unclear])
        found[unclear] = np.where(more_clearly > np.maximum(clearly[unclear], AT_ALL), parted, found[unclear])
    found = np.sort(found % len(samples))
    if not rest:
        found = np.sort(_beginnings(samples, found, rate_hz) % len(samples))
    return _apart(found, rate_hz, len(samples))


def starts_under(samples: Samples, rate_hz: int, rises: Frames) -> Frames:
    """The same for attacks that are known to be under what rings."""
    if len(rises) == 0:
        return rises
    starts = partial(_unforeseen_starts, samples, rate_hz=rate_hz, window_frames=_window_frames(rate_hz))
    return _apart(np.sort(_in_runs(starts, rises)[0] % len(samples)), rate_hz, len(samples))


def _apart(found: Frames, rate_hz: int, frames: int) -> Frames:
    """Of two that are all but one the later."""
    gaps = np.diff(found, append=found[0] + frames)
    return found[gaps > NEAREST_SECONDS / 2 * rate_hz] if len(found) > 1 else found


def _window_frames(rate_hz: int) -> int:
    return 1 << int(np.round(np.log2(WINDOW_SECONDS * rate_hz)))


def _frames_at(hops: Frames, hop_frames: float) -> Frames:
    frames: Frames = np.floor(hops * hop_frames + 0.5).astype(np.int64)
    return frames


def _band_levels_db(samples: Samples, rate_hz: int, window_frames: int, hop_frames: float) -> Curve:
    """Level of each band in each window, shape (hops, bands); window k is centred on hop k."""
    hops = round(len(samples) / hop_frames)
    starts = np.floor(np.arange(hops) * hop_frames + 0.5).astype(np.int64)
    # Larger by what the transform is scaled down: see `windows.spectra_at`.
    window = np.hanning(window_frames + 1)[:-1].astype(np.float32) * np.float32(window_frames)
    edges = _band_edges(rate_hz, window_frames)
    half = window_frames // 2
    bands = np.zeros((hops, len(edges)))
    for channel in samples.T:
        wrapped = np.concatenate([channel[-half:], channel, channel[:window_frames]])
        views = sliding_window_view(wrapped, window_frames)
        for first in range(0, hops, WINDOWS_AT_ONCE):
            run = slice(first, first + WINDOWS_AT_ONCE)
            windowed = views[starts[run]]
            windowed *= window
            parts = np.fft.rfft(windowed, axis=1, norm="forward").astype(np.complex64, copy=False).view(np.float32)
            bands[run] += np.add.reduceat(np.square(parts, out=parts), 2 * edges, axis=1)
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


def _peaks(rise_db: Curve, hop_seconds: float) -> tuple[Frames, Frames]:
    """Hops at which the rise is largest nearby: large enough and well above what is usual around it; and soft ones."""
    near = max(1, int(NEAREST_SECONDS / hop_seconds))
    around = max(2, int(USUAL_SECONDS / hop_seconds))
    largest = _wrapped_windows(rise_db, near).max(axis=1)
    # `np.median` gives the same, and loads what takes longer than finding the onsets of a loop.
    usual = np.partition(_wrapped_windows(rise_db, around), around, axis=1)[:, around]
    clear = (rise_db > LEAST_RISE_DB) & (rise_db > TIMES_USUAL * usual)
    before = np.roll(largest, near + LAG_HOPS + 1)
    soft = rise_db > np.maximum(np.maximum(SOFT_TIMES_USUAL * usual, SOFT_TIMES_BEFORE * before), LEAST_SOFT_RISE_DB)
    is_peak = rise_db >= largest
    return np.flatnonzero(is_peak & clear), np.flatnonzero(is_peak & soft & ~clear)


def _with_swells(hops: Frames, loudest_db: Curve, hop_seconds: float) -> Frames:
    """The same, and hops at which a sound that swells leaves the silence."""
    before, after = (max(1, round(seconds / hop_seconds)) for seconds in (SILENT_SECONDS, SWELL_SECONDS))
    around = sliding_window_view(np.pad(loudest_db, (before, after), mode="wrap"), before + after + 1)
    silent = around[:, :before].max(axis=1) < SILENT_DB
    leaves = np.flatnonzero(silent & (loudest_db >= SILENT_DB) & (around[:, before:].max(axis=1) > SWELL_DB))
    apart = (hops - leaves[:, None]) % len(loudest_db)
    near = round(LONGEST_SPEAKING_SECONDS / hop_seconds)
    alone = (np.minimum(apart, len(loudest_db) - apart) > near).all(axis=1)
    return np.sort(np.concatenate([hops, leaves[alone]]))


def _without_climbs(hops: Frames, loudest_db: Curve) -> Frames:
    """The same without those at which what rose out of silence at the first of them is still climbing: one swell."""
    slow = np.concatenate([[0], np.cumsum(np.diff(loudest_db) < CLIMB_DB)])
    kept: list[int] = []
    begun = -1
    for hop in hops.tolist():
        if begun < 0 or slow[hop] > slow[begun]:
            kept.append(hop)
            begun = hop if loudest_db[hop - LAG_HOPS] < SILENT_DB else -1
    return np.array(kept, np.int64)


def _wrapped_windows(curve: Curve, reach: int) -> NDArray[np.float64]:
    return sliding_window_view(np.pad(curve, reach, mode="wrap"), 2 * reach + 1)


def _beginnings(samples: Samples, found: Frames, rate_hz: int) -> Frames:
    """Where notes begin that are heard, but faintly, before their attack; it is asked of level and of slope.

    Where another onset is as near, what is heard is that.
    """
    step = max(1, rate_hz // 1000)
    cycle, speaking = (round(1000 * seconds) for seconds in (LONGEST_CYCLE_SECONDS, LONGEST_SPEAKING_SECONDS))
    alone = np.diff(found, prepend=found[-1] - len(samples)) > speaking * step
    if not alone.any():  # a roll
        return found
    before = samples.take(found[alone, None] + np.arange(-(cycle + speaking) * step - 1, 0), axis=0, mode="wrap")
    silence = SILENCE_TIMES * step * float(max(samples.max(), -samples.min())) ** 2
    earlier = np.zeros(len(before), np.int64)
    for sound in (before[:, 1:], np.diff(before, axis=1)):
        levels = np.square(sound).reshape(len(before), cycle + speaking, -1).sum(axis=2)
        quiet = sliding_window_view(levels, cycle, axis=1).max(axis=2)[:, :-1]
        loud = np.maximum.accumulate(levels[:, ::-1], axis=1)[:, -1 - cycle :: -1]
        for longest, times in ((cycle, CYCLE_TIMES), (speaking, SPEAKING_TIMES)):
            louder = loud[:, -longest:] > times * quiet[:, -longest:] + silence
            rows = np.flatnonzero(louder.any(axis=1))
            if len(rows):
                begun = _begun(sound[rows, -longest * step :], louder[rows], round(QUIET_SECONDS * rate_hz))
                earlier[rows] = np.maximum(earlier[rows], longest * step - begun)
    begins: Frames = found.copy()
    begins[alone] -= earlier
    return begins


def _begun(sound: Samples, louder: NDArray[np.bool_], quiet_frames: int) -> Frames:
    """The frame of each row that parts quiet from loud, if that step is a louder one; or else the last of those."""
    rows, frames = sound.shape[:2]
    step = frames // louder.shape[1]
    total = np.cumsum(np.square(sound, dtype=np.float64).sum(axis=2), axis=1)
    parted, _ = parting(total, np.full(rows, frames), quiet_frames, step)
    last = frames - step * (1 + np.argmax(louder[:, ::-1], axis=1))
    begun: Frames = np.where(louder[np.arange(rows), parted // step], parted, last)
    return begun


def _in_runs(starts: Callable[[Frames], tuple[Frames, Curve]], coarse: Frames) -> tuple[Frames, Curve]:
    runs = [coarse[first : first + ONSETS_AT_ONCE] for first in range(0, len(coarse), ONSETS_AT_ONCE)]
    found, clearly = zip(*(starts(run) for run in runs), strict=True)
    return np.concatenate(found), np.concatenate(clearly)


def _attack_starts(samples: Samples, frames: Frames, rate_hz: int, window_frames: int) -> tuple[Frames, Curve]:
    """Maeda's picker on the loop's slope (which favours what is new and bright over what rings on), and on its third.

    A soft note under loud ones that ring is nothing to the first, and all to the third; a dull one the other way.

    The search ends at the loudest millisecond near the window's centre, so that the decay after it plays no
    part. How clearly they part is told by the frame.
    """
    first = frames - window_frames
    around = samples.take(first[:, None] + np.arange(-3, 2 * window_frames), axis=0, mode="wrap")
    slope = np.diff(np.moveaxis(around, 2, 0).astype(np.float64, order="C"))
    power = (slope[:, :, 2:] ** 2).sum(axis=0)
    total = np.cumsum(power, axis=1)
    short = max(4, rate_hz // 1000)
    smooth = total[:, short:] - total[:, :-short]
    from_here = window_frames // 4
    last = np.maximum(from_here + np.argmax(smooth[:, from_here:], axis=1) + short, 8 * short)
    needed = int(last.max()) + round(STEP_SECONDS * rate_hz)
    bright = (np.diff(slope[:, :, : needed + 2], 2) ** 2).sum(axis=0)
    totals = (total, np.cumsum(bright[:, : last.max()], axis=1))
    partings = [parting(each, last, short, short // 2) for each in totals]
    least = LEAST_CLEARLY * np.maximum(*(clearly for _, clearly in partings))
    start = np.minimum(*(np.where(clearly >= least, at, last) for at, clearly in partings))
    feet = np.array([_foot(*each, rate_hz) for each in zip(bright, start, strict=True)], np.int64)
    return first + feet, np.maximum(*(clearly for _, clearly in partings)) / last


def _unforeseen_starts(samples: Samples, frames: Frames, rate_hz: int, window_frames: int) -> tuple[Frames, Curve]:
    """The picker on what the sound before does not foretell, and how clearly it parts, by the frame.

    What rings on or hums is gone from that, so a soft note under it is heard.
    """
    first = frames - round(EARLIER_WINDOWS * window_frames)
    span = np.arange(round(LOOKED_WINDOWS * window_frames))
    around = np.moveaxis(samples.take(first[:, None] + span, axis=0, mode="wrap"), 2, 0).astype(np.float64, order="C")
    known = round(KNOWN_WINDOWS * window_frames)
    power = np.square(_unforeseen(around, known)[:, :, known // 2 :]).sum(axis=0)
    total = np.cumsum(power, axis=1)
    short = max(4, rate_hz // 1000)
    smooth = total[:, short:] - total[:, :-short]
    last = np.maximum(known // 2 + np.argmax(smooth[:, known // 2 :], axis=1) + short, 8 * short)
    start, clearly = parting(total, last, short, short // 2)
    feet = np.array([_foot(*each, rate_hz) for each in zip(power, start, strict=True)], np.int64)
    return first + known // 2 + feet, clearly / last


def _unforeseen(around: Curve, known: int) -> Curve:
    """What linear prediction from the first `known` frames leaves of all, shape (channels, rows, frames).

    The autocorrelation method (Makhoul, "Linear prediction: a tutorial review", Proceedings of the IEEE 63(4), 1975);
    channels share their coefficients.
    """
    before = np.fft.rfft(around[:, :, :known] * np.hanning(known), _size(known))
    alike = np.fft.irfft((before.real**2 + before.imag**2).sum(axis=0))[:, : FORETOLD_BY + 1]
    lags = np.abs(np.subtract.outer(np.arange(FORETOLD_BY), np.arange(FORETOLD_BY)))
    faint = (alike[:, :1, None] * NEGLIGIBLE + 1e-12) * np.eye(FORETOLD_BY)
    foretold = np.linalg.solve(alike[:, lags] + faint, alike[:, 1:, None])[:, :, 0]
    size = _size(around.shape[2])
    rest = np.fft.rfft(np.concatenate([np.ones((len(foretold), 1)), -foretold], axis=1), size)
    unforeseen: Curve = np.fft.irfft(np.fft.rfft(around, size) * rest)[:, :, : around.shape[2]]
    return unforeseen


def _size(frames: int) -> int:
    """A power of two in which what is filtered or lagged does not wrap round."""
    return 1 << (frames + FORETOLD_BY - 1).bit_length()


def _foot(bright: Curve, start: int, rate_hz: int) -> int:
    """Down the slope of an attack that climbs slowly, while each stretch is clearly fainter than the next."""
    step = round(STEP_SECONDS * rate_hz)
    steps = min(start, round(LONGEST_FOOT_SECONDS * rate_hz)) // step
    levels = bright[start - steps * step : start].reshape(steps, step).sum(axis=1)[::-1]
    unheard = UNHEARD_TIMES * float(bright[start : start + step].sum()) + 1e-30
    climbed = int(np.argmin(np.append(levels[:-1] > STEP_TIMES * levels[1:] + unheard, False)))
    if climbed == 0:
        return start
    so_far = np.cumsum(bright[start - climbed * step : start - (climbed - 1) * step])
    return start - climbed * step + int(np.argmax(so_far > BEGUN * so_far[-1]))


def parting(total: Curve, counts: Frames, least_quiet: int, least_loud: int) -> tuple[Frames, Curve]:
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
