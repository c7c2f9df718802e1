"""The player is the truth for stretching: the files are what it plays, and at another tempo only the starts move."""

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
import soundfile

import demo_loops
from demo_loops.making import LOOPS, notes, play

FOLDER = Path(demo_loops.__file__).parent
RATE_HZ = 44_100


def frame_of(beat, tempo_bpm):
    return round(beat * 60 * RATE_HZ / Fraction(str(tempo_bpm)))


def peak_hz(samples):
    """Frequency of the strongest partial, by a parabola over three bins of the log spectrum."""
    strength = np.log(np.abs(np.fft.rfft(samples.mean(axis=1) * np.hanning(len(samples)), 1 << 17)) + 1e-12)
    top = int(np.argmax(strength))
    below, middle, above = strength[top - 1 : top + 2]
    return (top + 0.5 * (below - above) / (below - 2 * middle + above)) * RATE_HZ / (1 << 17)


@pytest.mark.parametrize("name", ["wooden-horse", "hull-knock", "turning-wheel"])
def test_a_rebuilt_loop_is_the_stored_one(name):
    stored = soundfile.read(FOLDER / f"{name}.flac", dtype="int16")[0].astype(int)
    # Half a step is the rounding (a file that a mix plays softly has coarser steps). 2 units of 16 bit more: sums of
    # many modes and Fourier transforms differ in the last digits between processors and versions of numpy.
    step = int(np.gcd.reduce(stored.ravel()))
    assert step <= 8
    assert np.abs(play(name) * 32768.0 - stored).max() < step / 2 + 2


@pytest.mark.parametrize(("name", "tempo_bpm"), [("hull-knock", 93.5), ("wooden-horse", 131), ("pepper-mill", 72.25)])
def test_length_is_exact_at_any_tempo(name, tempo_bpm):
    sound = play(name, tempo_bpm)
    assert sound.dtype == np.float32
    assert sound.shape == (frame_of(LOOPS[name].beats, tempo_bpm), 2)


def test_another_rate_has_its_exact_length_and_the_same_sound():
    at_44, at_48 = play("hull-knock"), play("hull-knock", rate_hz=48_000)
    assert len(at_48) == round(Fraction(4 * 60 * 48_000, 110))
    assert np.mean(at_48**2) == pytest.approx(np.mean(at_44**2), rel=1e-3)


@pytest.mark.parametrize(("name", "tempo_bpm"), [("cork-drum", 97.3), ("hull-knock", 127)])
def test_every_hit_is_where_arithmetic_puts_it_at_another_tempo(name, tempo_bpm):
    # Differences show the blow and hide the slow ringing of the hit before.
    slow, fast = (np.diff(play(name, bpm).mean(axis=1), 2, prepend=0) for bpm in (None, tempo_bpm))
    own_bpm, length = LOOPS[name].tempo_bpm, RATE_HZ // 100
    compared, starts = 0, [beat for beat, _ in notes(name)]
    for beat in starts:
        if any(0 < abs(other - beat) * 60 / Fraction(own_bpm) < Fraction(1, 80) for other in starts):
            continue  # two players are not late by the same: their hits move against each other, rightly
        first, second = frame_of(beat, own_bpm), frame_of(beat, tempo_bpm)
        hit = slow[first : first + length]
        before = slow[max(0, first - length) : first]
        if first and np.sum(hit**2) < 20 * np.sum(before**2):
            continue  # a soft hit in the tail of a loud one has no clear start of its own
        lags = range(-20, 21)
        likeness = [np.dot(np.roll(fast, -(second + lag))[:length], hit) for lag in lags]
        assert lags[int(np.argmax(likeness))] == 0
        # What still rings from before may be a twentieth of the power, and comes from elsewhere at this tempo.
        assert np.corrcoef(hit, fast[second : second + length])[0, 1] > 0.95
        compared += 1
    assert compared >= 3


def test_transposing_moves_the_pitch_by_equal_temperament():
    beat = frame_of(1, 108)
    up, own = (peak_hz(play("turning-wheel", semitones=n)[:beat]) for n in (3, 0))
    assert 1200 * np.log2(up / own) == pytest.approx(300, abs=3)


@pytest.mark.parametrize("name", sorted(LOOPS))
def test_notes_are_exact_beats_inside_the_loop(name):
    found = notes(name)
    assert all(isinstance(beat, Fraction) and 0 <= beat < LOOPS[name].beats for beat, _ in found)
    assert found == sorted(found)
    # Hands are late by at most 8 of 960 parts of a beat, and swing by less than half a sixteenth; nobody is early.
    sixteenth = Fraction(1, 4)
    strummed = {"chord", "strum", "drop", "syllable"}
    assert all(beat % sixteenth < sixteenth / 2 for beat, kind in found if kind not in strummed)


def test_an_unknown_loop_is_said():
    with pytest.raises(KeyError):
        play("no-such-loop")
