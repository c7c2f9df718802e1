"""A look-ahead limiter that keeps the true peak under a ceiling, both channels moved together.

How it works: each cell of 16 frames has a peak (`truepeak.CellPeaks`), hence a need, the change in dB that would
bring it to the ceiling. Needs become a smooth curve: the deepest within a short look-ahead and hold, released at a
steady rate in dB, then averaged over the look-ahead, so that the gain is down before a peak arrives and has no corner.
Within a cell the gain is a straight line between the values at its borders, both of which satisfy the cell.

Needs are whole steps of 1/64 dB and the curve is made of whole numbers, so it is exact: it does not depend on how the
sound was split, and what rounding there was inside the interpolation's products has been left behind.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from mixer.signal.blocks import Samples, as_stereo
from mixer.signal.truepeak import CELL_FRAMES, CellPeaks

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

Steps = NDArray[np.int32]

STEPS_PER_DB = 64
"""Needs are rounded to this, towards more reduction."""
FINE_PER_STEP = 16
"""The curve has this many parts to a step: 1/1024 dB."""
FINE_PER_DB = STEPS_PER_DB * FINE_PER_STEP
LEAST_STEPS = -160 * STEPS_PER_DB
"""Stands for silence."""
MARGIN_DB = 0.15
"""Kept clear below the ceiling: a moving gain and the rounding of what is written may add 0.02 dB, and meters that all
keep to the standard read noise up to half the rate 0.13 dB apart, since their filters end differently."""

LOOK_AHEAD_SECONDS = 0.0025
HOLD_SECONDS = 0.010
"""Half a cycle at 50 Hz: a bass note is not bent within its cycle."""
RELEASE_DB_PER_SECOND = 60.0


def level_steps(peaks: NDArray[np.float32]) -> Steps:
    """Peaks (linear) as levels in steps of 1/64 dB, rounded up."""
    floor = 10 ** (LEAST_STEPS / STEPS_PER_DB / 20)
    levels = 20 * STEPS_PER_DB * np.log10(np.maximum(peaks.astype(np.float64), floor))
    steps: Steps = np.ceil(levels).astype(np.int32)
    return steps


def needs(levels: Steps, ceiling_dbtp: float) -> Steps:
    """What each cell needs, in steps: 0 where it stays under the ceiling, otherwise how far it has to come down."""
    found: Steps = np.minimum(0, ceiling_steps(ceiling_dbtp) - levels).astype(np.int32)
    return found


def ceiling_steps(ceiling_dbtp: float) -> int:
    """The highest level in steps that is allowed."""
    return int(np.floor((ceiling_dbtp - MARGIN_DB) * STEPS_PER_DB))


def gain(curve: Steps) -> NDArray[np.float32]:
    """The curve (fine steps, 0 or less) as factors."""
    table = _gain_table(-(-(1 - int(curve.min(initial=0))) // FINE_PER_DB))
    return table[-curve]


@lru_cache(maxsize=8)
def _gain_table(whole_db: int) -> NDArray[np.float32]:
    return (10 ** (-np.arange(whole_db * FINE_PER_DB + 1) / (20 * FINE_PER_DB))).astype(np.float32)


class Curve:
    """Makes the curve from the cells' needs, streaming.

    For N cells it gives N + 1 values in fine steps, one for each border between cells, the two ends included.

    Parameters
    ----------
    rate_hz : int, frames per second
    """

    def __init__(self, rate_hz: int) -> None:
        cells_per_second = rate_hz / CELL_FRAMES
        self._boxes = (max(1, round(LOOK_AHEAD_SECONDS / 2 * cells_per_second)),) * 2
        self._look_ahead = sum(self._boxes)
        self._window = self._look_ahead + round(HOLD_SECONDS * cells_per_second) + 1
        self._release = max(1, round(RELEASE_DB_PER_SECOND * FINE_PER_DB / cells_per_second))
        self._needs_before = np.zeros(self._window, np.int32)
        self._released = 0
        self._smooth_before = [np.zeros(box, np.int64) for box in self._boxes]
        self._skip = self._look_ahead

    @property
    def reach_cells(self) -> int:
        """A need is felt this many cells before it at most."""
        return self._look_ahead

    def feed(self, cell_needs: Steps) -> Steps:
        """The values that are settled once these cells are known."""
        curve = self._settled(cell_needs)
        skipped = min(self._skip, len(curve))
        self._skip -= skipped
        return curve[skipped:]

    def flush(self) -> Steps:
        """The last values, as if silence followed."""
        return self.feed(np.zeros(self._look_ahead + 1, np.int32))

    def _settled(self, cell_needs: Steps) -> Steps:
        if self._is_at_rest() and not cell_needs.any():
            return np.zeros(len(cell_needs), np.int32)
        deepest = _trailing_minimum(np.concatenate([self._needs_before, cell_needs]), self._window + 1)
        self._needs_before = np.concatenate([self._needs_before, cell_needs])[len(cell_needs) :]
        smooth = self._release_from(deepest.astype(np.int64) * FINE_PER_STEP)
        divisor = 1
        for index, box in enumerate(self._boxes):
            smooth = np.concatenate([self._smooth_before[index], smooth])
            self._smooth_before[index] = smooth[len(smooth) - box :]
            sums = np.cumsum(np.concatenate([np.zeros(1, np.int64), smooth]))
            smooth = sums[box + 1 :] - sums[: -box - 1]
            divisor *= box + 1
        return (smooth // divisor).astype(np.int32)

    def _is_at_rest(self) -> bool:
        """Whether nothing that came before still matters."""
        return self._released == 0 and not self._needs_before.any() and not any(s.any() for s in self._smooth_before)

    def _release_from(self, deepest: NDArray[np.int64]) -> NDArray[np.int64]:
        """Follows down at once and comes up at the steady rate: f[k] = min(d[k], f[k-1] + release)."""
        tilt = self._release * np.arange(1, len(deepest) + 1)
        level = np.minimum(np.minimum.accumulate(deepest - tilt), self._released) + tilt
        level = np.minimum(level, 0)
        self._released = int(level[-1]) if len(level) else self._released
        return level


def _trailing_minimum(values: Steps, width: int) -> Steps:
    """Minimum of each `width` neighbours; shape (len - width + 1,)."""
    reached = 1
    while reached * 2 <= width:
        values = np.minimum(values[:-reached], values[reached:])
        reached *= 2
    return np.minimum(values[: len(values) - (width - reached)], values[width - reached :])


def apply_curve(frames: Samples, curve: Steps, first_frame: int = 0) -> None:
    """Turn sound down in place along the curve.

    Parameters
    ----------
    frames : float32, shape (frames, 2), contiguous
    curve : values at the borders of all cells that `frames` touches
    first_frame : where in its cell the first frame lies, 0 to 15
    """
    busy = np.flatnonzero(np.minimum(curve[:-1], curve[1:]))
    if not len(busy):
        return
    first, last = int(busy[0]), int(busy[-1]) + 1
    factors = gain(curve[first : last + 1])
    ramp = np.repeat(np.arange(CELL_FRAMES, dtype=np.float32) / CELL_FRAMES, 2)
    lines = factors[:-1, None] + (factors[1:] - factors[:-1])[:, None] * ramp
    start = first * CELL_FRAMES - first_frame
    trim = max(0, -start)
    part = frames[start + trim : max(0, last * CELL_FRAMES - first_frame)].reshape(-1)
    np.multiply(part, lines.reshape(-1)[2 * trim : 2 * trim + len(part)], out=part)


class Limiter:
    """Limits sound that comes in blocks of any size, in bounded memory.

    Blocks come back later than they went in; all together have the same length.

    Parameters
    ----------
    rate_hz : int, frames per second
    ceiling_dbtp : float, the true peak that is allowed, in dBTP
    """

    def __init__(self, rate_hz: int, ceiling_dbtp: float = -1.0) -> None:
        self._ceiling_dbtp = ceiling_dbtp
        self._above = float(10 ** ((ceiling_dbtp - MARGIN_DB) / 20))
        self._cells = CellPeaks()
        self._curve = Curve(rate_hz)
        self._frames = np.zeros((0, 2), np.float32)
        self._border = np.zeros(0, np.int32)

    def feed(self, block: Samples) -> Samples:
        """Take in the next block; gives what is finished, which may be nothing."""
        self._frames = np.concatenate([self._frames, as_stereo(block)])
        return self._finished(
            self._curve.feed(needs(level_steps(self._cells.feed(block, self._above)), self._ceiling_dbtp))
        )

    def flush(self) -> Samples:
        """What is left."""
        last = self._curve.feed(needs(level_steps(self._cells.flush(self._above)), self._ceiling_dbtp))
        return self._finished(np.concatenate([last, self._curve.flush()]))

    def _finished(self, curve: Steps) -> Samples:
        curve = np.concatenate([self._border, curve])
        self._border = curve[-1:]
        done = min(len(self._frames), max(0, len(curve) - 1) * CELL_FRAMES)
        ready, self._frames = self._frames[:done], self._frames[done:]
        apply_curve(ready, curve)
        return ready


def limit(blocks: Iterable[Samples], rate_hz: int, ceiling_dbtp: float = -1.0) -> Iterator[Samples]:
    """All blocks limited, in order."""
    limiter = Limiter(rate_hz, ceiling_dbtp)
    for block in blocks:
        yield limiter.feed(block)
    yield limiter.flush()
