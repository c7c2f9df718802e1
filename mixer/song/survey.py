"""What one pass over a mix tells about it: energy by the millisecond and peaks by the cell, in a few bytes each.

Which cells need a true peak depends on the gain, which is known only at the end. So the gain is guessed while the
mix goes by, on the safe side; only if the guess turns out to have been too low are the peaks taken again.
"""

from __future__ import annotations

from copy import deepcopy
from typing import TYPE_CHECKING, Protocol

import numpy as np
from numpy.typing import NDArray

from mixer.record import record
from mixer.signal.blocks import Samples, reblocked
from mixer.signal.kweighting import HOPS_PER_SECOND, WeightedEnergy
from mixer.signal.limiter import level_steps
from mixer.signal.loudness import GATING_HOPS, HopEnergies, gated_loudness
from mixer.signal.truepeak import CellPeaks

if TYPE_CHECKING:
    from collections.abc import Iterator

GUESS_MARGIN_DB = 2.0
"""The guess of the gain may be this much too low before peaks have to be taken again."""


STOP_FRAMES = 1 << 18
"""About six seconds: what is kept of a survey on its way is a few bytes, but copying it takes time."""


class Mix(Protocol):
    """The unfinished song. Going through it again gives the same bytes; a block need only last until the next."""

    @property
    def rate_hz(self) -> int:
        """Frames per second."""

    @property
    def length_frames(self) -> int:
        """How many frames all blocks have together."""

    def blocks(self) -> Iterator[Samples]:
        """The sound from the start, shape (frames, 2) each, of any length."""


@record
class Survey:
    """A mix, measured before the finish.

    Attributes
    ----------
    rate_hz, length_frames : of the mix
    chunk_energies : K-weighted energy of each chunk, float32
    chunk_frames, chunks_per_hop : how long a chunk is, and how many make 100 ms
    levels : level of each 16-frame cell in 1/64 dB, int16; a true peak where it is `resolved_above` or higher
    peak : highest true peak of all, linear
    resolved_above : linear
    """

    rate_hz: int
    length_frames: int
    chunk_energies: NDArray[np.float32]
    chunk_frames: int
    chunks_per_hop: int
    levels: NDArray[np.int16]
    peak: float
    resolved_above: float

    @property
    def hop_frames(self) -> int:
        """Frames in 100 ms."""
        return self.chunk_frames * self.chunks_per_hop

    def loudness_lufs(self) -> float:
        """Integrated loudness of the mix."""
        return gated_loudness(self.hop_energies(), self.hop_frames)

    def hop_energies(self) -> NDArray[np.float64]:
        """Energy of each complete 100 ms: K-weighted, shape (hops,)."""
        hops = HopEnergies(self.chunks_per_hop)
        hops.feed(self.chunk_energies)
        return hops.energies()


