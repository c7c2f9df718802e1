"""The signals that the standards describe, made here: sines of a given peak level, and how a finished file is read."""

from __future__ import annotations

import numpy as np

from mixer.signal.blocks import Samples


def sine(level_dbfs: float, seconds: float, rate_hz: int, freq_hz: float = 1000.0) -> Samples:
    """The same sine in both channels; the level is that of its peak."""
    time = np.arange(round(seconds * rate_hz)) / rate_hz
    return both(10 ** (level_dbfs / 20) * np.sin(2 * np.pi * freq_hz * time))


def both(mono) -> Samples:
    return np.repeat(np.asarray(mono)[:, None], 2, axis=1).astype(np.float32)


def steps(levels_and_seconds, rate_hz: int) -> Samples:
    return np.concatenate([sine(level, seconds, rate_hz) for level, seconds in levels_and_seconds])


def faded(mono, rate_hz: int, seconds: float = 0.01):
    """Faded in and out over 10 ms, as Tech 3341 asks for in case 15."""
    count = round(seconds * rate_hz)
    shape = np.ones(len(mono))
    shape[:count] = np.arange(count) / count
    shape[-count:] = shape[:count][::-1]
    return mono * shape
