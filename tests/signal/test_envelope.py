"""A voice that is moved keeps its mouth: held against a synthetic voice that sings in the other key."""

from __future__ import annotations

import numpy as np
import pytest

from mixer.signal.envelope import colour_put_back, true_envelope
from mixer.signal.fit import fit_loop
from mixer.signal.mel import distance_db, mel_powers
from tests.signal.signals import RATE_HZ, noise
from tests.signal.voice import VOWELS, formants_of, hum, mouth, sing

FRAMES = 2 * RATE_HZ


def from_truth_db(sound, truth):
    return distance_db(mel_powers(truth, RATE_HZ), mel_powers(sound, RATE_HZ))


@pytest.mark.parametrize(("octaves", "larger"), [(0, 1.0), (1, 1.15)], ids=["low", "high"])
@pytest.mark.parametrize("semitones", [-5, 4])
def test_a_voice_is_nearer_to_itself_singing_in_that_key(semitones, octaves, larger):
    own, truth = (sing(up, octaves=octaves, larger=larger) for up in (0, semitones))
    moved, kept = (fit_loop(own, RATE_HZ, len(own), semitones, keep_colour=keep) for keep in (False, True))
    assert from_truth_db(kept, truth) < 0.75 * from_truth_db(moved, truth)


@pytest.mark.parametrize("vowel", list(VOWELS))
def test_the_envelope_lies_on_the_partials(vowel):
    f0_hz, frames = 110.0, 2048
    bins_hz = np.arange(frames // 2 + 1) * RATE_HZ / frames
    samples = hum(f0_hz, FRAMES, vowel)[:frames, 0]
    levels = np.log(np.abs(np.fft.rfft(samples * np.hanning(frames + 1)[:-1])) + 1e-9)[None].astype(np.float32)
    found_db = true_envelope(levels, round(2 / 3 * RATE_HZ / f0_hz))[0] * 20 / np.log(10)
    partials_hz = f0_hz * np.arange(1, 45)
    wanted_db = 20 * np.log10(np.arange(1, 45) ** -1.6 * np.abs(mouth(partials_hz, formants_of(vowel))))
    apart_db = np.interp(partials_hz, bins_hz, found_db) - wanted_db
    assert np.abs(apart_db - np.median(apart_db)).mean() < 2.0


@pytest.mark.parametrize("semitones", [-6, 3, 6])
def test_pitch_is_kept_within_a_cent(semitones):
    own_hz = round(150 * FRAMES / RATE_HZ) * RATE_HZ / FRAMES
    kept = fit_loop(hum(own_hz, FRAMES), RATE_HZ, FRAMES, semitones, keep_colour=True)[:, 0]
    spectrum = np.abs(np.fft.rfft(kept * np.hanning(FRAMES), 8 * FRAMES))
    for partial in (1, 3, 5):
        wanted_hz = partial * own_hz * 2 ** (semitones / 12)
        near = np.arange(*(int(wanted_hz * x * 8 * FRAMES / RATE_HZ) for x in (0.97, 1.03)))
        top = near[spectrum[near].argmax()]
        left, mid, right = np.log(spectrum[top - 1 : top + 2])
        found_hz = (top + 0.5 * (left - right) / (left - 2 * mid + right)) * RATE_HZ / (8 * FRAMES)
        assert 1200 * np.log2(found_hz / wanted_hz) == pytest.approx(0, abs=1)


def test_a_steady_tone_stays_steady_round_the_join():
    kept = fit_loop(hum(200, FRAMES), RATE_HZ, FRAMES, 4, keep_colour=True)[:, 0]
    twice = np.tile(kept, 2)
    levels = [np.sqrt(np.mean(twice[at : at + 4410] ** 2)) for at in range(0, 2 * FRAMES - 4410, 1103)]
    assert 20 * np.log10(max(levels) / min(levels)) < 0.5


def test_both_channels_are_filtered_alike():
    own = sing()[:FRAMES] * np.float32([1, -0.5])
    kept = colour_put_back(own, RATE_HZ, 5)
    assert np.allclose(kept[:, 1], -0.5 * kept[:, 0], atol=1e-6)


@pytest.mark.parametrize("rate_hz", [8000, 22_050, 96_000])
@pytest.mark.parametrize("kind", ["silence", "noise", "half"])
def test_whatever_comes_goes_through(rate_hz, kind):
    sound = noise(rate_hz) * np.float32(0 if kind == "silence" else 1)
    if kind == "half":
        sound[rate_hz // 2 :] = 0
    kept = colour_put_back(sound, rate_hz, -5)
    assert kept.shape == sound.shape
    assert kept.dtype == np.float32
    assert np.isfinite(kept).all()
    assert np.abs(kept).max() <= 4 * np.abs(sound).max()


def test_what_is_not_moved_is_not_touched():
    own = sing()
    assert fit_loop(own, RATE_HZ, len(own), 0, keep_colour=True) is own
    shorter = [fit_loop(own, RATE_HZ, FRAMES, 0, keep_colour=keep) for keep in (False, True)]
    assert np.array_equal(*shorter)
    assert colour_put_back(own[:1000], RATE_HZ, 5).shape == (1000, 2)
