"""What is wrong with a sound file, whatever it plays: clipped, off centre, a dead channel, opposite phases."""

from __future__ import annotations

import numpy as np

from mixer.signal.blocks import Samples

# So many samples in a row at the same extreme are no music.
CLIPPED_RUN, CLIPPED_RUNS = 4, 3
DC_LEVEL = 0.008
SILENT_CHANNEL_DB = 50.0
ANTI_PHASE = -0.9
SOFT_LUFS = -36.0
# A join that jumps by so many times the usual step nearby is heard as a click.
CLICK_TIMES, CLICK_LEAST = 8.0, 0.02


def faults(samples: Samples, loudness_lufs: float) -> list[str]:
    """Name what is wrong, in a fixed order.

    Parameters
    ----------
    samples : float32 array, shape (frames, 2)
    loudness_lufs : of the whole
    """
    found = []
    if loudness_lufs < SOFT_LUFS:
        found.append("very soft")
    if _clipped(samples):
        found.append("clipped")
    means = samples.mean(axis=0, dtype=np.float64)
    level = float(np.sqrt(np.square(samples - means).mean()))
    if np.abs(means).max() > max(DC_LEVEL, 0.06 * level):
        found.append("DC")
    powers = np.square(samples - means, dtype=np.float64).mean(axis=0)
    if powers.min() < powers.max() * 10 ** (-SILENT_CHANNEL_DB / 10):
        found.append("one channel silent")
    else:
        left, right = (samples - means).T
        if float(np.dot(left, right)) / len(samples) < ANTI_PHASE * float(np.sqrt(powers.prod())):
            found.append("anti-phase")
    return found


def _clipped(samples: Samples) -> bool:
    """Runs of samples that stay at the highest level: rare in sound, common where it was cut off."""
    runs = 0
    for channel in samples.T:
        for sign in (1, -1):
            peak = float((sign * channel).max())
            if peak < 0.1:
                continue
            flat = np.concatenate([[False], sign * channel > peak * 0.9999, [False]])
            edges = np.flatnonzero(flat[1:] != flat[:-1])
            runs += int(((edges[1::2] - edges[::2]) >= CLIPPED_RUN).sum())
    return runs >= CLIPPED_RUNS


def join_clicks(samples: Samples, first: int, last: int) -> bool:
    """Whether going from the last frame of a loop to its first jumps as the sound around it does not.

    A loop that begins with a hit after a rest jumps too, and that is no click: only a jump away from sound counts, one
    that the last frames could not lead to.
    """
    loop = samples[first:last]
    if len(loop) < 256:
        return False
    jump = np.abs(loop[0] - loop[-1]).max()
    before, after = (np.abs(np.diff(part, axis=0)) for part in (loop[-128:], loop[:128]))
    usual = float(max(np.quantile(before, 0.98), np.quantile(after, 0.98)))
    level = float(np.abs(samples).max())
    return bool(jump > CLICK_TIMES * usual and jump > CLICK_LEAST * level)
