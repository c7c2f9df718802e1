"""How much later than its beats a loop is heard: an instrument that speaks late does so by as much at any tempo.

A nylon guitar is heard 6 ms after it is struck. Moved as if it had been played then, its notes come too late where all
is slower. One note does not tell the one from the other. But a loop begins on a beat, and most of its notes lie on a
grid that divides it evenly: where the first is heard a little after the loop begins, and most of the others as much
after a place of the grid, that is the instrument. A player who is late on some beats is later when playing slower.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Frames = NDArray[np.int64]

# Less is how exactly onsets are told; more is played late.
LEAST_SECONDS, MOST_SECONDS = 0.0015, 0.012
FEWEST_NOTES = 3
# Grids of so many steps are tried, none of them shorter than this. Of those that fit nearly as well the widest counts.
FEWEST_STEPS, MOST_STEPS, SHORTEST_STEP_SECONDS = 4, 96, 0.045
NEARLY_TIMES = 1.25
# Half of the notes stray by no more than this from what is usual.
STRAYS_SECONDS = 0.003


def frames_late(onsets: Frames, frames: int, rate_hz: int) -> int:
    """By how many frames the notes of a loop are heard after their beats, 0 where that can't be told.

    Parameters
    ----------
    onsets : int64 array, sorted, at least one: where notes begin
    frames : the loop's length
    rate_hz : int > 0
    """
    if not LEAST_SECONDS * rate_hz < onsets[0] < MOST_SECONDS * rate_hz:
        return 0
    usual, _ = usually_late(onsets, frames, rate_hz)
    return round(usual) if LEAST_SECONDS * rate_hz < usual < MOST_SECONDS * rate_hz else 0


def are_on_beats(onsets: Frames, frames: int, rate_hz: int) -> NDArray[np.bool_]:
    """Which of the notes of a loop are heard on its beats, or no further from them than an instrument may be late."""
    usual, strays = usually_late(onsets, frames, rate_hz)
    return (strays < STRAYS_SECONDS * rate_hz) & (abs(usual) < MOST_SECONDS * rate_hz)


def usually_late(onsets: Frames, frames: int, rate_hz: int) -> tuple[float, NDArray[np.float64]]:
    """By how many frames most notes are heard after their beats, negative if before; and how far each strays from that.

    Where most lie on no grid that is nothing, and each strays without bounds. Arguments as above.
    """
    most_steps = min(MOST_STEPS, int(frames / (SHORTEST_STEP_SECONDS * rate_hz)))
    if len(onsets) >= FEWEST_NOTES and most_steps >= FEWEST_STEPS:
        steps = frames / np.arange(FEWEST_STEPS, most_steps + 1)[:, None]
        late = (onsets + steps / 2) % steps - steps / 2
        usual = _middle(late)
        strays = np.abs(late - usual)
        middle = _middle(strays)[:, 0]
        best = int(np.argmax(middle <= NEARLY_TIMES * middle.min()))
        if middle[best] < STRAYS_SECONDS * rate_hz:
            return float(usual[best, 0]), strays[best]
    return 0.0, np.full(len(onsets), np.inf)


def _middle(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """The median of each row (`np.median` loads what takes longer than all of this), shape (rows, 1)."""
    ordered = np.sort(values, axis=1)
    middle: NDArray[np.float64] = ordered[:, [(values.shape[1] - 1) // 2, values.shape[1] // 2]].mean(axis=1)[:, None]
    return middle
