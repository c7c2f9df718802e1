"""How loud a sound is, in LUFS: programme loudness after ITU-R BS.1770-4, equations 2 to 7.

What goes in: stereo float32, full scale 1.0, at 22.05 to 96 kHz (other rates work; below 16 kHz the filter departs from
the standard's curve). What comes out: one number for all of it. The filter is in `kweighting`; here is the gating.

Left out on purpose: momentary and short-term loudness, loudness range, more than two channels.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mixer.signal.blocks import Samples, as_stereo, in_blocks
from mixer.signal.kweighting import WeightedEnergy

OFFSET_LUFS = -0.691
"""Makes a 997 Hz sine at full scale in one channel read -3.01 (BS.1770-4, equation 2)."""
ABSOLUTE_GATE_LUFS = -70.0
"""Gating blocks have to be louder than this (equation 6)."""
RELATIVE_GATE_LU = -10.0
"""... and louder than this below the mean of those that are (equation 7)."""
GATING_HOPS = 4
"""A gating block of 400 ms is four hops of 100 ms: 75 % overlap."""
LOOP_SECONDS = 3.0
"""A loop is repeated until it is at least this long, so that cutting it into whole chunks makes little difference."""
QUIET_FRAMES = 64
"""A little more than the longest chunk."""
DECISION_DECIMALS = 2
"""Loudness that decides a gain is rounded to 0.01 dB, so that no rounding inside a matrix product reaches a sample."""


def gated_loudness(hop_energies: NDArray[np.float64], hop_frames: int) -> float:
    """Loudness from the K-weighted energy of each 100 ms, in LUFS; minus infinity if nothing passes the gates."""
    if len(hop_energies) < GATING_HOPS:
        return -np.inf
    blocks = np.lib.stride_tricks.sliding_window_view(hop_energies, GATING_HOPS)
    return _gated(blocks.sum(axis=1) / (GATING_HOPS * hop_frames))


def _gated(powers: NDArray[np.float64]) -> float:
    """Loudness from the mean K-weighted power of each gating block (equations 5 to 7)."""
    kept = powers[powers > _power(ABSOLUTE_GATE_LUFS)]
    if not len(kept):
        return -np.inf
    kept = kept[kept > kept.mean() * 10 ** (RELATIVE_GATE_LU / 10)]
    return float(OFFSET_LUFS + 10 * np.log10(kept.mean()))


def _power(loudness_lufs: float) -> float:
    return float(10 ** ((loudness_lufs - OFFSET_LUFS) / 10))


class LoudnessMeter:
    """Integrated loudness of sound that comes in blocks of any size.

    Keeps eight bytes for each 100 ms; the result does not depend on how the sound was split into blocks.

    Parameters
    ----------
    rate_hz : int, frames per second
    """

    def __init__(self, rate_hz: int) -> None:
        self._weighted = WeightedEnergy(rate_hz)
        self._hops = HopEnergies(self._weighted.chunks_per_hop)
        self._flushed = False

    def feed(self, block: Samples) -> None:
        """Take in the next block, shape (frames, 2)."""
        if self._flushed:
            raise ValueError("the meter has been read; a new sound needs a new meter")
        self._hops.feed(self._weighted.feed(block))

    def integrated_lufs(self) -> float:
        """Loudness of all that was fed; minus infinity if no 400 ms of it are louder than -70 LUFS."""
        if not self._flushed:
            self._hops.feed(self._weighted.flush())
            self._flushed = True
        return gated_loudness(self._hops.energies(), self._weighted.chunks_per_hop * self._weighted.chunk_frames)


class HopEnergies:
    """Sums chunk energies over hops of 100 ms; `count` of them are complete."""

    def __init__(self, chunks_per_hop: int) -> None:
        self._chunks_per_hop = chunks_per_hop
        self._rest = np.zeros(0)
        self._done: list[NDArray[np.float64]] = []
        self.count = 0

    def feed(self, chunk_energies: NDArray[np.float32]) -> None:
        """Take in the next chunks."""
        chunks = np.concatenate([self._rest, chunk_energies])
        whole = len(chunks) // self._chunks_per_hop * self._chunks_per_hop
        self._done.append(chunks[:whole].reshape(-1, self._chunks_per_hop).sum(axis=1))
        self._rest = chunks[whole:].copy()
        self.count += len(self._done[-1])

    def energies(self) -> NDArray[np.float64]:
        """Energy of each complete hop so far."""
        return np.concatenate(self._done) if self._done else np.zeros(0)


def integrated_loudness(samples: Samples, rate_hz: int) -> float:
    """How loud the whole recording is, in LUFS (ITU-R BS.1770-4, equations 3 to 7).

    Parameters
    ----------
    samples : float array, shape (frames, 2), full scale 1.0
    rate_hz : int > 0, frames per second

    Returns
    -------
    float : LUFS; minus infinity if no 400 ms block is louder than -70 LUFS
    """
    meter = LoudnessMeter(rate_hz)
    for block in in_blocks(as_stereo(samples)):
        meter.feed(block)
    return meter.integrated_lufs()


def loop_loudness(samples: Samples, rate_hz: int) -> float:
    """How loud a circular loop is while it repeats, in LUFS.

    Gating blocks begin at every chunk of about a millisecond and reach round the join, so that each part of the loop
    counts alike and it does not matter where the loop begins. A plain meter, whose blocks begin every 100 ms, reads the
    same of many repetitions, and up to 0.2 LU more or less of one.

    Parameters
    ----------
    samples : float array, shape (frames, 2), full scale 1.0; may be as short as one frame
    rate_hz : int > 0, frames per second

    Returns
    -------
    float : LUFS, rounded to 0.01 since gains are made of it; minus infinity for silence
    """
    loop = as_stereo(samples)
    if not len(loop):
        return -np.inf
    weighted = WeightedEnergy(rate_hz)
    block_chunks = GATING_HOPS * weighted.chunks_per_hop
    repetitions = -(-int(LOOP_SECONDS * rate_hz) // len(loop))
    chunks = round(repetitions * len(loop) / weighted.chunk_frames)
    start = _quietest(loop)
    # What the filter remembers is gone after one gating block.
    warm_up = start - block_chunks * weighted.chunk_frames
    sound = _circular(loop, warm_up, start + chunks * weighted.chunk_frames)
    energies = np.concatenate([*(weighted.feed(block) for block in sound), weighted.flush()])[block_chunks:]
    ring = np.cumsum(np.resize(energies, chunks + block_chunks), dtype=np.float64)
    powers = (ring[block_chunks:] - ring[:-block_chunks]) / (block_chunks * weighted.chunk_frames)
    return round_loudness(_gated(powers))


def round_loudness(loudness_lufs: float) -> float:
    """To the nearest 0.01 dB; minus infinity stays."""
    return round(loudness_lufs, DECISION_DECIMALS)


def _quietest(loop: Samples) -> int:
    """A frame with little sound around it: whole chunks never fit a loop, and here what is over weighs nothing."""
    cells = len(loop) // QUIET_FRAMES
    if not cells:
        return 0
    powers = np.square(loop[: cells * QUIET_FRAMES]).reshape(cells, -1).sum(axis=1)
    return int(powers.argmin()) * QUIET_FRAMES + QUIET_FRAMES // 2


def _circular(loop: Samples, start: int, end: int) -> list[Samples]:
    """Frames start to end (end not included) of the endlessly repeated loop, as views; very short loops are tiled."""
    if len(loop) < 4096:
        loop = np.tile(loop, (-(-4096 // len(loop)), 1))
    pieces = []
    while start < end:
        at = start % len(loop)
        pieces.append(loop[at : at + end - start])
        start += len(pieces[-1])
    return pieces
