"""What speaks late is late by as much everywhere; what is played late is not taken for it."""

import numpy as np
import pytest

from mixer.signal.lateness import frames_late
from tests.signal.signals import RATE_HZ

MS = RATE_HZ // 1000
FRAMES = 4 * RATE_HZ
SIXTEENTHS = np.arange(0, 32) * FRAMES // 32


def played(steps, late_ms, strays_ms=0.0):
    strays = np.random.default_rng(1).uniform(-strays_ms, strays_ms, len(steps))
    return np.sort(SIXTEENTHS[steps] + np.round((late_ms + strays) * MS).astype(int))


@pytest.mark.parametrize("steps", [[0, 8, 16, 24], [0, 3, 6, 10, 12, 16, 19, 22, 26, 28], range(32)])
@pytest.mark.parametrize("late_ms", [2, 6, 11])
def test_what_all_notes_are_late_by_is_the_instrument(steps, late_ms):
    onsets = played(list(steps), late_ms, strays_ms=0.3)
    assert abs(frames_late(onsets, FRAMES, RATE_HZ) - late_ms * MS) < MS


@pytest.mark.parametrize(
    "onsets",
    [
        pytest.param(played([0, 8, 16, 24], 0), id="nothing is late"),
        pytest.param(played([0, 8, 16, 24], 0.7), id="less than can be told"),
        pytest.param(played([0, 8, 16, 24], 20), id="more than any instrument"),
        pytest.param(played([0, 3, 8, 11, 16, 24], 0) + np.array([6, 0, 0, 0, 0, 0]) * MS, id="the first alone"),
        pytest.param(played([0, 3, 8, 11, 16, 24], 6) - np.array([6, 0, 0, 0, 0, 0]) * MS, id="all but the first"),
        pytest.param(np.append(6 * MS, np.random.default_rng(3).integers(MS, FRAMES, 20)), id="on no grid"),
        pytest.param(np.array([6 * MS]), id="one note"),
    ],
)
def test_else_nothing_is(onsets):
    assert frames_late(np.sort(onsets), FRAMES, RATE_HZ) == 0
