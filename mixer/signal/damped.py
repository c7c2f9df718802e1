"""Where notes that ring are damped, shortly before the next.

A string that is played short rings until a finger stops it, and for a moment it is silent. Cut off where the next note
comes sooner, it would ring into that note; continued where the next comes later, it would have been silent for long
before. So it rings until where it would be damped then, and is damped as it was.

What dies by itself (a muted string, a hat, the end of a recording) does so after its own time, however late the next
comes. It has all but died when it ends, and there are few of those in a loop; what is damped is still loud, and most
notes of its loop are played that way.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mixer.signal.pieces import between

Samples = NDArray[np.float32]
Frames = NDArray[np.int64]

# A note is damped where the next stretch is so much fainter than this one, so many times more than it lost in such a
# stretch before, and where it is no fainter than this beside its beginning.
STRETCH_STEPS = 4
LEAST_FALL_DB = 8.0
TIMES_USUAL = 3.0
FAINTEST_DB = 30.0
# All that is so far below its beginning is silence.
SILENT_DB = 40.0
# It does not come back by more.
COMES_BACK_DB = 6.0
STEP_SECONDS = 0.005
# It is looked for so shortly before the next note, but not in the first steps of its own.
LATEST_SECONDS, FIRST_STEPS = 0.1, 12
# Notes of a loop are played short if so many of them are.
LEAST_SHARE = 0.5


def damped_after(
    samples: Samples,
    rate_hz: int,
    starts: Frames,
    ends: Frames,
    seconds: float = LATEST_SECONDS,
    among: int | None = None,
) -> Frames:
    """After how many frames each of some ringing pieces of a loop is damped.

    Parameters
    ----------
    samples : float32 array, shape (frames, channels), circular
    rate_hz : int > 0
    starts, ends : int64 arrays, between which frames each piece lies
    seconds : so long before its end it is looked for
    among : how many notes like these there are in the loop, also such that can't be damped (so many as are given)

    Returns
    -------
    int64 array : frames from the start of each piece; 0 for those that are not
    """
    after = np.zeros(len(starts), np.int64)
    step, steps = round(STEP_SECONDS * rate_hz), round(seconds / STEP_SECONDS)
    asked = np.flatnonzero(ends - starts >= steps * step)
    least = max(1, LEAST_SHARE * (len(starts) if among is None else among))
    if step == 0 or len(asked) < least:
        return after
    loudest_db = _levels_db(samples, step, starts[asked], FIRST_STEPS).max(axis=1)
    levels_db = _levels_db(samples, step, ends[asked] - steps * step, steps)
    levels_db = np.maximum(levels_db, loudest_db[:, None] - SILENT_DB)
    falls_db = levels_db[:, :-STRETCH_STEPS] - levels_db[:, STRETCH_STEPS:]
    at = np.argmax(falls_db, axis=1)
    rows = np.arange(len(asked))
    level_db, fall_db = levels_db[rows, at], falls_db[rows, at]
    # It falls in the last loud stretch already.
    until = ends[asked] - (steps - at) * step
    usual_db = (loudest_db - level_db) * STRETCH_STEPS * step / np.maximum(until - starts[asked], step)
    later = np.arange(levels_db.shape[1]) >= at[:, None] + STRETCH_STEPS
    later_db = np.max(levels_db, axis=1, where=later, initial=-np.inf)
    damped = (fall_db > LEAST_FALL_DB) & (fall_db > TIMES_USUAL * usual_db)
    damped &= until - starts[asked] >= FIRST_STEPS * step
    damped &= (level_db > loudest_db - FAINTEST_DB) & (later_db < level_db - COMES_BACK_DB)
    if np.count_nonzero(damped) >= least:
        after[asked] = np.where(damped, until - starts[asked], 0)
    return after


def _levels_db(samples: Samples, step: int, starts: Frames, steps: int) -> NDArray[np.float64]:
    """Level of stretches that begin at each step from there, shape (starts, steps - STRETCH_STEPS + 1)."""
    sounds = (between(samples, start, start + steps * step).reshape(steps, -1) for start in starts.tolist())
    power = np.array([np.einsum("ij,ij->i", sound, sound) for sound in sounds], np.float64)
    total = np.cumsum(np.pad(power, ((0, 0), (1, 0))), axis=1)
    stretches = total[:, STRETCH_STEPS:] - total[:, :-STRETCH_STEPS]
    levels_db: NDArray[np.float64] = 10 * np.log10(np.maximum(stretches, 0) + 1e-9 * power.max() + 1e-20)
    return levels_db
