"""Whether a sound is noise from beginning to end, as rain and wind are.

Spectral flatness: the geometric mean of the power of neighbouring bins beside their arithmetic mean (Gray & Markel, "A
spectral-flatness measure for studying the autocorrelation method of linear prediction of speech analysis", IEEE TASSP
22(3), 1974), here in narrow bands, so that the colour of a noise makes no difference. Each band counts by its power.
The power of noise in a bin is exponentially distributed, which gives exp(-0.577) = 0.56; a tone gives next to nothing,
and a click, whose bins are all alike, nearly 1.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.float32]
Windows = NDArray[np.float32]
Powers = NDArray[np.float64]

BAND_BINS = 32
MOST_WINDOWS = 32
# What is this far from noise in so few windows is not asked further.
FEW_WINDOWS, FAR_FLATNESS = 4, 0.3
SHORTEST_WINDOW = 512
# Hum and what a window has of a constant offset are no part of it.
FIRST_BIN = 8
# Rain has 0.5, and still 0.4 when it was stretched to 1.4 times its length; cymbals and the voices of a crowd have less
# than 0.3.
LEAST_FLATNESS, MOST_FLATNESS = 0.38, 0.7
# It is never so much fainter than it usually is.
MOST_FALL_DB = 12.0


def is_noise(samples: Samples, window: Windows) -> bool:
    """Whether it is noise from beginning to end.

    Parameters
    ----------
    samples : float32 array, shape (frames, channels)
    window : float32 array; what is shorter than a window of 512 frames can't be told, and is not
    """
    if not SHORTEST_WINDOW <= len(window) <= len(samples):
        return False
    if _flatness(_powers(samples, window, FEW_WINDOWS)) < FAR_FLATNESS:
        return False
    power = _powers(samples, window, MOST_WINDOWS)
    level = power.sum(axis=(1, 2, 3))
    lasts = level.min() > level.mean() * 10 ** (-MOST_FALL_DB / 10)
    return bool(lasts) and LEAST_FLATNESS < _flatness(power) < MOST_FLATNESS


def flatness(samples: Samples, window: Windows) -> float:
    """Mean spectral flatness of narrow bands: 0 for tones and silence, about 0.56 for noise.

    Arguments as for `is_noise`, at least one window long.
    """
    return _flatness(_powers(samples, window, MOST_WINDOWS))


def _powers(samples: Samples, window: Windows, most: int) -> Powers:
    """Power of some windows, shape (windows, channels, bands, bins)."""
    over = len(window)
    count = min(most, len(samples) // over)
    starts = [(len(samples) - over) * number // max(1, count - 1) for number in range(count)]
    windows = np.empty((count, samples.shape[1], over), np.float32)
    for windowed, start in zip(windows, starts, strict=True):
        np.multiply(samples[start : start + over].T, window, out=windowed)
    # Scaled, since numpy stays in single precision then, which is faster.
    spectra = np.fft.rfft(windows, axis=2, norm="ortho")
    bands = (spectra.shape[2] - FIRST_BIN) // BAND_BINS
    spectra = spectra[:, :, FIRST_BIN : FIRST_BIN + bands * BAND_BINS]
    power: Powers = np.square(spectra.real)
    power += np.square(spectra.imag)
    return power.reshape(count, -1, bands, BAND_BINS)


def _flatness(power: Powers) -> float:
    total = float(power.mean(axis=3).sum())
    return float(np.exp(np.log(power + 1e-30).mean(axis=3)).sum()) / total if total > 0 else 0.0
