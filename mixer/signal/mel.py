"""How unlike two sounds are: their levels in the bands of an ear, moment by moment.

Good for sounds that should be the same, a loop before and after something was done to it. The channels' powers are
added, never their samples, so that opposite phases count.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

Samples = NDArray[np.float32]
Powers = NDArray[np.float32]

WINDOW_SECONDS = 0.093
HOPS_PER_WINDOW = 4
BLOCK_WINDOWS = 64
BANDS = 64
LOWEST_HZ, HIGHEST_HZ = 40.0, 16000.0
# What is this far below the loudest moment of the first sound is not heard in either.
FLOOR_DB = -70.0


def mel_powers(samples: Samples, rate_hz: int) -> Powers:
    """Power in each band at each moment.

    Parameters
    ----------
    samples : float32 array, shape (frames, 2), circular, at least one frame
    rate_hz : int > 0

    Returns
    -------
    float32 array, shape (moments, BANDS)
    """
    window_frames = 1 << round(math.log2(WINDOW_SECONDS * rate_hz))
    window = np.hanning(window_frames + 1)[:-1].astype(np.float32)
    around = np.arange(-window_frames // 2, len(samples) + window_frames // 2)
    wrapped = np.ascontiguousarray(samples.take(around, axis=0, mode="wrap").T)
    views = sliding_window_view(wrapped, window_frames, axis=1)[:, :: window_frames // HOPS_PER_WINDOW]
    filters = _filters(rate_hz, window_frames)
    powers = np.empty((views.shape[1], BANDS), np.float32)
    for first in range(0, len(powers), BLOCK_WINDOWS):
        spectra = np.fft.rfft(views[:, first : first + BLOCK_WINDOWS] * window, axis=2)
        powers[first : first + BLOCK_WINDOWS] = (spectra.real**2 + spectra.imag**2).sum(axis=0) @ filters
    return powers


def distance_db(one: Powers, other: Powers) -> float:
    """Mean difference of two sounds of equal length and rate, as `mel_powers` gives them; 0 for the same sound."""
    top = max(float(one.max()), 1e-30)
    floor = np.float32(10 ** (FLOOR_DB / 10))
    return float(10 * np.abs(np.log10((one / top + floor) / (other / top + floor))).mean())


def _filters(rate_hz: int, window_frames: int) -> Powers:
    """Triangles even on the mel scale of O'Shaughnessy (1987), 2595 log10(1 + f / 700); shape (bins, BANDS)."""
    lowest, highest = (2595 * math.log10(1 + hz / 700) for hz in (LOWEST_HZ, HIGHEST_HZ))
    mels = np.linspace(lowest, highest, BANDS + 2)
    corners_hz = 700 * (10 ** (mels / 2595) - 1)
    bins_hz = np.arange(window_frames // 2 + 1)[:, None] * rate_hz / window_frames
    low, mid, high = corners_hz[:-2], corners_hz[1:-1], corners_hz[2:]
    filters = np.maximum(0, np.minimum((bins_hz - low) / (mid - low), (high - bins_hz) / (high - mid)))
    # The lowest bands are narrower than a bin, and each must see one.
    nearest, bands = np.argmin(np.abs(bins_hz - mid), axis=0), np.arange(BANDS)
    filters[nearest, bands] = np.maximum(filters[nearest, bands], 0.5)
    return np.asarray(filters, np.float32)
