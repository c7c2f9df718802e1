"""How the power of a circular loop is spread over time and over the bands of hearing.

In goes a loop, float32, shape (frames, 2); out comes its K-weighted power in each of the 24 critical bands, window by
window. The weighting is that of ITU-R BS.1770-4 (`kweighting`), applied to spectra, so that all bands together are the
power from which loudness is made. Band limits: E. Zwicker, "Subdivision of the audible frequency range into critical
bands", JASA 33, 248 (1961), as
transcribed in the Auditory Modeling Toolbox; the highest band reaches as far as the sound does.

Deliberately left out: masking between bands, curves of equal loudness. Bars of one song are compared with each other.
"""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from mixer.signal.blocks import Samples, as_stereo
from mixer.signal.kweighting import Biquad, high_pass, shelf

LIMITS_HZ = (
    *(100, 200, 300, 400, 510, 630, 770, 920, 1080, 1270, 1480, 1720),
    *(2000, 2320, 2700, 3150, 3700, 4400, 5300, 6400, 7700, 9500, 12000),
)
"""Where one critical band ends and the next begins."""
BANDS = len(LIMITS_HZ) + 1
WINDOW_SECONDS = 0.046
HOPS_PER_WINDOW = 4
_WINDOWS_AT_ONCE = 256

Powers = NDArray[np.float64]


def band_powers(samples: Samples, rate_hz: int) -> Powers:
    """K-weighted power of a circular loop, window by window and band by band.

    Parameters
    ----------
    samples : float32 array, shape (frames, 2), circular, at least one frame
    rate_hz : int >= 32000, frames per second

    Returns
    -------
    float64 array, shape (hops, 24) : mean power around each hop, both channels added; hop k of n is centred on frame
        k x frames / n. The mean over the hops, added over the bands, is the loop's mean K-weighted power
    """
    loop = as_stereo(samples)
    window_frames = 1 << round(np.log2(WINDOW_SECONDS * rate_hz))
    hops = max(1, round(len(loop) * HOPS_PER_WINDOW / window_frames))
    starts = np.floor(np.arange(hops) * len(loop) / hops + 0.5).astype(np.int64)
    window = np.hanning(window_frames + 1)[:-1].astype(np.float32)
    # A bin between the first and the last stands for two (one is the mirror of the other).
    scale = 2 * _weight(rate_hz, window_frames) / (window_frames * float(np.square(window).sum()))
    edges = np.searchsorted(np.fft.rfftfreq(window_frames, 1 / rate_hz), (0, *LIMITS_HZ))
    powers = np.zeros((hops, BANDS))
    for channel in loop.T:
        around = np.resize(np.roll(channel, window_frames // 2), len(channel) + window_frames)
        views = sliding_window_view(around, window_frames)
        for first in range(0, hops, _WINDOWS_AT_ONCE):
            spectra = np.fft.rfft(views[starts[first : first + _WINDOWS_AT_ONCE]] * window, axis=1)
            weighted = (spectra.real**2 + spectra.imag**2) * scale
            powers[first : first + _WINDOWS_AT_ONCE] += np.add.reduceat(weighted, edges, axis=1)
    return powers


def _weight(rate_hz: int, window_frames: int) -> Powers:
    """Factor on the power of each bin of a spectrum."""
    turn = np.exp(-2j * np.pi * np.arange(window_frames // 2 + 1) / window_frames)
    return np.asarray(_gain(shelf(rate_hz), turn) * _gain(high_pass(rate_hz), turn))


def _gain(stage: Biquad, turn: NDArray[np.complex128]) -> Powers:
    above, below = (np.polyval(side[::-1], turn) for side in (stage.b, stage.a))
    return np.asarray(np.abs(above / below) ** 2)
