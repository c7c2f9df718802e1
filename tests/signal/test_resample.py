"""A circular loop at another number of frames is what the Fourier series of the loop says it is."""

import numpy as np
import pytest

from mixer.signal.resample import resample_loop
from tests.signal import signals


def by_fourier(samples, length_frames):
    """The reference, from the definition: the same Fourier coefficients, evaluated at other places."""
    spectrum = np.fft.rfft(samples.astype(np.float64), axis=0)
    return np.fft.irfft(spectrum, length_frames, axis=0) * (length_frames / len(samples))


@pytest.mark.parametrize("length_frames", [10007, 11025, 20000, 21999, 22051, 30011, 48000])
def test_equals_its_fourier_series(length_frames):
    """Tones up to 3 kHz at 22.05 kHz; 3e-4 of full scale is 70 dB down."""
    loop = sum(signals.tone(freq_hz, 22050, 22050, 0.2) for freq_hz in (100, 777, 3000))
    resampled = resample_loop(loop, length_frames)
    assert resampled.shape == (length_frames, 2)
    assert resampled.dtype == np.float32
    assert np.abs(resampled - by_fourier(loop, length_frames)).max() < 3e-4


def test_same_length_is_untouched():
    loop = signals.noise(1000)
    assert resample_loop(loop, 1000) is loop


def test_one_frame_and_few_frames():
    assert np.allclose(resample_loop(np.full((1, 2), 0.5, np.float32), 10), 0.5, atol=1e-4)
    assert resample_loop(signals.noise(7), 5).shape == (5, 2)
