"""Whether what begins somewhere is a hit: a stroke, a pluck, a tongued note; or comes softly, as breath and bow do.

A hit covers what is done just before it. Before anything else a sound has to give way slowly, and what begins softly
begins before it is heard.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mixer.signal.windows import Frames, Samples

# It is so many times brighter (power of the third difference) in so long after it begins than in as long before.
HIT_TIMES, SECONDS = 50.0, 0.01
# So much is enough for an attack that is clear to hear, but covers nothing.
CLEAR_TIMES, CLEAR_SECONDS = 10.0, 0.005
BRIGHT = 3
# What is so much fainter than the loop's loudest frame is silence.
SILENCE = 1e-6


def are_hits(samples: Samples, rate_hz: int, places: Frames) -> NDArray[np.bool_]:
    """Whether at these places of a circular loop a hit begins.

    Parameters
    ----------
    samples : float32 array, shape (frames, channels), circular
    rate_hz : int > 0
    places : int64 array of frames

    Returns
    -------
    bool array, one for each place
    """
    return _are_brighter(samples, places, max(2, round(SECONDS * rate_hz)), HIT_TIMES)


def are_clear(samples: Samples, rate_hz: int, places: Frames) -> NDArray[np.bool_]:
    """Whether at these places an attack is clear to hear. Arguments and result as for `are_hits`."""
    return _are_brighter(samples, places, max(2, round(CLEAR_SECONDS * rate_hz)), CLEAR_TIMES)


def _are_brighter(samples: Samples, places: Frames, count: int, times: float) -> NDArray[np.bool_]:
    """Whether so many frames from each place on are so many times brighter than as many before."""
    if len(places) == 0:
        return np.zeros(0, np.bool_)
    around = samples.take(places[:, None] + np.arange(-count - BRIGHT, count), axis=0, mode="wrap")
    bright = np.square(np.diff(around.astype(np.float64), BRIGHT, axis=1)).sum(axis=2)
    silence = count * (SILENCE * float(max(samples.max(), -samples.min()))) ** 2
    brighter: NDArray[np.bool_] = bright[:, count:].sum(axis=1) > times * (bright[:, :count].sum(axis=1) + silence)
    return brighter
