"""What speaks late is late by as much everywhere; what is played late is not taken for it."""

import numpy as np
import pytest

from mixer.signal.fit import fit_loop
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


@pytest.mark.parametrize("semitones", [-5, 0, 4])
@pytest.mark.parametrize("ratio", [0.8, 1.0, 1.3])
def test_it_is_as_late_in_another_key(semitones, ratio):
    onsets = played([0, 3, 6, 8, 16, 22, 24, 30], 6)
    loop = np.zeros((FRAMES, 2), np.float32)
    burst = np.sin(2 * np.pi * 900 * np.arange(60 * MS) / RATE_HZ) * np.linspace(1, 0, 60 * MS) ** 3
    for onset in onsets:
        loop[onset : onset + len(burst)] += burst[:, None].astype(np.float32)
    fitted = fit_loop(loop, RATE_HZ, round(FRAMES * ratio), semitones)[:, 0]
    for place in (onsets - 6 * MS) * ratio + 6 * MS:
        around = np.abs(fitted.take(np.arange(round(place) - 20 * MS, round(place) + 20 * MS), mode="wrap"))
        assert abs(int(np.argmax(around > 0.2)) - 20 * MS) < MS
