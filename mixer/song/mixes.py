"""A program that makes many songs adds each one up once: the mix stays in memory until it is written.

The memory is set aside when a second song is made and used again for all that follow. For one song it would be no gain:
touching new memory takes as long as mixing again.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from mixer.signal.blocks import BLOCK_FRAMES, Samples
from mixer.song.mix import Mix
from mixer.song.survey import Mix as AnyMix

MOST_FRAMES = 8_000_000
"""Three minutes, 64 MB; only what songs fill of it is taken. Longer songs are mixed twice."""


class Mixes:
    """Memory for the mix of one song after another.

    Parameters
    ----------
    most_frames : of a mix that is kept
    """

    def __init__(self, most_frames: int = MOST_FRAMES) -> None:
        self._most_frames = most_frames
        self._is_first = True
        self._sound: Samples | None = None
        self._last: _KeptMix | None = None

    def kept(self, mix: Mix) -> AnyMix:
        """Give the same mix, which need not be made again for its second pass; of the one before nothing is kept."""
        is_first, self._is_first = self._is_first, False
        if is_first or mix.length_frames > self._most_frames:
            return mix
        if self._sound is None:
            try:
                self._sound = np.empty((self._most_frames, 2), np.float32)
            except MemoryError:
                return mix
        self._last = _KeptMix(mix, self, self._sound)
        return self._last

    def belong_to(self, mix: AnyMix) -> bool:
        """Whether it is this mix that is in memory."""
        return mix is self._last


class _KeptMix:
    """A mix that is in memory as far as it was gone through, for as long as no other takes its place."""

    def __init__(self, mix: Mix, mixes: Mixes, sound: Samples) -> None:
        self._mix = mix
        self._mixes = mixes
        self._sound = sound
        self._mixed_frames = 0

    @property
    def rate_hz(self) -> int:
        """Frames per second."""
        return self._mix.rate_hz

    @property
    def length_frames(self) -> int:
        """How many frames all blocks have together."""
        return self._mix.length_frames

    def blocks(self) -> Iterator[Samples]:
        """The sound from the start, shape (frames, 2) each; not to be written to."""
        scratch = np.empty((BLOCK_FRAMES, 2), np.float32)
        for start, end in self._mix.spans():
            if not self._mixes.belong_to(self):
                yield self._mix.added_up(start, np.empty((end - start, 2), np.float32), scratch)
                continue
            block = self._sound[start:end]
            if end > self._mixed_frames:
                self._mix.added_up(start, block, scratch)
                self._mixed_frames = end
            yield block
