"""Onsets are found where notes were put: loud, quiet and close together; and nowhere else."""

import numpy as np
import pytest

from mixer.signal.onsets import find_onsets
from tests.signal import signals
from tests.signal.signals import RATE_HZ


def apart_ms(found, exact, frames, rate_hz):
    """For each exact place the distance to the nearest onset found, round the circle."""
    return np.abs((found[:, None] - exact + frames / 2) % frames - frames / 2).min(axis=0) / rate_hz * 1000


@pytest.mark.parametrize("rate_hz", [22050, 44100, 48000, 96000])
@pytest.mark.parametrize("tempo_bpm", [70, 110, 150])
def test_drums_with_ghost_notes_and_a_roll(rate_hz, tempo_bpm):
    played = signals.play_drums(tempo_bpm, rate_hz)
    found = find_onsets(played.samples, rate_hz)
    assert len(found) == len(played.onsets_frames)
    assert apart_ms(found, played.onsets_frames, len(played.samples), rate_hz).max() < 0.5


@pytest.mark.parametrize("step_seconds", [0.06, 0.08])
def test_rolls(step_seconds):
    loop = np.zeros(2 * RATE_HZ)
    exact = 10000 + np.arange(8) * step_seconds * RATE_HZ
    for place in exact:
        signals._add(loop, place, signals.snare(RATE_HZ))
    found = find_onsets(signals.stereo(loop), RATE_HZ)
    assert len(found) == len(exact)
    assert apart_ms(found, exact, len(loop), RATE_HZ).max() < 3


def test_hats_under_a_chord():
    played = signals.play_both(100)
    found = find_onsets(played.samples, RATE_HZ)
    assert apart_ms(found, played.onsets_frames, len(played.samples), RATE_HZ).max() < 3


@pytest.mark.parametrize("strength", [0.05, 0.02])
def test_soft_notes_under_a_loud_one_that_rings(strength):
    t = np.arange(3 * RATE_HZ) / RATE_HZ
    string = 0.3 * sum(np.sin(2 * np.pi * 196 * h * t + h) / h for h in range(1, 9)) * np.exp(-t / 2)
    loop = string * (1 - np.exp(-t * 2000))
    exact = 20000 + 12345 * np.arange(8)
    for place in exact:
        signals._add(loop, place, strength * signals.pluck(76, RATE_HZ, 0.2))
    found = find_onsets(signals.stereo(loop), RATE_HZ)
    assert apart_ms(found, exact, len(loop), RATE_HZ).max() < 3.5


def test_a_low_tone_that_is_let_go_begins_nothing():
    """All that a saw of 60 Hz holds falls in 30 ms; it is heard from its start only."""
    t = np.arange(3 * RATE_HZ) / RATE_HZ
    saw = 0.2 * (2 * (60 * t % 1) - 1) * np.clip((1.2 - t) / 0.03, 0, 1)
    found = find_onsets(signals.stereo(saw), RATE_HZ)
    assert len(found) == 1
    assert min(found[0], len(saw) - found[0]) < 0.0035 * RATE_HZ


@pytest.mark.parametrize("soft_db", [-30, -40, None])
@pytest.mark.parametrize("rate_hz", [22050, 44100])
def test_a_note_that_speaks_softly_or_swells_out_of_silence_begins_where_it_leaves_it(soft_db, rate_hz):
    note = signals.slow_speaking(soft_db, rate_hz) if soft_db else signals.swelling(rate_hz)
    places = np.array([0.2, 1.0, 1.7]) * rate_hz
    loop = np.zeros(round(2.5 * rate_hz))
    for place in places:
        signals._add(loop, place, note)
    found = find_onsets(signals.stereo(loop), rate_hz)
    assert len(found) == len(places)
    assert apart_ms(found, places, len(loop), rate_hz).max() < 0.5


@pytest.mark.parametrize("rate_hz", [22050, 44100, 96000])
def test_a_note_that_grows_bright_while_it_swells_out_of_silence_begins_once(rate_hz):
    """It speaks 35 dB below where it swells to, by 250 dB a second; after 80 ms there are overtones all at once."""
    t = np.arange(rate_hz) / rate_hz
    level_db = np.minimum(-35 + 250 * t, 0) + 4000 * np.minimum(t - 0.01, 0)
    low = sum(np.sin(2 * np.pi * 311 * h * t + h) / h for h in range(1, 7))
    high = 0.1 * sum(np.sin(2 * np.pi * 311 * h * t + h * h) for h in range(7, 36))
    note = low + high * np.clip((t - 0.08) / 0.02, 0, 1)
    note *= 0.2 * 10 ** (level_db / 20) * np.clip((1 - t) / 0.05, 0, 1)
    loop, places = np.zeros(4 * rate_hz), np.array([0.5, 2.5]) * rate_hz
    for place in places:
        signals._add(loop, place, note)
    found = find_onsets(signals.stereo(loop), rate_hz)
    assert len(found) == len(places)
    assert apart_ms(found, places, len(loop), rate_hz).max() < 1


