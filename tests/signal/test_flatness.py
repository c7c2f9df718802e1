"""How much of a sound is noise, beside what is known of noise and of tones."""

from __future__ import annotations

import numpy as np
import pytest
import soundfile

from mixer.loops.library import demo_loops_folder
from mixer.signal.fit import fit_loop
from mixer.signal.flatness import flatness, is_noise
from mixer.signal.windows import window_for
from tests.signal import signals
from tests.signal.signals import RATE_HZ

WINDOW = window_for(RATE_HZ, RATE_HZ)


def test_noise_is_as_flat_as_its_distribution_says():
    """exp(-Euler's constant): the geometric mean of an exponential distribution beside its mean (from memory).
    Neighbouring bins of a Hann window go together, which gives a few hundredths more."""
    noise = np.random.RandomState(3).standard_normal((5 * RATE_HZ, 2)).astype(np.float32)
    assert flatness(noise, WINDOW) == pytest.approx(np.exp(-np.euler_gamma), abs=0.04)
    assert flatness(noise * np.float32(1e-4), WINDOW) == pytest.approx(flatness(noise, WINDOW), abs=1e-3)
    assert is_noise(noise, WINDOW)


@pytest.mark.parametrize("ratio", [0.7, 1.25, 1.4])
def test_rain_that_was_stretched_is_still_noise(ratio):
    rain, rate_hz = soundfile.read(demo_loops_folder() / "quay-rain.flac", dtype="float32", always_2d=True)
    rain = rain[: 4 * rate_hz]
    assert is_noise(fit_loop(rain, rate_hz, round(len(rain) * ratio)), window_for(rate_hz, len(rain)))


@pytest.mark.parametrize("play", [signals.play_drums, signals.play_plucks, signals.play_chords, signals.play_both])
def test_what_is_played_is_not_noise(play):
    assert not is_noise(play(104).samples, WINDOW)


def test_a_tone_is_not_flat_and_silence_is_nothing():
    assert flatness(signals.tone(441, RATE_HZ), WINDOW) < 0.01
    assert flatness(np.zeros((RATE_HZ, 2), np.float32), WINDOW) == 0
    assert not is_noise(np.ones((100, 2), np.float32), WINDOW)


def test_bursts_and_clicks_are_not_noise():
    sound = np.random.RandomState(3).standard_normal((5 * RATE_HZ, 2)).astype(np.float32)
    sound[RATE_HZ : 2 * RATE_HZ] = 0
    assert not is_noise(sound, WINDOW)
    click = np.zeros((len(WINDOW), 2), np.float32)
    click[len(click) // 2] = 1
    assert not is_noise(click, WINDOW)
