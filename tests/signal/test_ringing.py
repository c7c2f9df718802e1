"""What rings on is held against the formula it was made from: a sinusoid that dies away is known at any time."""

from __future__ import annotations

import numpy as np
import pytest

from mixer.signal.ringing import tones_at_end
from mixer.signal.tails import continued
from tests.signal.signals import Samples

RATE_HZ = 44100
# A chord of A minor with its octave and a bell's partial: no period under a second has all of them.
CHORD_HZ = np.array([220.0, 261.63, 329.63, 440.0, 1237.0])
FALLS_DB_PER_SECOND = np.array([12.0, 16.0, 20.0, 30.0, 45.0])


def ringing(seconds: float, hz: np.ndarray = CHORD_HZ, falls: np.ndarray = FALLS_DB_PER_SECOND) -> Samples:
    """Two channels, in which the partials have other sizes and phases."""
    t = np.arange(round(seconds * RATE_HZ))[:, None] / RATE_HZ
    each = np.exp(-falls / 20 * np.log(10) * t) * np.sin(2 * np.pi * hz * t + np.arange(len(hz)))
    sizes = np.array([[0.2, 0.1, 0.15, 0.1, 0.05], [0.1, 0.15, 0.1, 0.12, 0.07]])[:, : len(hz)]
    return (each @ sizes.T).astype(np.float32)


def level_db(samples: Samples) -> float:
    return float(10 * np.log10(np.square(samples, dtype=np.float64).mean() + 1e-30))


@pytest.mark.parametrize("seconds", [0.25, 0.6, 1.4])
def test_a_chord_rings_on_as_it_would_have(seconds: float) -> None:
    frames, wanted = round(seconds * RATE_HZ), round(1.4 * seconds * RATE_HZ)
    truth = ringing(1.5 * seconds)[:wanted]
    longer = continued(truth[:frames], wanted, RATE_HZ)
    assert level_db(longer - truth) < level_db(truth[frames:]) - 30


def test_pitch_and_pace_are_told() -> None:
    found = tones_at_end(ringing(0.6), RATE_HZ)
    assert found is not None
    tones, frames = found
    hz = np.sort(tones.per_frame.imag * RATE_HZ / (2 * np.pi))
    falls = -20 / np.log(10) * tones.per_frame.real[np.argsort(tones.per_frame.imag)] * RATE_HZ
    assert len(hz) == len(CHORD_HZ)
    assert 0 < frames <= 0.6 * RATE_HZ
    assert np.abs(1200 * np.log2(hz / CHORD_HZ)).max() < 0.5
    assert np.abs(falls - FALLS_DB_PER_SECOND).max() < 2


