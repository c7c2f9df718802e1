"""Tones that are held while hits go by: taken out whole, and stretched without a dip where the hits are."""

import numpy as np
import pytest

from mixer.signal.fit import fit_loop
from mixer.signal.held import held_tones, where_tones_begin
from mixer.signal.onsets import find_onsets
from tests.signal import signals
from tests.signal.signals import RATE_HZ

SECONDS = 4
FREQ_HZ = 440
PLACES = np.arange(8) * RATE_HZ // 2 + 4000


def hits(places, frames):
    """Bursts of noise that die away within a tenth of a second."""
    loop = np.zeros((frames, 2), np.float32)
    burst = signals.noise(RATE_HZ // 8, amplitude=0.3)
    burst *= np.exp(-np.arange(len(burst)) / (0.02 * RATE_HZ))[:, None].astype(np.float32)
    for place in places:
        loop[(round(place) + np.arange(len(burst))) % frames] += burst
    return loop


def tone_under_hits():
    frames = SECONDS * RATE_HZ
    return signals.tone(FREQ_HZ, frames, amplitude=0.1), hits(PLACES, frames)


def struck_twice(ratio, again):
    """Four chords of two beats; two of them die away slowly. They are struck again after a beat and a half."""
    beat = ratio * RATE_HZ * 60 / 108
    total = np.zeros(round(8 * beat))
    t = np.arange(round(0.25 * RATE_HZ)) / RATE_HZ
    knock = 0.05 * np.random.RandomState(3).standard_normal(len(t)) * 10 ** (-3 * t)
    for number, (_, chord) in enumerate(signals.CHORDS):
        for beats, lasts, strength in ((0.0, 1.5, 1.0), (1.5, 0.5, again)):
            frames = round(lasts * beat)
            t = np.arange(frames) / RATE_HZ
            wave = sum(np.sin(2 * np.pi * signals.midi_hz(note) * t + note**2) for note in (*chord, chord[0] + 12))
            wave *= 0.08 * strength * 10 ** (-(8 if number < 2 else 2) * t / 20)
            wave[: len(knock)] += knock[:frames]
            wave[:40] *= np.linspace(0, 1, 40)
            wave[-300:] *= np.linspace(1, 0, 300)
            at = round((2 * number + beats) * beat)
            total[at : at + frames] += wave[: len(total) - at]
    return signals.stereo(total)


def demodulated(samples, freq_hz, seconds=0.05):
    """Level and phase of a tone over time, measured apart from the code under test: turned to 0 Hz and smoothed."""
    turned = samples[:, 0] * np.exp(-2j * np.pi * freq_hz * np.arange(len(samples)) / RATE_HZ)
    kernel = np.hanning(round(seconds * RATE_HZ))
    size = len(turned)
    return np.fft.ifft(np.fft.fft(turned) * np.fft.fft(np.pad(kernel / kernel.sum(), (0, size - len(kernel)))))


def test_tones_and_rest_are_what_was_put_together():
    tone, drums = tone_under_hits()
    found = held_tones(tone + drums, RATE_HZ, PLACES)
    assert np.sqrt(np.mean((found - tone) ** 2)) < 0.05 * np.sqrt(np.mean(tone**2))


def test_a_tone_that_no_hit_falls_into_is_left_where_it_is():
    tone, _ = tone_under_hits()
    assert held_tones(tone, RATE_HZ, np.zeros(0, np.int64)) is None


def test_strings_that_die_away_are_no_held_tones():
    """They lose 26 dB a second, 3/s of their amplitude (20 log10 e = 8.7 dB)."""
    loop = np.zeros((SECONDS * RATE_HZ, 2), np.float32)
    frames = 2 * RATE_HZ
    fall = np.exp(-3 * np.arange(frames) / RATE_HZ)[:, None].astype(np.float32)
    for start in range(0, len(loop), frames):
        loop[start : start + frames] = signals.tone(FREQ_HZ, frames) * fall
    drums = hits(PLACES, len(loop))
    found = held_tones(loop + drums, RATE_HZ, PLACES)
    assert found is None or np.mean(found**2) < 0.1 * np.mean(loop**2)


@pytest.mark.parametrize("ratio", [0.8, 1.25])
def test_a_tone_rings_through_drum_hits_without_a_dip_or_a_jump(ratio):
    tone, drums = tone_under_hits()
    length_frames = round(len(tone) * ratio)
    fitted = fit_loop(tone + drums, RATE_HZ, length_frames)
    expected = hits(PLACES * ratio, length_frames)
    heard = demodulated(fitted - expected, FREQ_HZ)
    level_db = 20 * np.log10(np.abs(heard) / np.abs(demodulated(tone, FREQ_HZ)).mean())
    assert np.abs(level_db).max() < 1
    # 50 ms hold 22 cycles: a phase that begins anew is off by radians there.
    turned = np.abs(np.angle(heard / np.roll(heard, round(0.05 * RATE_HZ))))
    assert turned.max() < 0.3


@pytest.mark.parametrize("ratio", [0.8, 1.25])
def test_hits_over_a_tone_land_where_arithmetic_puts_them_and_are_not_heard_before(ratio):
    tone, drums = tone_under_hits()
    length_frames = round(len(tone) * ratio)
    fitted = fit_loop(tone + drums, RATE_HZ, length_frames)
    found = find_onsets(fitted, RATE_HZ)
    assert np.abs(found - PLACES * ratio).max() < 0.001 * RATE_HZ
    high = np.diff(fitted, 4, axis=0)  # takes 440 Hz down by 97 dB, so that the hits alone are left
    for place in np.round(PLACES * ratio).astype(int):
        before, after = (
            np.mean(np.square(high[place + a : place + b], dtype=np.float64)) for a, b in ((-2205, -44), (0, 2205))
        )
        assert 10 * np.log10(before / after) < -30


@pytest.mark.parametrize("ratio", [0.8, 1.25])
def test_low_drums_under_chords_begin_with_their_attack_and_not_with_the_shadow_of_what_was_taken_out(ratio):
    played = signals.play_both(100)
    places = played.onsets_frames * ratio
    found = find_onsets(fit_loop(played.samples, RATE_HZ, round(len(played.samples) * ratio)), RATE_HZ)
    assert np.abs(found[:, None] - places).min(axis=0).max() < 2


def test_tones_begin_where_chords_change_and_nowhere_else():
    """Four held chords, half a bar each, under eight hits: every other hit meets a new chord."""
    chords = signals.play_chords(120).samples
    places = np.arange(8) * len(chords) // 8
    begins = where_tones_begin(chords, RATE_HZ, places)
    assert set(begins) <= set(places[::2])
    assert len(begins) >= 3


@pytest.mark.parametrize("again", [1.0, 0.8])
@pytest.mark.parametrize("ratio", [0.85, 1.4])
def test_chords_that_ring_are_struck_where_their_hammers_are(ratio, again):
    """Each of four is struck twice, with a knock. Tones taken out would go on through the second at their own pace."""
    source, truth = struck_twice(1.0, again), struck_twice(ratio, again)
    error = fit_loop(source, RATE_HZ, len(truth)) - truth
    assert 10 * np.log10(np.square(error).mean() / np.square(truth).mean()) < -14


def test_both_channels_lose_the_same():
    tone, drums = tone_under_hits()
    loop = (tone + drums[:, :1]) * np.float32([1, -1])
    found = held_tones(loop, RATE_HZ, PLACES)
    assert np.array_equal(found[:, 0], -found[:, 1])


def test_what_drums_bring_at_the_pitch_of_chords_is_not_taken_out_with_them():
    errors_db = []
    for tempo_bpm in (80, 92, 100, 104, 118):
        chords, played = signals.play_chords(tempo_bpm).samples, signals.play_both(tempo_bpm)
        tones = held_tones(played.samples, RATE_HZ, np.round(played.onsets_frames).astype(np.int64))
        assert tones is not None
        errors_db.append(10 * np.log10(np.square(tones - chords).mean() / np.square(chords).mean()))
    assert np.mean(errors_db) < -12.5


@pytest.mark.parametrize("ratio", [0.7, 1.4])
def test_drums_over_chords_die_away_as_they_did(ratio):
    """Taken for held, snares would be 4 dB louder after 0.15 s at 1.4, and 12 dB fainter at 0.7."""
    source, truth = signals.play_both(104), signals.play_both(104 / ratio).samples
    fitted = fit_loop(source.samples, RATE_HZ, len(truth))
    for beat in (1, 3, 5):
        span = round(beat * len(truth) / 8) + np.arange(round(0.12 * RATE_HZ), round(0.18 * RATE_HZ))
        # Differences leave the noise of the snare alone.
        levels_db = [10 * np.log10(np.square(np.diff(each[span], 3, axis=0)).mean()) for each in (fitted, truth)]
        assert levels_db[0] == pytest.approx(levels_db[1], abs=0.5)
