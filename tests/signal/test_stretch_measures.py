"""The measures by which stretched loops are judged read what is known of signals made for it."""

import numpy as np
import pytest

from benchmarks.stretch.measures import Truth
from tests.signal.signals import RATE_HZ, Played, stereo

SECONDS = 4.0
NOTES = np.arange(0.25, SECONDS, 0.25) * RATE_HZ
MS = RATE_HZ // 1000


def noise(frames, seed):
    return np.random.default_rng(seed).standard_normal(frames)


def hits(at=NOTES, db_per_second=300.0, floor_db=-90.0, seed=1):
    """Hits of noise at 0 dB, each as the others, that die away at this pace."""
    loop = 10 ** (floor_db / 20) * noise(round(SECONDS * RATE_HZ), seed)
    t = np.arange(RATE_HZ // 2)
    hit = noise(len(t), 9) * 10 ** (-db_per_second * t / RATE_HZ / 20)
    for start in at:
        np.add.at(loop, (round(start) + t) % len(loop), hit)
    return 0.1 * loop


def truth_of(loop, notes=NOTES, again=None):
    played = Played(stereo(loop), notes, RATE_HZ)
    return Truth(played, played if again is None else Played(stereo(again), notes, RATE_HZ), played)


def before_each(loop, before):
    """The loop with this added so that it ends where each hit begins."""
    loop = loop.copy()
    for start in NOTES:
        loop[round(start) - len(before) : round(start)] += 0.1 * before
    return stereo(loop)


def test_equal_sound_has_no_distance():
    apart = truth_of(hits()).distances(stereo(hits()))
    assert max(apart.onsets_ms) < 1e-6
    assert max(np.abs(apart.smear_db)) < 1e-6
    assert max(np.abs(apart.tail_db)) < 1e-6
    assert apart.onsets_told == 1


@pytest.mark.parametrize("late_ms", [-6, 2, 15])
def test_a_loop_that_is_late_reads_how_late(late_ms):
    apart = truth_of(hits()).distances(np.roll(stereo(hits(seed=2)), late_ms * MS, axis=0))
    assert np.ptp(apart.onsets_ms) < 0.05
    assert max(apart.onsets_ms) == pytest.approx(abs(late_ms) * MS * 1000 / RATE_HZ, abs=0.05)
    assert max(apart.onsets_apart_ms) < 0.05
    assert max(np.abs(apart.smear_db)) < 1


def test_one_late_hit_is_late_beside_the_others():
    at = NOTES + np.where(np.arange(len(NOTES)) == 5, 2 * MS, 0)
    apart = truth_of(hits()).distances(stereo(hits(at)))
    assert apart.onsets_apart_ms[5] == pytest.approx(2 * MS * 1000 / RATE_HZ, abs=0.05)
    assert max(np.delete(apart.onsets_apart_ms, 5)) < 0.05


def test_a_hit_that_is_not_there_is_lost_and_not_left_out():
    apart = truth_of(hits()).distances(stereo(hits(np.delete(NOTES, 5))))
    assert apart.onsets_ms[5] == 99
    assert np.percentile(np.delete(apart.onsets_ms, 5), 95) < 0.05


def test_a_note_that_the_same_notes_played_again_do_not_tell_does_not_count():
    late = NOTES + np.where(np.arange(len(NOTES)) == 5, 3 * MS, 0)
    apart = truth_of(hits(), again=hits(late)).distances(stereo(hits()))
    assert len(apart.onsets_ms) == len(NOTES) - 1
    assert apart.onsets_told == pytest.approx(1 - 1 / len(NOTES))


@pytest.mark.parametrize("db_per_ms", [0.5, 1.0])
def test_a_decay_turned_round_before_a_hit_reads_its_slope(db_per_ms):
    t_ms = np.arange(40 * MS)[::-1] / MS
    loop = hits()
    smeared = before_each(loop, noise(len(t_ms), 3) * 10 ** ((-20 - db_per_ms * t_ms) / 20))
    apart = truth_of(loop).distances(smeared)
    # What is equally faint all along has no rise, so what is looked at lies 20 ms apart on a straight slope.
    assert np.median(apart.smear_db) == pytest.approx(20 * db_per_ms, abs=2)
    # Hits lose 3 dB in the 10 ms, 9 in the 30 ms, that they are held against: about 4 on average.
    assert np.median(apart.under_hit_db) == pytest.approx(-20 - 5 * db_per_ms + 4, abs=2)


@pytest.mark.parametrize("db_per_second", [120.0, 200.0])
def test_a_tail_that_dies_faster_is_a_tail_and_no_rise_before_the_hit(db_per_second):
    apart = truth_of(hits(db_per_second=100.0)).distances(stereo(hits(db_per_second=db_per_second)))
    # 25 ms before a hit, 225 ms after the one before, and beside a hit that itself is fainter by a little.
    known_db = max((100 - db_per_second) * 0.225, -55 + 20)
    assert np.median(apart.tail_db) == pytest.approx(known_db, abs=2.5)
    assert max(np.abs(apart.smear_db)) < 1.5


def notes_of(cents=0.0, vibrato_cents=0.0, phase=0.0):
    """A note in every quarter of a second, three partials each."""
    t = np.arange(round(0.25 * RATE_HZ)) / RATE_HZ
    swing = vibrato_cents / 1200 * np.log(2) / (2 * np.pi * 6) * np.sin(2 * np.pi * 6 * t + phase)
    loop = []
    for number in range(16):
        hz = 220 * 2 ** (number % 5 / 12 + cents / 1200)
        loop.append(sum(np.sin(2 * np.pi * hz * h * (t + swing)) / h for h in (1, 2, 3)) * np.exp(-3 * t))
    return 0.1 * np.concatenate(loop)


@pytest.mark.parametrize("cents", [0.0, 0.5, 3.0, -12.0])
def test_notes_out_of_tune_read_by_how_many_cents(cents):
    """A cent is the hundredth part of an equally tempered semitone: 1200 log2 of a ratio (ISO 80000-8)."""
    apart = truth_of(notes_of(), np.arange(16) * 0.25 * RATE_HZ).distances(stereo(notes_of(cents)))
    assert len(apart.partials_cents) >= 3 * 15
    assert max(np.abs(np.subtract(apart.partials_cents, abs(cents)))) < 0.1


def test_a_vibrato_caught_at_another_moment_does_not_count():
    notes = np.arange(16) * 0.25 * RATE_HZ
    again = notes_of(vibrato_cents=30.0, phase=2.0)
    apart = truth_of(notes_of(vibrato_cents=30.0), notes, again).distances(stereo(again))
    assert apart.partials_told < 0.1


@pytest.mark.parametrize(("faint", "further_off"), [([0.0], 0.0), (NOTES[::2], 0.5), (NOTES, 1.0)])
def test_the_join_is_held_against_the_other_notes(faint, further_off):
    loop, notes = hits(np.arange(0, SECONDS, 0.25) * RATE_HZ), np.append(0, NOTES)
    fainter = loop.copy()
    for start in faint:
        fainter[np.arange(round(start) - 20 * MS, round(start) + 20 * MS)] *= 0.5
    apart = truth_of(loop, notes).distances(stereo(fainter))
    assert apart.join_level == pytest.approx(further_off, abs=0.1)
    assert apart.join_colour == pytest.approx(further_off, abs=0.1)
