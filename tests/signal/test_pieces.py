"""Pieces between onsets: when the note in one is let go."""

import numpy as np
import pytest

from mixer.signal.pieces import HELD, RINGING, piece_kinds
from tests.signal import signals
from tests.signal.signals import RATE_HZ


@pytest.mark.parametrize("held_seconds", [0.5, 0.51, 0.52, 0.53])
@pytest.mark.parametrize("fall_db_per_second", [250, 600, 2500])
def test_the_moment_in_which_a_note_is_let_go_is_told_to_a_hundredth_of_a_second(held_seconds, fall_db_per_second):
    frames = RATE_HZ
    after = np.maximum(np.arange(frames) / RATE_HZ - held_seconds, 0)
    loop = signals.tone(220, frames) * (10 ** (-fall_db_per_second * after / 20))[:, None].astype(np.float32)
    (let_go,) = piece_kinds(loop, RATE_HZ, np.zeros(1, np.int64))
    assert let_go > HELD
    assert abs(let_go / RATE_HZ - held_seconds) < 0.011


def test_what_tones_leave_before_the_next_onset_makes_no_hit_a_held_one():
    frames, shadow = RATE_HZ // 4, round(0.04 * RATE_HZ)
    hit = signals.noise(frames) * np.exp(-np.arange(frames) / (0.03 * RATE_HZ))[:, None].astype(np.float32)
    rest = hit.copy()
    rest[-shadow:] += 0.2 * signals.noise(shadow, seed=2)
    onsets = np.zeros(1, np.int64)
    assert piece_kinds(hit, RATE_HZ, onsets) == [RINGING]
    assert piece_kinds(rest, RATE_HZ, onsets) == [HELD]
    assert piece_kinds(rest, RATE_HZ, onsets, rest=True) == [RINGING]


def test_what_is_held_is_held_in_what_tones_leave_too():
    loop = signals.noise(RATE_HZ // 4)
    assert piece_kinds(loop, RATE_HZ, np.zeros(1, np.int64), rest=True) == [HELD]
