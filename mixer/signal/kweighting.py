"""K-weighting (ITU-R BS.1770-4, Annex 1): the power of a sound as loudness sees it, in chunks of about a millisecond.

What goes in: blocks of sound of any size. What comes out: for each chunk the sum over its frames and both channels
of the squared, filtered samples. Loudness is made of these sums, and so is the estimate of what a limiter takes away.

Why not a library: a recursive filter in plain Python is slow, and scipy takes over a second to import. Here the
recursion is written as matrix products (the state-space form of a filter over a chunk of frames): exact, nothing
truncated. Sound is filtered in batches of one fixed size, so the result does not depend on how it was split.

The filter for any rate follows from the analogue prototype behind the standard's 48 kHz table. Its constants are those
that libebur128, pyloudnorm ("DeMan") and others use; with them the table comes out to 1e-8.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from mixer.signal.blocks import Samples, as_stereo

Matrix = NDArray[np.float64]

SHELF_HZ, SHELF_GAIN_DB, SHELF_Q, SHELF_SLOPE = (
    1681.974450955533,
    3.999843853973347,
    0.7071752369554196,
    0.4996667741545416,
)
HIGH_PASS_HZ, HIGH_PASS_Q = 38.13547087602444, 0.5003270373238773

HOPS_PER_SECOND = 10
"""Gating blocks of 400 ms start every 100 ms (75 % overlap)."""

STATES = 4
GROUP_CHUNKS, GROUPS = 16, 32
BATCH_CHUNKS = GROUP_CHUNKS * GROUPS
_STEP_FRAMES = 16
"""So many frames of a chunk are filtered at a time, from the frames up to theirs: the rest of the product is zeros."""


class Biquad(NamedTuple):
    """One second-order stage: feed-forward b, feedback a (a[0] is 1)."""

    b: tuple[float, float, float]
    a: tuple[float, float, float]


def shelf(rate_hz: int) -> Biquad:
    """Stage 1, the high shelf that stands for the head (BS.1770-4, Annex 1, table 1 at 48 kHz)."""
    k = float(np.tan(np.pi * SHELF_HZ / rate_hz))
    high = float(10 ** (SHELF_GAIN_DB / 20))
    band = high**SHELF_SLOPE
    norm = 1 + k / SHELF_Q + k * k
    b = (high + band * k / SHELF_Q + k * k, 2 * (k * k - high), high - band * k / SHELF_Q + k * k)
    a = (norm, 2 * (k * k - 1), 1 - k / SHELF_Q + k * k)
    return Biquad((b[0] / norm, b[1] / norm, b[2] / norm), (1.0, a[1] / norm, a[2] / norm))


def high_pass(rate_hz: int) -> Biquad:
    """Stage 2, the high-pass (BS.1770-4, Annex 1, table 2 at 48 kHz); its b is not normalised, as printed."""
    k = float(np.tan(np.pi * HIGH_PASS_HZ / rate_hz))
    norm = 1 + k / HIGH_PASS_Q + k * k
    return Biquad((1.0, -2.0, 1.0), (1.0, 2 * (k * k - 1) / norm, (1 - k / HIGH_PASS_Q + k * k) / norm))


def chunk_frames(rate_hz: int) -> tuple[int, int]:
    """Frames in a chunk, and chunks in a hop of 100 ms.

    A hop is a whole number of chunks. At rates where 100 ms holds no fitting number of frames (none of the usual
    ones), the nearest number that does is taken.
    """
    ideal = round(rate_hz / HOPS_PER_SECOND)
    for off in range(ideal):
        for hop in (ideal - off, ideal + off):
            fitting = [frames for frames in range(32, 65) if hop % frames == 0]
            if fitting:
                chunk = min(fitting, key=lambda frames: abs(frames - 48))
                return chunk, hop // chunk
    raise ValueError(f"{rate_hz} Hz is too low a rate to measure loudness at")


class _Cascade(NamedTuple):
    """Both stages as one state-space system: s' = A s + B x, y = C s + D x."""

    a: Matrix
    b: Matrix
    c: Matrix
    d: float


def _state_space(stage: Biquad) -> _Cascade:
    b, a = stage
    return _Cascade(
        np.array([[-a[1], 1.0], [-a[2], 0.0]]),
        np.array([b[1] - a[1] * b[0], b[2] - a[2] * b[0]]),
        np.array([1.0, 0.0]),
        b[0],
    )


def _cascade(rate_hz: int) -> _Cascade:
    first, second = _state_space(shelf(rate_hz)), _state_space(high_pass(rate_hz))
    a = np.zeros((STATES, STATES))
    a[:2, :2], a[2:, 2:], a[2:, :2] = first.a, second.a, np.outer(second.b, first.c)
    b = np.concatenate([first.b, second.b * first.d])
    return _Cascade(a, b, np.concatenate([second.d * first.c, second.c]), first.d * second.d)


class _Products(NamedTuple):
    """The matrices that filter a batch.

    response : by the first frame of each step, (4 + step's end, step), the state before a chunk and the chunk up to
        the step's end -> the filtered frames of the step
    arrive : (chunk, 4), a chunk -> what it adds to the state after it
    within : (16 * 4, 17 * 4), what 16 chunks add -> the states before each of them and after the last
    between : (33 * 4, 33 * 4), state before and what 32 groups add -> states before each group and after the last
    carry : (4, 16 * 4), the state before a group -> its share of the states before each of its chunks
    """

    response: dict[int, NDArray[np.float32]]
    arrive: NDArray[np.float32]
    within: Matrix
    between: Matrix
    carry: Matrix


