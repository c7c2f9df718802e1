"""Dither against the theory of non-subtractive TPDF dither.

Lipshitz, Wannamaker, Vanderkooy, "Quantization and dither: a theoretical survey", JAES 40(5), 1992 (from memory):
the error of rounding after it has mean 0 and power LSB^2/4, whatever the signal; the noise itself has LSB^2/6.
"""

import numpy as np
import pytest

from mixer.signal.dither import to_pcm16, to_pcm24, triangular_noise

FRAMES = 1 << 18
# Standard error of a mean square of this many values is under 0.2 %; five of them.
SHARE = 0.01


def test_noise_is_triangular_two_steps_wide():
    noise = triangular_noise(0, FRAMES)
    assert np.abs(noise).max() < 1.0
    assert np.abs(noise).max() > 0.99
    assert noise.var() == pytest.approx(1 / 6, rel=SHARE)
    inner = np.mean(np.abs(noise) < 0.5)
    assert inner == pytest.approx(0.75, abs=0.005)  # a triangle has three quarters of its area there


TIME = np.arange(FRAMES) / 44_100
SOUNDS = {
    "silence": np.zeros(FRAMES),
    "a third of a step, steady": np.full(FRAMES, 1 / 3 / 32768),
    "half a step, steady": np.full(FRAMES, 0.5 / 32768),
    "a sine of half a step": 0.5 / 32768 * np.sin(2 * np.pi * 441 * TIME),
    "a loud sine": 0.8 * np.sin(2 * np.pi * 997 * TIME),
}


@pytest.mark.parametrize("name", SOUNDS)
def test_error_has_no_mean_and_a_quarter_step_squared_whatever_the_sound(name):
    stereo = np.stack([SOUNDS[name]] * 2, axis=1).astype(np.float32)
    error = to_pcm16(stereo, 0) - stereo.astype(np.float64) * 32768
    assert error.var() == pytest.approx(0.25, rel=SHARE)
    assert error.mean() == pytest.approx(0.0, abs=0.005)


def test_floor_of_16_bits():
    # -93.3 dBFS where a full-scale sine is 0: 10 log10 of (LSB^2/4) / (1/2), LSB = 2^-15.
    power = np.mean((to_pcm16(np.zeros((FRAMES, 2), np.float32), 0) / 32768.0) ** 2)
    assert 10 * np.log10(power / 0.5) == pytest.approx(-93.3, abs=0.1)


def test_floor_of_24_bits():
    power = np.mean((to_pcm24(np.zeros((FRAMES, 2), np.float32), 0) / 8388608.0) ** 2)
    assert 10 * np.log10(power / 0.5) == pytest.approx(-141.5, abs=0.1)


def test_a_sine_below_one_step_is_kept_and_has_no_harmonics():
    # Undithered, a sine of 0.4 steps would be rounded to nothing.
    count = 1 << 17
    sound = 0.4 / 32768 * np.sin(2 * np.pi * 1024 * np.arange(count) / count)
    spectrum = np.abs(np.fft.rfft(to_pcm16(np.stack([sound, sound], 1).astype(np.float32), 0)[:, 0])) / count * 2
    assert spectrum[1024] == pytest.approx(0.4, rel=0.02)
    noise = np.sqrt(np.mean(spectrum[3:] ** 2))
    assert spectrum[[2048, 3072, 4096, 5120]].max() < 4 * noise


def test_noise_is_white_and_not_the_same_in_both_channels():
    noise = triangular_noise(0, FRAMES)
    spectrum = np.abs(np.fft.rfft(noise[:, 0].reshape(-1, 1024), axis=1)) ** 2
    bands = spectrum.mean(axis=0)[1:-1].reshape(-1, 7).mean(axis=1)
    assert bands.max() / bands.min() < 1.3
    assert abs(np.corrcoef(noise.T)[0, 1]) < 0.01


def test_noise_does_not_repeat():
    noise = triangular_noise(0, 1 << 20)[:, 0].astype(np.float64)
    spectrum = np.fft.rfft(noise, 1 << 21)
    correlation = np.fft.irfft(np.abs(spectrum) ** 2)[1 : 1 << 20] / (noise**2).sum()
    assert np.abs(correlation).max() < 0.05
