"""How high the sound rises between its samples: true peak in dBTP (ITU-R BS.1770-4, Annex 2).

A player turns samples into a curve, and the curve can stand higher than every sample on it. The samples are therefore
interpolated to four times the rate, and to sixteen times where that comes out high. The standard's printed 12-tap
table is up to 0.3 dB off; this windowed sinc of 32 taps a phase stays within 0.04 dB up to 0.45 of the rate.

Sound is looked at in cells of 16 frames. Only a cell whose samples and neighbours are high enough that the curve
*could* rise above a given level is interpolated (the sum of the absolute taps bounds the rise); for music that is a
small part of it. This is done in double precision and in batches of one size, so that neither the blocks in which the
sound arrives nor the processor's way of multiplying matrices moves a result by more than 1e-12.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from mixer.signal.blocks import Samples, as_stereo, in_blocks

CELL_FRAMES = 16
BATCH_CELLS = 2048
TAPS = 32
KAISER_BETA = 5.0
FIRST_FACTOR, SECOND_FACTOR = 4, 16
UNDER_READ = float(np.cos(np.pi / (2 * FIRST_FACTOR)))
"""Four-fold interpolation can miss a peak by this much, at half the rate (BS.1770-4, Annex 2, attachment 1)."""

_BATCH_FRAMES = BATCH_CELLS * CELL_FRAMES
_WINDOW_FRAMES = CELL_FRAMES + TAPS - 1
_FIRST_FRAME = CELL_FRAMES - (TAPS // 2 - 1)
_GEMM_CELLS = 256


@lru_cache(maxsize=2)
def interpolation_taps(factor: int) -> NDArray[np.float64]:
    """Taps for the points 1/factor, 2/factor ... after a frame, shape (factor - 1, 32); each phase sums to 1."""
    places = np.arange(1, factor)[:, None] / factor
    distance = np.arange(TAPS)[None, :] - (TAPS // 2 - 1) - places
    window = np.i0(KAISER_BETA * np.sqrt(np.maximum(0.0, 1 - (distance / (TAPS / 2)) ** 2))) / np.i0(KAISER_BETA)
    taps = np.sinc(distance) * window
    taps /= taps.sum(axis=1, keepdims=True)
    taps.flags.writeable = False
    return np.asarray(taps)


@lru_cache(maxsize=2)
def _cell_matrix(factor: int) -> NDArray[np.float64]:
    """Interpolates cells: (cells, 47 frames from 15 before the cell to 16 after it) @ (47, points).

    The last point is the next cell's first frame: the curve between the two cells belongs to this one.
    """
    taps = interpolation_taps(factor)
    matrix = np.zeros((CELL_FRAMES, factor - 1, _WINDOW_FRAMES))
    for frame in range(CELL_FRAMES):
        matrix[frame, :, frame : frame + TAPS] = taps
    next_frame = np.zeros((1, _WINDOW_FRAMES))
    next_frame[0, CELL_FRAMES + TAPS // 2 - 1] = 1.0
    return np.ascontiguousarray(np.concatenate([matrix.reshape(-1, _WINDOW_FRAMES), next_frame]).T)


@lru_cache(maxsize=1)
def greatest_rise() -> float:
    """The curve is nowhere higher than this times the highest sample within reach."""
    return float(np.abs(interpolation_taps(SECOND_FACTOR)).sum(axis=1).max())


@lru_cache(maxsize=1)
def greatest_bend() -> tuple[float, float]:
    """Bound how far the curve leaves the straight lines between samples, by how sharply the samples bend.

    Between two samples the curve is the line between them plus a sum over the bends within reach (a bend is the second
    difference at a frame), plus a trifle since the taps do not keep a slope exactly.

    Returns
    -------
    float, float : the curve is nowhere higher than the higher sample times the first plus the greatest bend times the
        second
    """
    places = np.arange(1, SECOND_FACTOR) / SECOND_FACTOR
    middle = TAPS // 2 - 1
    beyond = interpolation_taps(SECOND_FACTOR).copy()
    beyond[:, middle] -= 1 - places
    beyond[:, middle + 1] -= places
    slope = (beyond * np.arange(TAPS)).sum(axis=1)
    beyond[:, middle] += slope
    beyond[:, middle + 1] -= slope
    # What keeps lines as they are is made of bends: their weights are its sum, summed again.
    bends = np.cumsum(np.cumsum(beyond, axis=1), axis=1)
    return 1 + 2 * float(np.abs(slope).max()), float(np.abs(bends).sum(axis=1).max())


def _turned(frames: Samples) -> NDArray[np.float32]:
    """Samples with a row for each frame of a cell, so that what is asked of a cell runs along contiguous memory.

    Before the first row stands the last frame of the cell before, after the last one the first of the cell after; where
    there is none, what makes a straight line.

    Parameters
    ----------
    frames : float32, shape (cells x 16, 2), contiguous

    Returns
    -------
    float32, shape (18, cells x 2)
    """
    rows = np.empty((CELL_FRAMES + 2, len(frames) // CELL_FRAMES * 2), np.float32)
    # A frame's two samples travel as one 8-byte value.
    rows[1:-1].view(np.float64)[...] = frames.view(np.float64).reshape(-1, CELL_FRAMES).T
    rows[0, 2:] = rows[-2, :-2]
    rows[-1, :-2] = rows[1, 2:]
    rows[0, :2] = 2 * rows[1, :2] - rows[2, :2]
    rows[-1, -2:] = 2 * rows[-2, -2:] - rows[-3, -2:]
    return rows


def _highest(rows: NDArray[np.float32]) -> NDArray[np.float32]:
    """Highest absolute value of each cell, both channels together."""
    highest: NDArray[np.float32] = np.abs(rows).max(axis=0)
    return np.maximum(highest[0::2], highest[1::2])


def _could_bend_above(rows: NDArray[np.float32], around: NDArray[np.float32]) -> NDArray[np.float32]:
    """How high the curve of each inner cell could rise by how its samples bend; low sound bends little between them."""
    bends = rows[:-2] + rows[2:]
    bends -= rows[1:-1] + rows[1:-1]
    sharpest = _highest(bends)
    sharpest = np.maximum(np.maximum(sharpest[:-2], sharpest[2:]), sharpest[1:-1])
    lines, bend = greatest_bend()
    # The lines of a cell end at the next cell's first frame; single precision is off by far less than a millionth.
    higher = np.maximum(around[1:-1], around[2:]) * np.float32(lines + 1e-5)
    return np.asarray(higher + sharpest * np.float32(bend), np.float32)


class CellPeaks:
    """Peak of each cell of 16 frames, streaming, both channels together.

    A cell that could rise above the asked level is given its true peak; any other keeps its highest sample, which is
    then known to stay below that level between samples too.
    """

    def __init__(self) -> None:
        self._frames = np.zeros((_BATCH_FRAMES + 2 * CELL_FRAMES, 2), np.float32)
        self._filled = CELL_FRAMES

    def feed(self, block: Samples, above: float) -> NDArray[np.float32]:
        """Peaks of the cells that are complete now; `above` is the level (linear) from which true peaks matter."""
        block = as_stereo(block)
        done: list[NDArray[np.float32]] = []
        at = 0
        while at < len(block):
            take = min(len(self._frames) - self._filled, len(block) - at)
            self._frames[self._filled : self._filled + take] = block[at : at + take]
            self._filled += take
            at += take
            if self._filled == len(self._frames):
                done.append(self._batch(above))
                self._frames[: 2 * CELL_FRAMES] = self._frames[_BATCH_FRAMES:]
                self._filled = 2 * CELL_FRAMES
        return np.concatenate(done) if done else np.zeros(0, np.float32)

    def flush(self, above: float) -> NDArray[np.float32]:
        """Peaks of what is still held back (two batches at most), as if silence followed; an incomplete cell counts."""
        cells = -(-(self._filled - CELL_FRAMES) // CELL_FRAMES)
        self._frames[self._filled :] = 0
        peaks = self._batch(above)
        self._frames[: 2 * CELL_FRAMES] = self._frames[_BATCH_FRAMES:]
        self._frames[2 * CELL_FRAMES :] = 0
        return np.concatenate([peaks, self._batch(above)])[:cells]

    def _batch(self, above: float) -> NDArray[np.float32]:
        rows = _turned(self._frames)
        around = _highest(rows[1:-1])
        within_reach = np.maximum(np.maximum(around[:-2], around[2:]), around[1:-1])
        peaks: NDArray[np.float32] = around[1:-1].copy()
        cells = np.flatnonzero(within_reach * greatest_rise() > above)
        if len(cells):
            cells = cells[_could_bend_above(rows, around)[cells] > above]
        if not len(cells):
            return peaks
        peaks[cells] = np.maximum(peaks[cells], self._interpolate(cells, FIRST_FACTOR))
        high = cells[peaks[cells] > above * UNDER_READ]
        peaks[high] = np.maximum(peaks[high], self._interpolate(high, SECOND_FACTOR))
        return peaks

    def _interpolate(self, cells: NDArray[np.intp], factor: int) -> NDArray[np.float64]:
        """Highest absolute interpolated value of each given cell of the batch."""
        matrix = _cell_matrix(factor)
        frame = self._frames.strides[0]
        shape, strides = (BATCH_CELLS, 2, _WINDOW_FRAMES), (CELL_FRAMES * frame, frame // 2, frame)
        # `as_strided` would give the same view; it takes as long as the few cells of most batches.
        windows = np.ndarray(shape, np.float32, self._frames, _FIRST_FRAME * frame, strides)
        highest = np.zeros(len(cells))
        for start in range(0, len(cells), _GEMM_CELLS):
            some = cells[start : start + _GEMM_CELLS]
            points = windows[some].reshape(-1, _WINDOW_FRAMES).astype(np.float64) @ matrix
            highest[start : start + len(some)] = np.abs(points, out=points).max(axis=1).reshape(-1, 2).max(axis=1)
        return highest


class TruePeakMeter:
    """True peak of sound that comes in blocks of any size, in bounded memory."""

    def __init__(self) -> None:
        self._cells = CellPeaks()
        self._highest = 0.0

    def feed(self, block: Samples) -> None:
        """Take in the next block, shape (frames, 2)."""
        for part in in_blocks(block):
            self._take(self._cells.feed(part, self._highest))

    def true_peak_dbtp(self) -> float:
        """Highest true peak of all that was fed, in dBTP; minus infinity for silence. Nothing can be fed after."""
        self._take(self._cells.flush(self._highest))
        return decibels(self._highest)

    def _take(self, peaks: NDArray[np.float32]) -> None:
        self._highest = max(self._highest, float(peaks.max(initial=0.0)))


def true_peak_dbtp(samples: Samples, rate_hz: int) -> float:
    """Highest true peak of a recording, in dBTP (ITU-R BS.1770-4, Annex 2), both channels together.

    Parameters
    ----------
    samples : float array, shape (frames, 2), full scale 1.0, may exceed it
    rate_hz : int > 0, frames per second

    Returns
    -------
    float : dB relative to a full-scale sine's peak; minus infinity for silence
    """
    if rate_hz <= 0:
        raise ValueError(f"a rate is a positive number of frames per second, not {rate_hz}")
    meter = TruePeakMeter()
    meter.feed(as_stereo(samples))
    return meter.true_peak_dbtp()


def decibels(amplitude: float) -> float:
    """20 log10; minus infinity for 0."""
    return float(20 * np.log10(amplitude)) if amplitude > 0 else -np.inf