def test_noise_has_no_tones() -> None:
    noise = np.random.default_rng(1).normal(0, 0.1, (RATE_HZ // 2, 2)).astype(np.float32)
    assert tones_at_end(noise, RATE_HZ) is None
    assert tones_at_end(noise * np.float32(0), RATE_HZ) is None
    assert tones_at_end(noise[:700], RATE_HZ) is None


def test_a_tone_in_much_noise_rings_on_in_tune() -> None:
    """A snare: a third of the power is its skin, the rest is noise, which has no period to be laid down by."""
    frames, wanted = round(0.14 * RATE_HZ), round(0.22 * RATE_HZ)
    noise = np.random.default_rng(4).normal(0, 0.1, (wanted, 2)).astype(np.float32)
    t = np.arange(wanted) / RATE_HZ
    wave = np.exp(2j * np.pi * 190.0 * t)
    longer = continued((noise + np.float32(0.1) * wave.real[:, None].astype(np.float32))[:frames], wanted, RATE_HZ)
    # Held against the tone itself in turns of three cycles, it stands as it stood.
    for start in range(frames, wanted - 700, 700):
        heard = 2 * (longer[start : start + 696, 0] * wave[start : start + 696].conj()).mean()
        assert abs(heard - 0.1) < 0.04


def test_what_slides_is_no_steady_tone() -> None:
    t = np.arange(RATE_HZ // 2) / RATE_HZ
    for semitones_per_second, steady in ((0, True), (2, True), (20, False), (40, False)):
        turned = np.cumsum(440 * 2 ** (semitones_per_second * t / 12)) / RATE_HZ
        sound = np.repeat(0.2 * np.sin(2 * np.pi * turned), 2).reshape(-1, 2).astype(np.float32)
        assert (tones_at_end(sound, RATE_HZ) is not None) == steady


def test_tones_beside_many_others_are_told_too() -> None:
    """Partials of low notes stand so closely that what is usual around each of them is the others."""
    hz = 55.0 * np.arange(1, 13)
    t = np.arange(RATE_HZ * 3 // 10)[:, None] / RATE_HZ
    wave = 0.05 * np.sin(2 * np.pi * hz * t + np.arange(12) ** 2).sum(axis=1)
    found = tones_at_end(np.stack([wave, wave], axis=1).astype(np.float32), RATE_HZ)
    assert found is not None
    told = np.sort(found[0].per_frame.imag * RATE_HZ / (2 * np.pi))
    assert len(told) == len(hz)
    assert np.abs(1200 * np.log2(told / hz)).max() < 1


def test_a_short_tail_is_heard_as_a_whole() -> None:
    found = tones_at_end(ringing(0.1165), RATE_HZ)
    assert found is not None
    assert found[1] == 4096


def test_tones_just_below_the_highest_that_can_be() -> None:
    frames, wanted = RATE_HZ // 2, RATE_HZ * 7 // 10
    for hz in (21_000.0, 22_035.0, 22_049.0):
        sound = ringing(0.7, np.array([hz]), np.array([10.0]))
        assert np.abs(continued(sound[:frames], wanted, RATE_HZ)).max() < 0.3


def test_tones_under_noise_ring_on_and_the_noise_stays() -> None:
    frames, wanted = RATE_HZ // 2, RATE_HZ * 7 // 10
    hiss = np.random.default_rng(2).normal(0, 0.01, (wanted, 2)).astype(np.float32)
    tones = ringing(0.7, falls=np.zeros(5))
    longer = continued((tones + hiss)[:frames], wanted, RATE_HZ)
    left = (longer - tones)[frames:]
    assert level_db(left) == pytest.approx(level_db(hiss), abs=2)


def test_what_died_before_the_end_does_not_come_back() -> None:
    """A bass whose filter closes: partials that were loud when the window began, and are gone at its end."""
    frames, wanted = RATE_HZ * 3 // 10, RATE_HZ * 4 // 10
    t, hz = np.arange(wanted)[:, None] / RATE_HZ, 55.0 * np.arange(1, 145)
    closing = 1 + (hz / np.maximum(6000 * np.exp(-t / 0.03), 250)) ** 6
    truth = (
        0.2 * np.exp(-3 * t) * (np.sin(2 * np.pi * hz * t + np.arange(1, 145)) / hz / closing * 55).sum(axis=1)[:, None]
    )
    longer = continued(truth[:frames].astype(np.float32), wanted, RATE_HZ)
    assert tones_at_end(truth[:frames].astype(np.float32), RATE_HZ) is not None

    def high_db(sound: np.ndarray) -> float:
        spectrum = np.abs(np.fft.rfft(sound[frames:, 0] * np.hanning(wanted - frames)))
        return level_db(spectrum[round(1200 * (wanted - frames) / RATE_HZ) :])

    assert high_db(longer) < high_db(truth) + 6


@pytest.mark.parametrize("frames", [1279, 1280, 2559, 2560, 5119, 5120])
def test_a_sound_may_be_hardly_longer_than_a_window_and_a_hop(frames: int) -> None:
    found = tones_at_end(ringing(1.0)[:frames], RATE_HZ)
    assert found is None or found[1] <= frames * 0.8


def test_the_sound_itself_is_not_touched() -> None:
    sound = ringing(0.5)
    longer = continued(sound, len(sound) * 2, RATE_HZ)
    overlay = round(0.008 * RATE_HZ)
    assert np.array_equal(longer[: len(sound) - overlay], sound[:-overlay])
    assert np.isfinite(longer).all()