class _Guess:
    """The level from which peaks matter, guessed from the loudness so far."""

    def __init__(self, room_db: float, chunk_frames: int, chunks_per_hop: int) -> None:
        self._room_db = room_db
        self._hop_frames = chunk_frames * chunks_per_hop
        self._hops = HopEnergies(chunks_per_hop)
        self._waiting: list[NDArray[np.float32]] = []
        self._chunks, self._chunks_at_next_look = 0, GATING_HOPS * chunks_per_hop
        self._chunks_per_hop = chunks_per_hop
        self.above = np.inf

    def feed(self, chunk_energies: NDArray[np.float32]) -> None:
        self._waiting.append(chunk_energies)
        self._chunks += len(chunk_energies)
        if self._chunks >= self._chunks_at_next_look:
            self._hops.feed(np.concatenate(self._waiting))
            self._waiting.clear()
            self._chunks_at_next_look = (self._hops.count * 9 // 8 + 1) * self._chunks_per_hop
            loudness = gated_loudness(self._hops.energies(), self._hop_frames)
            self.above = float(10 ** ((loudness + self._room_db - GUESS_MARGIN_DB) / 20))


class _Going:
    """What a survey knows after some blocks."""

    def __init__(self, rate_hz: int, room_db: float) -> None:
        self.asked = (rate_hz, room_db)
        self.weighted = WeightedEnergy(rate_hz)
        self.guess = _Guess(room_db, self.weighted.chunk_frames, self.weighted.chunks_per_hop)
        self.energies: list[NDArray[np.float32]] = []
        self.peaks = PeakSurvey()

    def feed(self, block: Samples) -> None:
        samples = block.reshape(-1)
        if not np.isfinite(np.dot(samples, samples)):  # a third of the time of looking at each; sound is not as loud
            raise ValueError("the mix holds values that are not finite numbers")
        self.energies.append(self.weighted.feed(block))
        self.guess.feed(self.energies[-1])
        self.peaks.feed(block, self.guess.above)


class Stops:
    """Where a survey stood on its way, so that one of a mix that begins the same can go on from there."""

    def __init__(self) -> None:
        self._stops: list[_Going] = []

    def before(self, same_frames: int, rate_hz: int, room_db: float) -> _Going:
        """Give the last stop in the frames that are the same, and forget those behind it."""
        self._stops = [
            stop for stop in self._stops if stop.peaks.length_frames <= same_frames and stop.asked == (rate_hz, room_db)
        ]
        return deepcopy(self._stops[-1]) if self._stops else _Going(rate_hz, room_db)

    def take(self, going: _Going) -> None:
        """Keep where a survey stands, now and then."""
        last = self._stops[-1].peaks.length_frames if self._stops else 0
        if going.peaks.length_frames >= last + STOP_FRAMES:
            self._stops.append(deepcopy(going))


def survey(mix: Mix, room_db: float, stops: Stops | None = None, same_frames: int = 0) -> Survey:
    """Go through a mix once and measure it.

    Parameters
    ----------
    mix : the unfinished song
    room_db : from the loudness that is asked for up to the ceiling, in dB
    stops : of the survey before, and for the next one
    same_frames : so many frames from the start are those of the survey before

    Raises
    ------
    ValueError : if the mix holds values that are not finite numbers, or is not as long as it says
    """
    going = _Going(mix.rate_hz, room_db) if stops is None else stops.before(same_frames, mix.rate_hz, room_db)
    passed, at = going.peaks.length_frames, 0
    for block in reblocked(mix.blocks()):
        at += len(block)
        if at <= passed:
            continue
        going.feed(block)
        if stops is not None:
            stops.take(going)
    weighted, peaks = going.weighted, going.peaks
    going.energies += [weighted.feed(silence_after(peaks.length_frames, mix.rate_hz)), weighted.flush()]
    if peaks.length_frames != mix.length_frames:
        raise ValueError(f"the mix says it has {mix.length_frames} frames, but gave {peaks.length_frames}")
    return Survey(
        mix.rate_hz,
        mix.length_frames,
        np.concatenate(going.energies),
        weighted.chunk_frames,
        weighted.chunks_per_hop,
        *peaks.result(),
    )


def silence_after(length_frames: int, rate_hz: int) -> Samples:
    """Silence, shape (frames, 2), with which a mix shorter than one gating block is measured; no frames for others."""
    shortest = -(-GATING_HOPS * rate_hz // HOPS_PER_SECOND) + 1
    return np.zeros((max(0, shortest - length_frames), 2), np.float32)


class PeakSurvey:
    """Gathers the levels of all cells."""

    def __init__(self) -> None:
        self.length_frames = 0
        self._cells = CellPeaks()
        self._levels: list[NDArray[np.int16]] = []
        self._peak = 0.0
        self._resolved_above = 0.0

    def feed(self, block: Samples, above: float) -> None:
        """Take in the next block; cells that could rise above `above` (linear), or all peaks so far, get true peaks."""
        self.length_frames += len(block)
        above = min(above, self._peak)
        self._take(self._cells.feed(block, above), above)

    def result(self) -> tuple[NDArray[np.int16], float, float]:
        """Give level steps of all cells, shape (cells,), the highest peak, and from where on all true peaks are known.

        The last two are linear, 1.0 full scale.
        """
        above = min(self._resolved_above, self._peak)
        self._take(self._cells.flush(above), above)
        return np.concatenate(self._levels), self._peak, self._resolved_above

    def _take(self, peaks: NDArray[np.float32], above: float) -> None:
        self._levels.append(level_steps(peaks).astype(np.int16))
        self._peak = max(self._peak, float(peaks.max(initial=0.0)))
        self._resolved_above = max(self._resolved_above, above)


def resolve_peaks(mix: Mix, above: float) -> tuple[NDArray[np.int16], float, float]:
    """Take the peaks of a mix again, with all true peaks from `above` (linear) on; see `PeakSurvey.result`."""
    peaks = PeakSurvey()
    for block in reblocked(mix.blocks()):
        peaks.feed(block, above)
    return peaks.result()
