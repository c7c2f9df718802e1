"""A loop fitted to another length and pitch keeps its length, pitch, stereo, hits and join.

Weak spots of other stretchers that these tests are aimed at, as measured with the library python-stretch 0.3.1:
loop edges 0.9 and 0.7 dB low, pitch up to 13 cents off, energy before a drum hit only 18 to 31 dB below it.
"""

import hashlib
import os
import subprocess
import sys
import tracemalloc
from pathlib import Path

import numpy as np
import pytest

from benchmarks.stretch.attacks import Attacks
from mixer.signal.fit import fit_loop
from tests.signal import signals
from tests.signal.signals import RATE_HZ

PLAYERS = [signals.play_drums, signals.play_plucks, signals.play_chords, signals.play_both]
# A partial's pitch must be right to this; a trained ear hears about 5 cents (from memory).
PITCH_CENTS = 2.0


def level_db(samples):
    return 10 * np.log10(np.mean(np.square(samples, dtype=np.float64)) + 1e-20)


def cents_off(samples, freq_hz, rate_hz=RATE_HZ):
    """Measured apart from the code under test: the slope of the phase of the tone against a steady one."""
    frames = len(samples)
    turned = samples[:, 0] * np.exp(-2j * np.pi * freq_hz * np.arange(frames) / rate_hz)
    kernel = np.hanning(rate_hz // 8)
    baseband = np.convolve(turned, kernel / kernel.sum(), "same")[frames // 4 : 3 * frames // 4]
    drift_hz = np.diff(np.unwrap(np.angle(baseband))).mean() * rate_hz / (2 * np.pi)
    return 1200 * np.log2(1 + drift_hz / freq_hz)


def bursts(places, frames, rate_hz=RATE_HZ, strengths=None):
    """Short bursts of noise out of silence: where each starts can be seen without an onset detector."""
    loop = np.zeros((frames, 2), np.float32)
    burst = signals.noise(round(0.03 * rate_hz), amplitude=0.2)
    burst *= np.exp(-np.arange(len(burst)) / (0.006 * rate_hz))[:, None].astype(np.float32)
    burst[0] = 0.3
    for number, place in enumerate(places):
        loop[(round(place) + np.arange(len(burst))) % frames] += burst * np.float32(
            strengths[number] if strengths else 1
        )
    return loop


def burst_starts(samples, rate_hz=RATE_HZ):
    """First frames above a threshold after at least 15 ms below it."""
    loud = np.flatnonzero(np.abs(samples).max(axis=1) > 0.004)
    return loud[np.diff(loud, prepend=loud[-1] - len(samples)) > 0.015 * rate_hz]


@pytest.mark.parametrize("play", PLAYERS)
def test_a_loop_that_fits_passes_through_bit_for_bit(play):
    loop = play(96).samples
    assert fit_loop(loop, RATE_HZ, len(loop)).tobytes() == loop.tobytes()


@pytest.mark.parametrize("play", PLAYERS)
@pytest.mark.parametrize(("ratio", "semitones"), [(0.7, 0), (0.93, 2), (1.07, -5), (1.4, 0)])
def test_length_is_exact_also_when_odd(play, ratio, semitones):
    loop = play(140).samples
    length_frames = int(len(loop) * ratio) | 1
    fitted = fit_loop(loop, RATE_HZ, length_frames, semitones)
    assert fitted.shape == (length_frames, 2)
    assert fitted.dtype == np.float32
    assert np.isfinite(fitted).all()


@pytest.mark.parametrize("ratio", [0.8, 0.9, 1.1, 4 / 3])
def test_hits_land_where_arithmetic_puts_them(ratio):
    """Sixteenths, a roll of 60 ms steps and ghost notes: 1 ms at the median, 3 ms for 95 of 100."""
    beat = 0.5 * RATE_HZ
    places = [0, 0.25, 0.5, 1, 1.5, 1.75, 2, 2.12, 2.24, 2.36, 2.48, 3, 3.25, 3.5]
    strengths = [1, 0.1, 1, 1, 0.1, 0.7, 1, 0.6, 0.6, 0.7, 0.8, 1, 0.08, 1]
    loop = bursts([p * beat for p in places], round(4 * beat), strengths=strengths)
    length_frames = round(len(loop) * ratio)
    found = burst_starts(fit_loop(loop, RATE_HZ, length_frames))
    exact = np.array(places) * beat * length_frames / len(loop)
    apart_ms = np.abs((found[:, None] - exact + length_frames / 2) % length_frames - length_frames / 2)
    errors_ms = apart_ms.min(axis=0) / RATE_HZ * 1000
    assert np.median(errors_ms) < 1
    assert np.percentile(errors_ms, 95) < 3


@pytest.mark.parametrize("ratio", [0.8, 1.25])
def test_attacks_are_the_source_sample_for_sample(ratio):
    loop = bursts([0, 11025, 22050, 33075], 44100)
    fitted = fit_loop(loop, RATE_HZ, round(44100 * ratio))
    for start in burst_starts(fitted):
        assert np.array_equal(fitted[start : start + 441], loop[:441])


@pytest.mark.parametrize("ratio", [0.8, 1.25])
def test_nothing_is_heard_before_a_hit(ratio):
    """At least 40 dB between the 50 ms after a hit and the 50 ms before it, where the source is silent there."""
    loop = bursts([4410, 26460], 44100)
    fitted = fit_loop(loop, RATE_HZ, round(44100 * ratio))
    starts = burst_starts(fitted)
    assert len(starts) == 2
    for start in starts:
        before, after = (
            fitted.take(np.arange(start + a, start + b), 0, mode="wrap") for a, b in ((-2205, 0), (0, 2205))
        )
        assert level_db(before) < level_db(after) - 40


@pytest.mark.parametrize("note", [signals.slow_speaking(-30), signals.swelling()])
@pytest.mark.parametrize("ratio", [0.7, 0.85, 1.2, 1.4])
def test_nothing_is_heard_before_a_note_that_starts_softly_out_of_silence(note, ratio):
    """In the last 20 ms before it at least 40 dB under its first 200 ms; and it begins sample for sample."""
    places = np.array([0.2, 1.0, 1.7]) * RATE_HZ
    loop = np.zeros(round(2.5 * RATE_HZ))
    for place in places:
        signals._add(loop, place, note)
    fitted = fit_loop(signals.stereo(loop), RATE_HZ, round(len(loop) * ratio))[:, 0]
    for start in np.round(places * ratio).astype(int):
        assert level_db(fitted[start - 882 : start - 5]) < level_db(fitted[start : start + 8820]) - 40
        apart = [np.abs(fitted[start + late : start + late + 882] - note[:882]).max() for late in range(-4, 5)]
        assert min(apart) < 1e-6


@pytest.mark.parametrize("ratio", [0.7, 1.4])
def test_silence_between_notes_that_swing_further_up_than_down_is_silence(ratio):
    """That is no offset of the loop, to be put back. The 50 ms before each are 60 dB under its first 100 ms."""
    t = np.arange(round(0.45 * RATE_HZ)) / RATE_HZ
    reed = np.square(np.sin(np.pi * 98 * t)) ** 4 * np.minimum(1, t / 0.005) * np.exp(-12 * np.maximum(0, t - 0.25))
    places = np.arange(3) * RATE_HZ
    loop = np.zeros(3 * RATE_HZ)
    for place in places:
        signals._add(loop, place, 0.3 * reed * np.clip((0.4 - t) / 0.02, 0, 1))
    fitted = fit_loop(signals.stereo(loop), RATE_HZ, round(len(loop) * ratio))
    for start in np.round(places * ratio).astype(int):
        before, after = (
            fitted.take(np.arange(start + a, start + b), 0, mode="wrap") for a, b in ((-2205, 0), (0, 4410))
        )
        assert level_db(before) < level_db(after) - 60


@pytest.mark.parametrize("ratio", [1.15, 1.33])
def test_slower_plucks_ring_on_instead_of_leaving_gaps(ratio):
    """The last 30 ms before each note are as loud as they would be if it had been played so, within 3 dB."""
    rate_per_second = 8.0
    ring = np.exp(-np.arange(2 * RATE_HZ) * rate_per_second / RATE_HZ) * np.sin(np.arange(2 * RATE_HZ) * 0.07)
    loop = np.zeros(RATE_HZ)
    for start in (0, RATE_HZ // 2):
        loop[(start + np.arange(RATE_HZ // 2)) % RATE_HZ] += ring[: RATE_HZ // 2]
    length_frames = round(RATE_HZ * ratio)
    fitted = fit_loop(signals.stereo(0.3 * loop), RATE_HZ, length_frames)
    note_end = length_frames // 2 - 441
    expected = ring[note_end - 1323 : note_end] * 0.3
    assert level_db(fitted[note_end - 1323 : note_end, 0]) == pytest.approx(level_db(expected), abs=3)


@pytest.mark.parametrize("ratio", [0.8, 1.25])
def test_a_note_is_let_go_where_its_player_would_and_dies_away_as_it_did(ratio):
    """Half a second held, losing 4 dB, then gone at 300 dB a second: within 1 dB and 10 ms of the same played so."""

    def played(seconds, frames):
        t = np.arange(frames) / RATE_HZ
        fall_db = 8 * np.minimum(t, seconds) + 300 * np.maximum(t - seconds, 0)
        return 0.3 * np.minimum(t / 0.005, 1) * 10 ** (-fall_db / 20) * np.sin(2 * np.pi * 110 * t)

    loop = np.concatenate([played(0.5, RATE_HZ), played(0.5, RATE_HZ)])
    fitted = fit_loop(signals.stereo(loop), RATE_HZ, round(len(loop) * ratio))
    truth = played(0.5 * ratio, round(RATE_HZ * ratio))
    levels_db = [
        [level_db(x[i : i + 1200]) for i in range(2400, len(truth) - 1200, 400)] for x in (fitted[:, 0], truth)
    ]
    fitted_db, truth_db = np.array(levels_db)
    held = round((0.5 * ratio - 0.05) * RATE_HZ / 400) - 6
    assert np.abs(fitted_db - truth_db)[:held].max() < 1
    gone = [np.flatnonzero(levels > -40)[-1] * 400 / RATE_HZ for levels in (fitted_db, truth_db)]
    assert gone[0] == pytest.approx(gone[1], abs=0.01)


@pytest.mark.parametrize("freq_hz", [55, 220, 880, 1760])
@pytest.mark.parametrize(("ratio", "semitones"), [(0.7, 0), (1.4, 0), (1.0, 6), (0.9, -6), (1.2, 3), (0.85, -1)])
def test_pitch_follows_equal_temperament(freq_hz, ratio, semitones):
    """A semitone is the ratio 2 ** (1 / 12)."""
    loop = signals.tone(freq_hz, 2 * RATE_HZ)
    wanted_hz = signals.tone_hz(freq_hz, 2 * RATE_HZ) * 2 ** (semitones / 12)
    fitted = fit_loop(loop, RATE_HZ, int(len(loop) * ratio) | 1, semitones)
    assert abs(cents_off(fitted, wanted_hz)) < PITCH_CENTS


def test_notes_of_a_played_loop_keep_their_pitch():
    """A held A under plucks of other notes, which cut it into pieces; three ratios."""
    loop = signals.tone(440, 4 * RATE_HZ) + 0.5 * signals.play_plucks(120).samples
    for ratio in (0.8, 1.1, 1.3):
        assert abs(cents_off(fit_loop(loop, RATE_HZ, round(len(loop) * ratio)), 440)) < PITCH_CENTS


@pytest.mark.parametrize("play", PLAYERS)
@pytest.mark.parametrize("semitones", [0, 4])
def test_mono_stays_mono_and_opposite_stays_opposite(play, semitones):
    loop = play(120).samples
    length_frames = round(len(loop) * 1.12)
    mono = fit_loop(loop, RATE_HZ, length_frames, semitones)
    opposite = fit_loop(loop * np.float32([1, -1]), RATE_HZ, length_frames, semitones)
    assert np.array_equal(mono[:, 0], mono[:, 1])
    assert np.array_equal(opposite[:, 0], -opposite[:, 1])
    # One channel alone is fitted, where both are the same, as each of the two is.
    assert np.abs(mono[:, 0] - opposite[:, 0]).max() < 1e-6
    assert level_db(opposite) == pytest.approx(level_db(loop), abs=2)


@pytest.mark.parametrize("play", PLAYERS)
@pytest.mark.parametrize(("ratio", "odd"), [(0.85, 0), (1.2, 0), (1.2, 1)])
def test_the_join_is_like_any_other_place(play, ratio, odd):
    """Beside the same loop fitted three times as long: the first and last 20 ms differ by no more than 0.3 dB, or than
    nine of ten other places do (where tones meet, two good results beat differently); no larger jump."""
    loop = play(110).samples
    loop = loop[: len(loop) // 2 * 2 - odd]  # tones are found at half the rate, and an odd frame is spread
    length_frames = round(len(loop) * ratio) // 2 * 2 + odd
    once = fit_loop(loop, RATE_HZ, length_frames)
    thrice = fit_loop(np.tile(loop, (3, 1)), RATE_HZ, 3 * length_frames)[length_frames : 2 * length_frames]
    edge = RATE_HZ // 50
    parts = [slice(0, edge), slice(-edge, None), *(slice(at, at + edge) for at in range(edge, len(once) - edge, edge))]
    apart_db = np.abs([level_db(once[part]) - level_db(thrice[part]) for part in parts])
    assert apart_db[:2].max() <= max(0.3, np.percentile(apart_db[2:], 90))
    assert np.abs(once[0] - once[-1]).max() <= np.abs(np.diff(once, axis=0)).max()


@pytest.mark.parametrize("ratio", [0.7, 1.4])
def test_hits_over_held_chords_are_where_they_would_be_played(ratio):
    """Their attacks are held against those of the same notes played so; between hits no attack is as like as 0.45."""
    source, played = signals.play_both(104), signals.play_both(104 / ratio)
    fitted = fit_loop(source.samples, RATE_HZ, len(played.samples))
    heard = Attacks(played.samples, RATE_HZ, played.onsets_frames).heard_in(fitted)
    assert np.isfinite(heard.late_ms).mean() > 0.9
    assert np.nanpercentile(np.abs(heard.late_ms), 90) < 1


@pytest.mark.parametrize("ratio", [0.7, 0.85, 1.2, 1.4])
def test_noise_is_as_loud_and_as_bright_as_it_was(ratio):
    """White noise has the same power in every band (by definition): no octave gains or loses 0.5 dB."""
    noise = np.random.RandomState(5).standard_normal((4 * RATE_HZ, 2)).astype(np.float32) * np.float32(0.1)
    fitted = fit_loop(noise, RATE_HZ, round(len(noise) * ratio))
    for low_hz in (200, 800, 3200, 9600):
        levels = []
        for sound in (noise, fitted):
            power = (np.abs(np.fft.rfft(sound, axis=0)) ** 2).sum(axis=1) / len(sound) ** 2
            first, last = (round(hz * len(sound) / RATE_HZ) for hz in (low_hz, 2 * low_hz))
            levels.append(10 * np.log10(power[first:last].sum()))
        assert levels[1] == pytest.approx(levels[0], abs=0.5)


@pytest.mark.parametrize("freq_hz", [60, 333, 1500])
def test_a_drone_does_not_sag_at_the_join(freq_hz):
    loop = signals.tone(freq_hz, RATE_HZ)
    fitted = fit_loop(loop, RATE_HZ, round(RATE_HZ * 1.137))
    levels = [level_db(np.roll(fitted, shift, axis=0)[: RATE_HZ // 20]) for shift in range(0, len(fitted), 1000)]
    assert max(levels) - min(levels) < 0.3 + 2 * (freq_hz < 100)  # 50 ms hold only three cycles of 60 Hz


def test_silence_stays_silence():
    assert not fit_loop(np.zeros((RATE_HZ, 2), np.float32), RATE_HZ, 50001, 3).any()


def test_a_constant_offset_stays_what_it_is():
    loop = np.full((RATE_HZ, 2), 0.25, np.float32)
    assert np.allclose(fit_loop(loop, RATE_HZ, 50001), 0.25, atol=1e-4)


@pytest.mark.parametrize("ratio", [0.75, 1.3])
def test_a_single_click_stays_one_click(ratio):
    loop = np.zeros((RATE_HZ, 2), np.float32)
    loop[10000] = 0.5
    fitted = fit_loop(loop, RATE_HZ, round(RATE_HZ * ratio))
    assert np.abs(fitted).max() == pytest.approx(0.5, abs=0.01)
    assert np.argmax(np.abs(fitted[:, 0])) == pytest.approx(10000 * ratio, abs=44)
    assert np.count_nonzero(np.abs(fitted[:, 0]) > 0.02) < 10


@pytest.mark.parametrize("rate_hz", [22050, 44100, 48000, 96000])
@pytest.mark.parametrize("play", PLAYERS)
def test_very_short_loops_at_any_rate(play, rate_hz):
    loop = np.ascontiguousarray(play(150, rate_hz).samples[: round(0.4 * rate_hz)])
    for ratio in (0.71, 1.39):
        fitted = fit_loop(loop, rate_hz, round(len(loop) * ratio))
        assert np.isfinite(fitted).all()
        assert level_db(fitted) == pytest.approx(level_db(loop), abs=4)


@pytest.mark.parametrize("frames", [1, 2, 63, 100, 1000])
def test_a_handful_of_frames_is_no_problem(frames):
    assert np.isfinite(fit_loop(signals.noise(frames), RATE_HZ, frames + 37, 2)).all()


def test_wrong_shapes_and_lengths_are_refused():
    with pytest.raises(ValueError, match="shape"):
        fit_loop(np.zeros(100, np.float32), RATE_HZ, 90)
    with pytest.raises(ValueError, match="0 frames"):
        fit_loop(np.zeros((100, 2), np.float32), RATE_HZ, 0)


def test_same_bytes_whatever_the_number_of_threads():
    code = (
        "import hashlib; from tests.signal.signals import play_both; from mixer.signal.fit import fit_loop;"
        "print(hashlib.sha256(fit_loop(play_both(120).samples, 44100, 200001, 2).tobytes()).hexdigest())"
    )
    here = hashlib.sha256(fit_loop(signals.play_both(120).samples, RATE_HZ, 200001, 2).tobytes()).hexdigest()
    root = Path(__file__).resolve().parents[2]
    for threads in ("1", "2"):
        names = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")
        environment = {**os.environ, "PYTHONPATH": str(root), **dict.fromkeys(names, threads)}
        run = subprocess.run([sys.executable, "-c", code], env=environment, cwd=root, capture_output=True, check=True)
        assert run.stdout.decode().strip() == here


def test_memory_is_bounded():
    """A minute of stereo: the result is 25 MB, and no more than 200 MB are ever needed at once."""
    loop = np.tile(signals.tone(220, RATE_HZ), (60, 1))
    tracemalloc.start()
    fit_loop(loop, RATE_HZ, round(len(loop) * 1.2))
    peak_bytes = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak_bytes < 200e6
