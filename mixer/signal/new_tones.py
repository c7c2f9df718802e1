"""Where the notes of a line begin: where tones come that were not there before.

A note that is blown or bowed softly is heard over 10 to 60 ms, and the one before dies away under it. Level tells
nothing then, and what is new and bright in it comes late (it is found by that). So what the sound has after a note was
found and had not before is let through, as a filter without delay (its phases stay), and the note begins where that
leaves the ground. A hit begins where it was found.
"""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from mixer.signal.hits import are_hits
from mixer.signal.windows import Frames, Samples, hann

Levels = NDArray[np.float32]

# Tones are told before and after in windows so long. A tone reaches so many bins of it to both sides.
WINDOW_SECONDS, HANN_BINS = 0.075, 1.5
# What is not so many times as strong as before is not new.
NEW_TIMES = 8.0
# The filter reaches so far to both sides. With a longer one a note would be heard long before it comes.
REACH_SECONDS = 0.02
# With less of what comes after the cut no note begins there (a note is let go).
AFTER_SECONDS, LEAST_NEW_SHARE = 0.06, 0.1
# What comes out of silence begins where it was found: with so little before.
SILENT = 1e-6
# It may begin so much earlier or later than it was found, and is heard for a moment before and after that.
LOOKED_SECONDS, AROUND_SECONDS = 0.04, 0.12
# It has begun before it is first so large beside its largest, where it is last smaller than so little; told from
# millisecond to millisecond, each with those beside it.
HEARD_SHARE, GROUND_SHARE = 0.6, 0.05
SMOOTH = np.array([1, 3, 4, 3, 1]) / 12
# What takes no longer from there to there than the filter makes of any attack has one, and begins where that was found.
SHARP_SECONDS = 0.01


def begins_of_tones(samples: Samples, rate_hz: int, cuts: Frames) -> Frames:
    """The places where new tones come near the cuts; the cuts where none come, or a hit does.

    Parameters
    ----------
    samples : float32 array, shape (frames, channels), circular
    rate_hz : int > 0
    cuts : int64 array, sorted: where notes were found to begin

    Returns
    -------
    int64 array : frames, sorted; of two that are one place, one
    """
    soft = ~are_hits(samples, rate_hz, cuts)
    begins = [_begins(samples, rate_hz, cut) if asked else cut for cut, asked in zip(cuts.tolist(), soft, strict=True)]
    return np.unique(np.array(begins, np.int64) % len(samples))


def _begins(samples: Samples, rate_hz: int, cut: int) -> int:
    """Where new tones leave the ground near a cut."""
    step = max(1, rate_hz // 1000)
    looked, around, after = (round(1000 * seconds) for seconds in (LOOKED_SECONDS, AROUND_SECONDS, AFTER_SECONDS))
    heard = samples.take(np.arange(cut - around * step, cut + around * step), axis=0, mode="wrap")
    every = _powers(heard, step)
    before, whole = every[around - looked : around].sum(), every[around : around + after].sum()
    if before < SILENT * whole:
        return cut
    new = _powers(_new_tones(heard, rate_hz), step)
    if new[around : around + after].sum() < LEAST_NEW_SHARE * whole:
        return cut
    sizes = np.sqrt(np.convolve(new, SMOOTH, "same"))
    near = sizes[around - looked : around + after]
    heard_at = around - looked + int(np.argmax(near > HEARD_SHARE * near.max()))
    ground = np.flatnonzero(sizes[around - looked : heard_at] < GROUND_SHARE * near.max())
    if len(ground) == 0 or heard_at - (around - looked + ground[-1] + 1) <= round(1000 * SHARP_SECONDS):
        return cut
    return cut + (int(ground[-1]) + 1 - looked) * step


def _powers(sound: Samples, step: int) -> Levels:
    """Of both channels together, step by step."""
    powers: Levels = np.square(sound).reshape(-1, step * sound.shape[1]).sum(axis=1)
    return powers


def _new_tones(heard: Samples, rate_hz: int) -> Samples:
    """What is new in the second half of a sound, by itself."""
    window = hann(round(WINDOW_SECONDS * rate_hz))
    middle = len(heard) // 2
    size = 1 << (len(heard) + len(window)).bit_length()
    before, after = (
        np.square(np.abs(np.fft.rfft(part * window[:, None], size, axis=0))).sum(axis=1)
        for part in (heard[middle - len(window) : middle], heard[middle : middle + len(window)])
    )
    reach = round(HANN_BINS * size / len(window))
    before = sliding_window_view(np.pad(before, reach), 2 * reach + 1).max(axis=1)
    let_through = np.maximum(1 - NEW_TIMES * before / np.maximum(after, 1e-20), 0)
    spectra = np.fft.rfft(heard, size, axis=0) * _short(let_through, round(REACH_SECONDS * rate_hz))[:, None]
    return np.fft.irfft(spectra, size, axis=0)[: len(heard)].astype(np.float32, copy=False)


def _short(sizes: Levels, reach: int) -> Levels:
    """Spectrum of a filter without delay, of about these sizes, that reaches so many frames to both sides."""
    response = np.fft.irfft(sizes)
    fades = hann(2 * reach)
    response[:reach] *= fades[reach:]
    response[-reach:] *= fades[:reach]
    response[reach:-reach] = 0
    short: Levels = np.fft.rfft(response).real.astype(np.float32, copy=False)
    return short
