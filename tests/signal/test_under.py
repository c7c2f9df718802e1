"""What rings on under a note that is struck softly goes on there as if it had never been cut."""

import numpy as np
import pytest

from mixer.signal.fit import fit_loop
from mixer.signal.pieces import RINGING
from mixer.signal.ringing import tones_at_end
from mixer.signal.slices import Known, move_pieces
from mixer.signal.under import is_heard, ring_under
from tests.signal.signals import RATE_HZ, midi_hz, stereo

MS = RATE_HZ // 1000
LOUD, SOFT = (45, 52, 57, 61), (76, 81)
SOFT_BEAT, BEATS, BEAT_SECONDS = 1, 2, 0.5


def rung(keys, seed, per_second=3.0, level_db=0.0):
    t = np.arange(4 * RATE_HZ) / RATE_HZ
    phases = np.random.default_rng(seed).uniform(0, 2 * np.pi, len(keys))
    tones = sum(np.cos(2 * np.pi * midi_hz(key) * t + phase) for key, phase in zip(keys, phases, strict=True))
    return 0.05 * 10 ** (level_db / 20) * tones * np.exp(-t * per_second) * np.clip(t / 0.001, 0, 1)


def played(beat_seconds, per_second=3.0):
    """A loud chord, and a soft one while it rings."""
    loop = np.zeros(round(BEATS * beat_seconds * RATE_HZ))
    for beat, sound in ((0, rung(LOUD, 1, per_second)), (SOFT_BEAT, rung(SOFT, 2, level_db=-20))):
        np.add.at(loop, (round(beat * beat_seconds * RATE_HZ) + np.arange(len(sound))) % len(loop), sound)
    return stereo(loop)


def cut(loop, length_frames, *, rest=False):
    places = np.array([0, round(SOFT_BEAT * BEAT_SECONDS * RATE_HZ)])
    return move_pieces(loop, RATE_HZ, length_frames, places, [RINGING, RINGING], Known(rest=rest))


@pytest.mark.parametrize("ratio", [0.7, 0.85, 1.05, 1.2, 1.4])
def test_tones_have_no_seam_where_a_soft_note_begins(ratio):
    truth = played(BEAT_SECONDS * ratio)
    fitted = cut(played(BEAT_SECONDS), len(truth))
    around = round(SOFT_BEAT * BEAT_SECONDS * ratio * RATE_HZ) + np.arange(-4 * MS, 6 * MS)
    apart = np.square(fitted[around] - truth[around]).mean()
    # What is laid beside it at another phase is as far off as it is loud.
    assert 10 * np.log10(apart / np.square(truth[around]).mean()) < -15


def test_later_it_is_as_it_was_played():
    loop = played(BEAT_SECONDS)
    fitted = cut(loop, round(1.2 * len(loop)))
    after = np.arange(45 * MS, 200 * MS)
    place = SOFT_BEAT * BEAT_SECONDS * RATE_HZ
    assert np.allclose(fitted[round(1.2 * place) + after], loop[round(place) + after], atol=1e-6)


def test_where_tones_were_taken_out_it_is_not_asked():
    loop, place = played(BEAT_SECONDS), SOFT_BEAT * BEAT_SECONDS * RATE_HZ
    fitted = cut(loop, round(0.8 * len(loop)), rest=True)
    begin = np.arange(40 * MS)
    assert np.array_equal(fitted[round(0.8 * place) + begin], loop[round(place) + begin])


def test_what_was_damped_before_the_note_does_not_ring_under_it():
    loop, place = played(BEAT_SECONDS), round(SOFT_BEAT * BEAT_SECONDS * RATE_HZ)
    alone = stereo(rung(SOFT, 2, level_db=-20))[: len(loop) - place]
    loop[place - 5 * MS : place] = 0
    loop[place:] = alone
    fitted = cut(loop, round(1.2 * len(loop)))
    under = fitted[round(1.2 * place) :][: 40 * MS] - alone[: 40 * MS]
    assert np.abs(under).max() < 1e-4


def test_tones_that_died_fast_are_not_much_louder_for_being_younger():
    end = stereo(rung(LOUD, 1, per_second=30.0)[: round(0.3 * RATE_HZ)])
    tones, _ = tones_at_end(end, RATE_HZ)
    since = tones.sound(0, 5 * MS)
    new = np.zeros((60 * MS, 2), np.float32)
    ring_under(new, 5 * MS, tones, since, round(-0.2 * RATE_HZ), RATE_HZ)
    assert 0 < np.abs(new).max() < 4 * np.abs(end[-10 * MS :]).max()


@pytest.mark.parametrize(("times", "heard"), [(3.0, True), (12.0, False)])
def test_beside_a_loud_note_it_is_not_heard(times, heard):
    old = stereo(rung(LOUD, 1)[:RATE_HZ])
    assert is_heard(old, times * old[-100 * MS :], RATE_HZ) == heard


@pytest.mark.parametrize("ratio", [0.8, 1.3])
def test_a_whole_loop_has_no_seam_there_either(ratio):
    truth = played(BEAT_SECONDS * ratio, per_second=2.0)
    fitted = fit_loop(played(BEAT_SECONDS, per_second=2.0), RATE_HZ, len(truth))
    around = round(SOFT_BEAT * BEAT_SECONDS * ratio * RATE_HZ) + np.arange(-4 * MS, 6 * MS)
    assert np.square(fitted[around] - truth[around]).mean() < 0.05 * np.square(truth[around]).mean()
