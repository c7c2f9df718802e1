"""Sound comes in blocks: the shape that all sound has here, and how much of it is handled at a time.

A song is mixed, measured and written block by block, so that memory does not grow with its length. Nothing that
comes out depends on the size of the blocks; it only decides how well the work fits the processor's cache.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

Samples = NDArray[np.float32]
"""Sound: float32, shape (frames, 2), full scale 1.0."""

BLOCK_FRAMES = 65536
"""Frames in a block where nothing else asks for another number: 512 KiB. With 16,384 or 131,072 whole songs took a
tenth longer: small ones make more steps, large ones leave the processor's cache."""

# The C library of Linux gives memory back to the system when it is done with, and gets the next anew, page by page: all
# that is larger than the largest piece that came and went, and whatever is free beyond twice as much. A loop that is
# stretched needs 20 MB for a moment. This piece is never touched.
np.empty(1 << 24, np.uint8)


def as_stereo(samples: NDArray[np.floating]) -> Samples:
    """The same sound as float32; anything that is not (frames, 2) is refused, never guessed at."""
    if samples.ndim != 2 or samples.shape[1] != 2:
        raise ValueError(f"sound must have the shape (frames, 2), not {samples.shape}")
    return np.asarray(samples, dtype=np.float32)


def in_blocks(samples: Samples, block_frames: int = BLOCK_FRAMES) -> Iterator[Samples]:
    """Views of `samples`, one block after another; the last may be shorter."""
    for start in range(0, len(samples), block_frames):
        yield samples[start : start + block_frames]


def reblocked(blocks: Iterable[Samples], block_frames: int = BLOCK_FRAMES) -> Iterator[Samples]:
    """The same sound in blocks of one size, the last may be shorter; blocks that fit already are handed on uncopied."""
    pending = np.zeros((0, 2), np.float32)
    for block in blocks:
        joined = np.concatenate([pending, block]) if len(pending) else block
        whole = len(joined) // block_frames * block_frames
        yield from in_blocks(joined[:whole], block_frames)
        pending = joined[whole:].copy()
    if len(pending):
        yield pending