def test_a_soft_note_just_before_a_loud_one_is_one_of_two():
    loop, places = np.zeros(2 * RATE_HZ), np.array([20000, 20000 + 0.08 * RATE_HZ])
    for place, strength in zip(places, (0.1, 1), strict=True):
        signals._add(loop, place, strength * signals.pluck(64, RATE_HZ))
    found = find_onsets(signals.stereo(loop), RATE_HZ)
    assert len(found) == 2
    assert apart_ms(found, places, len(loop), RATE_HZ).max() < 1


@pytest.mark.parametrize(("freq_hz", "level"), [(63, 0.02), (63, 0.01), (55, 0.005)])
def test_the_last_swing_of_a_low_tone_is_no_beginning_of_the_next(freq_hz, level):
    """A saw leaps once a cycle and is still in between: its last leap is as loud as those before it."""

    def saw(hz):
        return sum(np.sin(2 * np.pi * hz * h * t) / h for h in range(1, 31))

    t = np.arange(3 * RATE_HZ // 4) / RATE_HZ
    ringing, after = level * saw(freq_hz) * np.exp(-2 * t), 0.2 * saw(82.4) * np.exp(-6 * t) * np.minimum(1, t / 0.002)
    loop = signals.stereo(np.concatenate([ringing[: RATE_HZ // 2], after]))
    assert apart_ms(find_onsets(loop, RATE_HZ), np.array([0, RATE_HZ // 2]), len(loop), RATE_HZ).max() < 0.5


def test_plucks():
    played = signals.play_plucks(100)
    found = find_onsets(played.samples, RATE_HZ)
    assert len(found) == len(played.onsets_frames)
    apart = apart_ms(found, played.onsets_frames, len(played.samples), RATE_HZ)
    assert np.median(apart) < 0.5
    assert apart.max() < 10  # a note that comes over the release of the last one is picked late


def test_opposite_phases_count():
    loop = signals.play_drums(100).samples
    assert np.array_equal(find_onsets(loop * np.float32([1, -1]), RATE_HZ), find_onsets(loop, RATE_HZ))


def test_a_loop_is_a_circle():
    """Turned round by any number of frames, it has the same onsets elsewhere."""
    played = signals.play_drums(100)
    frames = len(played.samples)
    for shift in (1, 777, 30011):
        found = find_onsets(np.roll(played.samples, shift, axis=0), RATE_HZ)
        assert len(found) == len(played.onsets_frames)
        assert apart_ms(found, played.onsets_frames + shift, frames, RATE_HZ).max() < 0.5


@pytest.mark.parametrize(
    "steady",
    [
        np.zeros((RATE_HZ, 2), np.float32),
        np.full((RATE_HZ, 2), 0.3, np.float32),
        signals.tone(110, RATE_HZ),
        signals.tone(220, RATE_HZ) + signals.tone(277, RATE_HZ) + signals.tone(330, RATE_HZ),
        signals.noise(4 * RATE_HZ),
    ],
    ids=["silence", "offset", "tone", "chord", "noise"],
)
def test_steady_sound_has_none(steady):
    assert len(find_onsets(steady, RATE_HZ)) == 0


def test_vibrato_and_tremolo_have_none():
    seconds = np.arange(4 * RATE_HZ) / RATE_HZ
    vibrato = np.sin(2 * np.pi * 440 * seconds + 3 * np.sin(2 * np.pi * 5 * seconds))
    tremolo = np.sin(2 * np.pi * 440 * seconds) * (1 + 0.5 * np.sin(2 * np.pi * 5 * seconds))
    assert len(find_onsets(signals.stereo(0.3 * vibrato), RATE_HZ)) == 0
    assert len(find_onsets(signals.stereo(0.3 * tremolo), RATE_HZ)) == 0


def test_one_click_is_one_onset():
    loop = np.zeros((RATE_HZ, 2), np.float32)
    loop[12345] = 0.5
    found = find_onsets(loop, RATE_HZ)
    assert len(found) == 1
    assert abs(int(found[0]) - 12345) < 44


def test_a_roll_all_round_the_loop_has_each_of_its_strokes():
    t = np.arange(round(0.05 * RATE_HZ)) / RATE_HZ
    stroke = np.random.default_rng(3).standard_normal(len(t)) * np.exp(-t / 0.008)
    roll = signals.stereo(np.tile(0.3 * stroke, 20))
    assert len(find_onsets(roll, RATE_HZ)) == 20


def test_a_note_that_speaks_long_before_it_is_loud_begins_where_it_leaves_the_silence():
    """A finger on a string: noise for 45 ms, and then the note, 45 dB louder; out of silence."""
    t = np.arange(round(0.5 * RATE_HZ)) / RATE_HZ
    finger = 0.001 * np.random.default_rng(5).standard_normal(round(0.045 * RATE_HZ))
    note = 0.3 * np.sin(2 * np.pi * 82.4 * t) * np.minimum(t / 0.004, 1) * np.clip((0.4 - t) / 0.05, 0, 1)
    loop = signals.stereo(np.concatenate([np.zeros(RATE_HZ // 4), finger, note, np.zeros(RATE_HZ // 4)]))
    found = find_onsets(loop, RATE_HZ)
    assert apart_ms(found, np.array([RATE_HZ // 4]), len(loop), RATE_HZ).max() < 2