def _powers(matrix: Matrix, count: int) -> list[Matrix]:
    powers = [np.eye(len(matrix))]
    for _ in range(count):
        powers.append(matrix @ powers[-1])
    return powers


def _scan(step: Matrix, count: int) -> Matrix:
    """Block matrix that turns `count` additions into the states before each and after the last, from rest."""
    powers = np.stack([np.zeros_like(step), *(power.T for power in _powers(step, count - 1))])
    after = np.arange(count + 1) - np.arange(count)[:, None]  # from which addition to which state
    blocks = powers[np.maximum(after, 0)].transpose(0, 2, 1, 3)
    scan: Matrix = blocks.reshape(STATES * count, STATES * (count + 1))
    return scan


@lru_cache(maxsize=4)
def _products(rate_hz: int) -> _Products:
    frames, _ = chunk_frames(rate_hz)
    a, b, c, d = _cascade(rate_hz)
    powers = _powers(a, frames)
    impulse = np.array([d] + [float(c @ power @ b) for power in powers[: frames - 1]])
    toeplitz = np.zeros((frames, frames))
    for at in range(frames):
        toeplitz[at, at:] = impulse[: frames - at]
    free = np.stack([c @ power for power in powers[:frames]], axis=1)
    arrive = np.stack([power @ b for power in powers[frames - 1 :: -1]])
    step = powers[frames]
    group = _powers(step, GROUP_CHUNKS)
    before = np.concatenate([power.T for power in _powers(group[-1], GROUPS)], axis=1)
    response = np.concatenate([free, toeplitz]).astype(np.float32)
    starts = range(0, frames - _STEP_FRAMES + 1, _STEP_FRAMES)
    ends = [*starts[1:], frames]
    return _Products(
        {start: response[: STATES + end, start:end].copy() for start, end in zip(starts, ends, strict=True)},
        arrive.astype(np.float32),
        _scan(step, GROUP_CHUNKS),
        np.concatenate([before, _scan(group[-1], GROUPS)]),
        np.concatenate([power.T for power in group[:-1]], axis=1),
    )


class WeightedEnergy:
    """Turns blocks of sound into the K-weighted energy of each chunk, streaming.

    Parameters
    ----------
    rate_hz : int, frames per second
    """

    def __init__(self, rate_hz: int) -> None:
        self.chunk_frames, self.chunks_per_hop = chunk_frames(rate_hz)
        self._products = _products(rate_hz)
        self._batch_frames = BATCH_CHUNKS * self.chunk_frames
        self._rows = np.zeros((2, BATCH_CHUNKS, STATES + self.chunk_frames), np.float32)
        self._pending = np.zeros((self._batch_frames, 2), np.float32)
        self._pending_frames = 0
        self._state = np.zeros((2, STATES))

    def feed(self, block: Samples) -> NDArray[np.float32]:
        """Energies of the chunks that are complete now, in order; shape (chunks,)."""
        block = as_stereo(block)
        done: list[NDArray[np.float32]] = []
        at = 0
        while at < len(block):
            take = min(self._batch_frames - self._pending_frames, len(block) - at)
            self._pending[self._pending_frames : self._pending_frames + take] = block[at : at + take]
            self._pending_frames += take
            at += take
            if self._pending_frames == self._batch_frames:
                done.append(self._filter())
                self._pending_frames = 0
        return np.concatenate(done) if done else np.zeros(0, np.float32)

    def flush(self) -> NDArray[np.float32]:
        """Energies of the complete chunks still held back; a last incomplete chunk is left out."""
        self._pending[self._pending_frames :] = 0
        whole = self._pending_frames // self.chunk_frames
        self._pending_frames = 0
        return self._filter()[:whole]

    def _filter(self) -> NDArray[np.float32]:
        frames, products, rows = self.chunk_frames, self._products, self._rows
        for side in (0, 1):
            rows[side, :, STATES:] = self._pending[:, side].reshape(BATCH_CHUNKS, frames)
        flat = rows.reshape(2 * BATCH_CHUNKS, STATES + frames)
        rows[:, :, :STATES] = self._states(flat[:, STATES:] @ products.arrive)
        filtered = np.empty((2 * BATCH_CHUNKS, frames), np.float32)
        for start, matrix in products.response.items():
            reach, step = matrix.shape
            np.matmul(flat[:, :reach], matrix, out=filtered[:, start : start + step])
        energies: NDArray[np.float32] = np.einsum("ij,ij->i", filtered, filtered)
        return energies[:BATCH_CHUNKS] + energies[BATCH_CHUNKS:]

    def _states(self, added: NDArray[np.float32]) -> Matrix:
        """The filter's state before each chunk of the batch, shape (2, chunks, 4)."""
        inside = added.astype(np.float64).reshape(2 * GROUPS, GROUP_CHUNKS * STATES) @ self._products.within
        ends = inside[:, GROUP_CHUNKS * STATES :].reshape(2, GROUPS * STATES)
        before = (np.concatenate([self._state, ends], axis=1) @ self._products.between).reshape(2, GROUPS + 1, STATES)
        self._state = before[:, GROUPS].copy()
        carried = before[:, :GROUPS].reshape(2 * GROUPS, STATES) @ self._products.carry
        states = inside[:, : GROUP_CHUNKS * STATES] + carried
        return states.reshape(2, BATCH_CHUNKS, STATES)
