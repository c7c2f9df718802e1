"""How far a stretched loop is from the truth: the same notes played at the target tempo.

Both are circular, float32, shape (frames, 2), of the same length and rate. Every distance is 0 for equal sound and
smaller is better. The channels' powers are added, so opposite phases count.
"""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

Samples = NDArray[np.float32]
Grid = NDArray[np.float64]

MEL_BANDS = 64
LOWEST_HZ, HIGHEST_HZ = 40.0, 16000.0
# Cells this far below the truth's loudest are equal: nobody hears them.
FLOOR_DB = -70.0


def log_mel_distance_db(stretched: Samples, truth: Samples, rate_hz: int, window_frames: int) -> float:
    """Mean difference of the two mel spectrograms, in dB (window 4096 hears colour, 1024 hears time)."""
    top = float(_mel_power(truth, rate_hz, window_frames).max())
    return float(
        np.abs(_log_mel(stretched, rate_hz, window_frames, top) - _log_mel(truth, rate_hz, window_frames, top)).mean()
    )


def flux_distance(stretched: Samples, truth: Samples, rate_hz: int) -> float:
    """1 - correlation of the two curves of rising level (1024 windows): how much of the rhythm is lost."""
    top = float(_mel_power(truth, rate_hz, 1024).max())
    curves = [_flux(_log_mel(each, rate_hz, 1024, top)) for each in (stretched, truth)]
    return float(1 - np.corrcoef(curves)[0, 1])


def _flux(levels_db: Grid) -> Grid:
    rises: Grid = np.maximum(levels_db - np.roll(levels_db, 1, axis=0), 0).sum(axis=1)
    return rises


def _log_mel(samples: Samples, rate_hz: int, window_frames: int, top: float) -> Grid:
    power = _mel_power(samples, rate_hz, window_frames)
    levels: Grid = 10 * np.log10(power / max(top, 1e-30) + 10 ** (FLOOR_DB / 10))
    return levels


def _mel_power(samples: Samples, rate_hz: int, window_frames: int) -> Grid:
    window = np.hanning(window_frames + 1)[:-1]
    half = window_frames // 2
    power = 0.0
    for channel in samples.T:
        wrapped = np.pad(channel, half, mode="wrap")
        spectra = np.fft.rfft(sliding_window_view(wrapped, window_frames)[:: window_frames // 4] * window, axis=1)
        power = power + spectra.real**2 + spectra.imag**2
    mel: Grid = power @ _filters(rate_hz, window_frames).T
    return mel


def _filters(rate_hz: int, window_frames: int) -> Grid:
    """Triangles evenly spaced on the mel scale of O'Shaughnessy (1987): 2595 log10(1 + f / 700)."""
    mels = np.linspace(*(2595 * np.log10(1 + hz / 700) for hz in (LOWEST_HZ, HIGHEST_HZ)), MEL_BANDS + 2)
    corners_hz = 700 * (10 ** (mels / 2595) - 1)
    bins_hz = np.arange(window_frames // 2 + 1) * rate_hz / window_frames
    low, mid, high = corners_hz[:-2, None], corners_hz[1:-1, None], corners_hz[2:, None]
    filters: Grid = np.maximum(0, np.minimum((bins_hz - low) / (mid - low), (high - bins_hz) / (high - mid)))
    nearest = np.argmin(np.abs(bins_hz - mid), axis=1)
    filters[np.arange(MEL_BANDS), nearest] = np.maximum(filters[np.arange(MEL_BANDS), nearest], 0.5)
    return filters


def onset_errors_ms(found: NDArray[np.int64], wanted_frames: Grid, frames: int, rate_hz: int) -> Grid:
    """For each note that was played, how far the nearest onset found is."""
    if len(found) == 0:
        return np.full(len(wanted_frames), np.inf)
    apart = (found[:, None] - wanted_frames[None, :] + frames / 2) % frames - frames / 2
    errors: Grid = np.abs(apart).min(axis=0) / rate_hz * 1000
    return errors
