"""Where the notes of a line begin: where tones come that were not there before.

A note that is blown or bowed softly is heard over 10 to 60 ms, and the one before dies away under it. Level tells
nothing then, and what is new and bright in it comes late (it is found by that). So what the sound has after a note was
found and had not before is let through, by a filter without delay, and the note begins where that leaves the ground.

Deliberately left out: hits (`hits`), which begin where they were found.
"""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

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
# But where a note comes much later than it was found, less of it is heard so soon.
MUCH_LATER_SECONDS, FAINT_NEW_SHARE = 0.008, 0.03
# What comes out of silence begins where it was found: with so little before.
SILENT = 1e-6
# It may begin so much earlier than it was found.
LOOKED_SECONDS = 0.04
# It has begun before it is first so large beside its largest, where it is last smaller than so little; told from
# millisecond to millisecond, each with those beside it.
HEARD_SHARE, GROUND_SHARE = 0.6, 0.05
SMOOTH = np.array([1, 3, 4, 3, 1]) / 12
# What takes no longer from there to there than the filter makes of any attack has one, and begins where that was found.
SHARP_SECONDS = 0.011


def tones_come_later(samples: Samples, rate_hz: int, cuts: Frames) -> Frames:
    """By how many frames later than each cut new tones come (earlier if negative); 0 where none do.

    Parameters
    ----------
    samples : float32 array, shape (frames, channels), circular
    rate_hz : int > 0; tones are low, so 20,000 is enough
    cuts : int64 array: where notes were found to begin
    """
    return np.array([_later(samples, rate_hz, cut) for cut in cuts.tolist()], np.int64)


def _later(samples: Samples, rate_hz: int, cut: int) -> int:
    step, window = max(1, rate_hz // 1000), hann(round(WINDOW_SECONDS * rate_hz))
    looked, after = (round(1000 * seconds) for seconds in (LOOKED_SECONDS, AFTER_SECONDS))
    heard = samples.take(np.arange(cut - len(window), cut + len(window)), axis=0, mode="wrap")
    asked = slice(len(window) - looked * step, len(window) + after * step)
    every = _powers(heard[asked], step)
    before, whole = every[:looked].sum(), every[looked:].sum()
    if before < SILENT * whole:
        return 0
    new = _powers(_new_tones(heard, window, round(REACH_SECONDS * rate_hz))[asked], step)
    is_new = new[looked:].sum()
    if is_new <= FAINT_NEW_SHARE * whole:
        return 0
    sizes = np.sqrt(np.convolve(new, SMOOTH, "same"))
    heard_at = int(np.argmax(sizes > HEARD_SHARE * sizes.max()))
    ground = np.flatnonzero(sizes[:heard_at] < GROUND_SHARE * sizes.max())
    if len(ground) == 0 or heard_at - ground[-1] - 1 <= round(1000 * SHARP_SECONDS):
        return 0
    later = int(ground[-1]) + 1 - looked
    return later * step if is_new >= LEAST_NEW_SHARE * whole or later >= round(1000 * MUCH_LATER_SECONDS) else 0


def _powers(sound: Samples, step: int) -> Levels:
    """Of both channels together, step by step."""
    powers: Levels = np.square(sound).reshape(-1, step * sound.shape[1]).sum(axis=1)
    return powers


def _new_tones(heard: Samples, window: Samples, reach: int) -> Samples:
    """What is new in the second half of a sound, each of its halves a window long, by itself."""
    size = 1 << (len(heard) + reach).bit_length()
    halves = heard.reshape(2, len(window), -1) * window[:, None]
    before, after = np.square(np.abs(np.fft.rfft(halves, size // 2, axis=1))).sum(axis=2)
    near = round(HANN_BINS * (size // 2) / len(window))
    before = sliding_window_view(np.pad(before, near), 2 * near + 1).max(axis=1)
    let_through = np.maximum(1 - NEW_TIMES * before / np.maximum(after, 1e-20), 0)
    response = np.fft.irfft(let_through)
    fades = hann(2 * reach)
    short = np.concatenate(
        [response[:reach] * fades[reach:], np.zeros(size - 2 * reach), response[-reach:] * fades[:reach]]
    )
    spectra = np.fft.rfft(heard, size, axis=0) * np.fft.rfft(short)[:, None]
    return np.fft.irfft(spectra, size, axis=0)[: len(heard)].astype(np.float32, copy=False)
