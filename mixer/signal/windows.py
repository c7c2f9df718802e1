"""Sound in short windows and their spectra, and back: what stretching, tones and notes all look through.

Windows are taken and transformed in runs that stay in the processor's cache, in single precision.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import cache

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.float32]
Frames = NDArray[np.int64]
Spectra = NDArray[np.complex64]
Windows = NDArray[np.float32]

WINDOW_SECONDS = 0.093
FRAMES_AT_ONCE = 16 * 4096


def window_for(rate_hz: int, most_frames: int) -> Windows:
    """Hann, a power of two near the wanted length and at most `most_frames`."""
    frames = 1 << round(math.log2(WINDOW_SECONDS * rate_hz))
    while frames > 16 and frames > most_frames:
        frames //= 2
    return hann(frames)


@cache
def hann(frames: int) -> Windows:
    """A window of so many frames, whose first is 0; not to be written to."""
    window = np.hanning(frames + 1)[:-1].astype(np.float32)
    window.flags.writeable = False
    return window


def views_of(samples: Samples, window_frames: int) -> Windows:
    """Every window of the samples, shape (channels, windows, window_frames), without copying; not to be written to.

    As `sliding_window_view` has them, which takes longer than some of the transforms.
    """
    channels = np.ascontiguousarray(samples.T)
    shape = (len(channels), channels.shape[1] - window_frames + 1, window_frames)
    views: Windows = np.ndarray(shape, channels.dtype, channels, strides=(*channels.strides, channels.itemsize))
    return views


def runs_of(count: int, window_frames: int) -> Iterator[slice]:
    """Windows in runs that stay in the processor's cache."""
    at_once = max(1, FRAMES_AT_ONCE // window_frames)
    return (slice(first, min(first + at_once, count)) for first in range(0, count, at_once))


def spectra_at(views: Windows, places: Frames, window: Windows, bins: int | None = None) -> Spectra:
    """Spectra of the windows that begin at these places, shape (channels, places, bins): all bins, or the lowest.

    Asked to scale what it transforms, numpy stays in single precision, which is faster by half; otherwise it goes
    through double. So the windows are made larger by as much.
    """
    larger = window * np.float32(len(window))
    spectra = np.empty((len(views), len(places), bins or len(window) // 2 + 1), np.complex64)
    for run in runs_of(len(places), len(window)):
        windowed = views[:, places[run]]
        windowed *= larger
        spectra[:, run] = np.fft.rfft(windowed, axis=2, norm="forward")[:, :, :bins]
    return spectra


def windows_of(spectra: Spectra, factors: Spectra, window_frames: int) -> Windows:
    """Windows that have these spectra, the lowest bins of them, times factors, shape (windows, bins), of both channels.

    numpy takes half as long again where it is not given all bins.
    """
    every = np.zeros((*spectra.shape[:2], window_frames // 2 + 1), np.complex64)
    np.multiply(spectra, factors, out=every[:, :, : spectra.shape[2]])
    return np.fft.irfft(every, window_frames, axis=2).astype(np.float32, copy=False)
