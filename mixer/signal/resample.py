"""A circular loop at another number of frames: for another sample rate, or to turn length into pitch.

soxr resamples; this wraps enough of the loop round both ends that its filters never see an end, and cuts the
result to the exact length. The context is chosen so that it is as nearly as can be a whole number of frames on
both sides of the change, so that nothing is shifted either.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.float32]

# Longer than soxr's filters at any ratio used here.
LEAST_CONTEXT_FRAMES = 2048
# Whole rounds fit exactly; loops longer than this find a good fit without.
MOST_CONTEXT_FRAMES = 100_000
NEAR_ENOUGH_FRAMES = 1e-4


def resample_loop(samples: Samples, length_frames: int, quality: str = "VHQ") -> Samples:
    """The same circular sound in another number of frames.

    Parameters
    ----------
    samples : float32 array, shape (frames, channels), circular, at least one frame
    length_frames : int > 0
    quality : soxr's name for it; "HQ" takes half as long, and still keeps 20 bits and nine tenths of the band

    Returns
    -------
    float32 array, shape (length_frames, channels), circular; the input itself if the length is the same
    """
    if length_frames == len(samples):
        return samples
    import soxr  # noqa: PLC0415  # loaded only where something is resampled: start-up is part of the product

    context, skip = _context(len(samples), length_frames)
    # soxr takes a third less time where each channel lies by itself.
    wrapped = np.pad(samples.T.copy(), ((0, 0), (context, context)), mode="wrap").T
    resampled = soxr.resample(wrapped, len(samples), length_frames, quality=quality)
    return np.stack(resampled[skip : skip + length_frames].T, axis=1)


def _context(frames: int, length_frames: int) -> tuple[int, int]:
    """Frames to add before and after, and how many they become: the pair nearest to whole numbers."""
    scale = max(1.0, frames / length_frames)
    least = int(LEAST_CONTEXT_FRAMES * scale)
    shared = math.gcd(frames, length_frames)
    every, becomes = frames // shared, length_frames // shared
    if every <= LEAST_CONTEXT_FRAMES:  # a simple ratio: the least that fits exactly, without trying all
        times = -(-least // every)
        return times * every, times * becomes
    contexts = np.arange(least, least + min(frames, MOST_CONTEXT_FRAMES) + 1)
    become = contexts * length_frames / frames
    off_frames = np.abs(become - np.round(become))
    best = int(np.argmin(np.maximum(off_frames, NEAR_ENOUGH_FRAMES)))
    return int(contexts[best]), round(float(become[best]))
