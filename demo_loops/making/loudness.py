"""Loudness of a loop for its card: ITU-R BS.1770-5, as heard when the loop goes round once.

The program has a meter of its own; these loops are made without it, so that they can be rebuilt with numpy alone.
K-weighting is done at 48 kHz's printed coefficients re-tuned to 44.1 kHz by their analogue prototypes, in the
frequency domain.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from demo_loops.making.ring import RATE_HZ, Sound

Response = npt.NDArray[np.complex128]

OFFSET_LU = -0.691  # BS.1770-5, equation 2
ABSOLUTE_GATE_LUFS = -70.0
RELATIVE_GATE_LU = -10.0


def _shelf(hz: Sound) -> Response:
    # High shelf, +4 dB; centre and quality as derived from the printed coefficients by B. De Man (2014).
    gain, middle_hz, quality = 10 ** (3.999843853973347 / 20), 1681.974450955533, 0.7071752369554196
    warped = np.tan(np.pi * middle_hz / RATE_HZ)
    s = 1j * np.tan(np.pi * np.minimum(hz, RATE_HZ / 2 - 1) / RATE_HZ) / warped
    return (gain * s**2 + gain**0.4996667741545416 * s / quality + 1) / (s**2 + s / quality + 1)


def _low_cut(hz: Sound) -> Response:
    warped = np.tan(np.pi * 38.13547087602444 / RATE_HZ)
    s = 1j * np.tan(np.pi * np.minimum(hz, RATE_HZ / 2 - 1) / RATE_HZ) / warped
    return s**2 / (s**2 + s / 0.5003270373238773 + 1)


def integrated_lufs(sound: Sound) -> float:
    """Integrated loudness of samples of shape (frames, 2) at 44.1 kHz."""
    hz = np.fft.rfftfreq(len(sound), 1 / RATE_HZ)
    weighted = np.fft.irfft(np.fft.rfft(sound, axis=0) * (_shelf(hz) * _low_cut(hz))[:, None], len(sound), axis=0)
    total = np.concatenate([[0.0], np.cumsum(np.sum(weighted**2, axis=1))])
    block, step = round(0.4 * RATE_HZ), round(0.1 * RATE_HZ)
    starts = np.arange(0, len(sound) - block + 1, step)
    powers = (total[starts + block] - total[starts]) / block
    levels = OFFSET_LU + 10 * np.log10(np.maximum(powers, 1e-12))
    kept = powers[levels > ABSOLUTE_GATE_LUFS]
    gate = OFFSET_LU + 10 * np.log10(kept.mean()) + RELATIVE_GATE_LU
    kept = kept[OFFSET_LU + 10 * np.log10(kept) > gate]
    return float(OFFSET_LU + 10 * np.log10(kept.mean()))
