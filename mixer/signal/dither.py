"""From float samples to 16 or 24 bits without distortion: TPDF dither, then rounding.

Rounding alone makes an error that follows the sound and is heard as distortion. Noise with a triangular distribution,
two steps wide from peak to peak (the difference of two uniform numbers), makes the error's mean and power independent
of the sound: a steady hiss at -93.3 dBFS for 16 bits (Lipshitz, Wannamaker, Vanderkooy, "Quantization and dither",
JAES 40(5), 1992: from memory).

The noise depends on the absolute frame and nothing else, so any part of a song can be written on its own and gets
the same bytes. It is read from a table of 2.7 s; every 1024 frames each read starts somewhere else in it, chosen by a
hash of the frame, so nothing repeats that could be heard. The channels have different noise.

Digital silence is dithered like everything else: the floor then stays the same through a pause, where noise that
comes and goes would draw the ear. Whoever wants silence that is all zeros writes float.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.lib.stride_tricks import as_strided
from numpy.typing import NDArray

from mixer.signal.blocks import Samples

RUN_FRAMES = 1024
TABLE_FRAMES = 1 << 17
_PIECE_FRAMES = 1 << 12  # made at a time: what stays in the cache is made in half the time
_HASH_MASK = (1 << 64) - 1
_GOLDEN = 0x9E3779B97F4A7C15


def to_pcm16(samples: Samples, first_frame: int) -> NDArray[np.int16]:
    """Dithered to 16 bits; shape (frames, 2).

    Parameters
    ----------
    samples : float32, shape (frames, 2), full scale 1.0; what exceeds full scale is clipped
    first_frame : int >= 0, where the samples begin in the song
    """
    scaled: Samples = samples * np.float32(32768.0)
    scaled += triangular_noise(first_frame, len(samples))
    np.rint(scaled, out=scaled)
    np.clip(scaled, -32768.0, 32767.0, out=scaled)
    return scaled.astype(np.int16)


def to_pcm24(samples: Samples, first_frame: int) -> NDArray[np.int32]:
    """Dithered to 24 bits, as whole numbers from -2**23 to 2**23 - 1; shape (frames, 2). As `to_pcm16` otherwise."""
    # A float32 has no room below the last of 24 bits for the noise.
    scaled = samples.astype(np.float64) * 8388608.0
    scaled += triangular_noise(first_frame, len(samples))
    np.rint(scaled, out=scaled)
    np.clip(scaled, -8388608.0, 8388607.0, out=scaled)
    return scaled.astype(np.int32)


def triangular_noise(first_frame: int, length_frames: int) -> Samples:
    """The dither of these frames in steps of the last bit, within -1 and 1; shape (length_frames, 2)."""
    first, offset = divmod(first_frame, RUN_FRAMES)
    last = -(-(first_frame + length_frames) // RUN_FRAMES)
    starts = [_hash(run) % (TABLE_FRAMES - RUN_FRAMES) for run in range(first, last)]
    return _runs()[np.array(starts, np.intp)].reshape(-1, 2)[offset : offset + length_frames]


@lru_cache(maxsize=1)
def _runs() -> Samples:
    """Every run of the table, by where it begins; shape (starts, frames, 2)."""
    table = _table()
    return as_strided(table, (TABLE_FRAMES - RUN_FRAMES, RUN_FRAMES, 2), (table.strides[0], *table.strides))


def _hash(number: int) -> int:
    """A well-mixed 64-bit number for each number (the finaliser of SplitMix64)."""
    mixed = (number + 1) * _GOLDEN & _HASH_MASK
    mixed = (mixed ^ (mixed >> 30)) * 0xBF58476D1CE4E5B9 & _HASH_MASK
    mixed = (mixed ^ (mixed >> 27)) * 0x94D049BB133111EB & _HASH_MASK
    return mixed ^ (mixed >> 31)


@lru_cache(maxsize=1)
def _table() -> Samples:
    """Triangular noise; the same on every machine and with every version of numpy, since made by the same hash."""
    noise = np.empty((TABLE_FRAMES, 2), np.float32)
    for start in range(0, TABLE_FRAMES, _PIECE_FRAMES):
        numbers = np.arange(2 * start, 2 * (start + _PIECE_FRAMES), dtype=np.uint64) + np.uint64(1 << 32)
        mixed = numbers * np.uint64(_GOLDEN)
        mixed = (mixed ^ (mixed >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
        mixed = (mixed ^ (mixed >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
        mixed ^= mixed >> np.uint64(31)
        # Each half of a number is a uniform number of its own.
        halves = mixed.view(np.uint32).reshape(-1, 2).astype(np.int64)
        noise[start : start + _PIECE_FRAMES] = ((halves[:, 0] - halves[:, 1]) / 2.0**32).reshape(-1, 2)
    noise.flags.writeable = False
    return noise
