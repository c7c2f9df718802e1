"""A song that is made again and again while it is being written: what need not be made anew is kept in memory.

Kept are the materials of the last time and the mixed blocks, each with everything that it was made of. What is made of
the same again is taken from here; so the song is the same, byte for byte, as if nothing were kept. A block is found
by what it is made of and where it stands, not by comparing recipes. A song that begins as before is measured from where
it begins to differ.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping
from pathlib import Path

import numpy as np

from mixer.material import kinds
from mixer.material.fit import Fit, Frame, Material
from mixer.record import record
from mixer.signal.blocks import BLOCK_FRAMES, Samples
from mixer.song.finish import Finished, finish
from mixer.song.mix import Mix
from mixer.song.plan import Plan
from mixer.song.survey import Mix as AnyMix
from mixer.song.survey import Stops, survey
from mixer.store.cache import Cache

FRAME_BYTES = 8
LONGEST_BYTES = 80_000_000
"""Mixes that take more, about four minutes, are not kept."""


class Again:
    """What is kept of one song, from each time that it is made to the next."""

    def __init__(self) -> None:
        self._materials: dict[Hashable, Material] = {}
        self._used: dict[Hashable, Material] = {}
        self._blocks: dict[int, _Block] = {}
        self._stops = Stops()

    @property
    def size_bytes(self) -> int:
        """How much memory it takes."""
        samples = [material.samples for material in self._materials.values()]
        return sum(each.nbytes for each in [*samples, *(block.samples for block in self._blocks.values())])

    def material(self, fit: Fit, frame: Frame, rate_hz: int, cache: Cache | None = None) -> Material:
        """Take a material that was used the last time, or make it; see `mixer.material.kinds.make`."""
        seen = _seen(fit.card.path)
        key = (fit, frame, rate_hz, seen)
        material = self._materials.get(key) or self._used.get(key)
        if material is None:
            material = kinds.make(fit, frame, rate_hz, cache)
        if seen is not None and seen == _seen(fit.card.path):  # it was not replaced while it was read
            self._used[key] = material
        return material

    def finished(self, plan: Plan, materials: Mapping[str, Material]) -> Finished:
        """Finish a song, whose materials are what `material` gave; it is measured from where it begins to differ."""
        mix = self.mix(plan, materials)
        if not isinstance(mix, _Remembered):
            return finish(mix)
        same_frames = mix.same_frames()
        return finish(mix, measure=lambda mix, room_db: survey(mix, room_db, self._stops, same_frames))

    def mix(self, plan: Plan, materials: Mapping[str, Material]) -> AnyMix:
        """Mix a song, whose materials are what `material` gave; the last song's mix is then forgotten."""
        self._materials, self._used = self._used, {}
        mix = Mix(plan, materials)
        if mix.length_frames * FRAME_BYTES > LONGEST_BYTES:
            self._blocks = {}
            return mix
        before, self._blocks = self._blocks, {}
        return _Remembered(mix, before, self._blocks)


@record
class _Block:
    """A mixed block, and all that it was made of."""

    made_of: Hashable
    samples: Samples


class _Remembered:
    """A mix that takes from memory what it can, and fills it by the way."""

    def __init__(self, mix: Mix, before: Mapping[int, _Block], now: dict[int, _Block]) -> None:
        self._mix = mix
        self._before = before
        self._now = now

    @property
    def rate_hz(self) -> int:
        """Frames per second."""
        return self._mix.rate_hz

    @property
    def length_frames(self) -> int:
        """How many frames all blocks have together."""
        return self._mix.length_frames

    def same_frames(self) -> int:
        """How many frames from the start are those of the mix before."""
        for start, end in self._mix.spans():
            before = self._kept(start, end, self._mix.made_of(start, end))
            if before is None:
                return start
            self._now[start] = before
        return self.length_frames

    def blocks(self) -> Iterator[Samples]:
        """The sound from the start, shape (frames, 2) each; not to be written to."""
        scratch = np.empty((BLOCK_FRAMES, 2), np.float32)
        for start, end in self._mix.spans():
            if start not in self._now:
                self._now[start] = self._block(start, end, scratch)
            yield self._now[start].samples

    def _block(self, start: int, end: int, scratch: Samples) -> _Block:
        made_of = self._mix.made_of(start, end)
        before = self._kept(start, end, made_of)
        if before is not None:
            return before
        samples = self._mix.added_up(start, np.empty((end - start, 2), np.float32), scratch)
        samples.flags.writeable = False
        return _Block(made_of, samples)

    def _kept(self, start: int, end: int, made_of: Hashable) -> _Block | None:
        """Give the block of the mix before, if it was made of the same."""
        before = self._before.get(start)
        same = before is not None and before.made_of == made_of and len(before.samples) == end - start
        return before if same else None


def _seen(path: Path) -> tuple[int, int, int] | None:
    """What tells a file from one that replaces it, without reading it; None where it cannot be seen."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_size, found.st_mtime_ns, found.st_ino
