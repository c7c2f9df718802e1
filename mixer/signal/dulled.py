"""Held notes and chords that are let go as the next are struck, which speak late: those begin where the last grow dull.

An organ is heard about 10 ms after its key is down, at any tempo, and by then the last chord has been dying away for as
long. That is heard at once in what is bright, which is steady while a chord is held. It is not asked in a line, whose
notes may be played apart.
"""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

Samples = NDArray[np.float32]
Frames = NDArray[np.int64]
Curve = NDArray[np.float64]

# Brightness is told in steps, over so many of them: so many in which the last chord is steady, and then so many before
# and after the place where the next is found, in which it is dullest.
STEP_SECONDS, SMOOTH_STEPS = 0.001, 5
STEADY_STEPS, BEFORE_STEPS, AFTER_STEPS = 40, 14, 16
# It falls by so much at least, by so much a step, and so many times more than it strays while it is steady. What falls
# by more was let go before the next is struck.
LEAST_DB, MOST_DB, LEAST_STEP_DB, LEAST_TIMES = 2.0, 6.0, 0.3, 5.0
# A clear attack, so many times brighter in the steps after it than in those before, is where it is.
CLEAR_STEPS, CLEAR_TIMES = 5, 100.0
# The fall is told between these shares of it, as a straight line.
LEAST_SHARE, MOST_SHARE = 0.3, 0.8


def dulled_before(samples: Samples, rate_hz: int, onsets: Frames, asked: NDArray[np.bool_]) -> Frames:
    """How many frames before its onset (or after, then it is negative) each note begins, 0 where nothing tells.

    Parameters
    ----------
    samples : float32 array, shape (frames, channels), circular
    rate_hz : int > 0
    onsets : int64 array, sorted, at least one
    asked : which of them: those before which something is held
    """
    step = max(1, round(STEP_SECONDS * rate_hz))
    at = STEADY_STEPS + BEFORE_STEPS
    gaps = np.diff(onsets, append=onsets[0] + len(samples))
    rows = np.flatnonzero(asked & (np.minimum(gaps, np.roll(gaps, 1)) > at * step))
    earlier = np.zeros(len(onsets), np.int64)
    if len(rows) == 0:
        return earlier
    around = samples.take(onsets[rows, None] + np.arange(-at * step - 3, AFTER_STEPS * step), axis=0, mode="wrap")
    bright = np.square(np.diff(around, 3, axis=1)).sum(axis=2)
    power = bright.reshape(len(rows), -1, step).sum(axis=2, dtype=np.float64)
    before, after = power[:, at - CLEAR_STEPS : at].sum(axis=1), power[:, at : at + CLEAR_STEPS].sum(axis=1)
    levels_db = 10 * np.log10(sliding_window_view(power, SMOOTH_STEPS, axis=1).mean(axis=2) + 1e-16)
    steps = np.array([_steps_before(each) for each in levels_db])
    earlier[rows] = np.where(after < CLEAR_TIMES * before, np.round(step * steps), 0)
    return earlier


def _steps_before(levels_db: Curve) -> float:
    """How many steps before the place brightness begins to fall, 0 if it does not."""
    steady_db = levels_db[: STEADY_STEPS - SMOOTH_STEPS]
    usual_db, strays_db = float(steady_db.mean()), float(steady_db.std())
    dullest = STEADY_STEPS + int(np.argmin(levels_db[STEADY_STEPS:]))
    fall_db = usual_db - float(levels_db[dullest])
    if not max(LEAST_DB, LEAST_TIMES * strays_db) < fall_db < MOST_DB:
        return 0.0
    most, least = (_last_above(levels_db[:dullest], usual_db - share * fall_db) for share in (MOST_SHARE, LEAST_SHARE))
    begins = least - (most - least) * LEAST_SHARE / (MOST_SHARE - LEAST_SHARE)
    if fall_db < LEAST_STEP_DB * (dullest - begins):
        return 0.0
    return STEADY_STEPS + BEFORE_STEPS - begins - SMOOTH_STEPS / 2


def _last_above(levels_db: Curve, least_db: float) -> float:
    """Where the levels last were so high, between two of them."""
    last = int(np.flatnonzero(levels_db >= least_db)[-1])
    if last + 1 == len(levels_db):
        return float(last)
    return last + float((levels_db[last] - least_db) / max(levels_db[last] - levels_db[last + 1], 1e-9))
