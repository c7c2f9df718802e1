"""Noise with a colour: the breath, wire, grain and attack of sounds.

The colour is given as points (hz, dB) of a line over the logarithm of frequency. Noise is coloured before it gets its
envelope, so nothing sounds before its start.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from demo_loops.making.ring import RATE_HZ, Sound

Colour = Sequence[tuple[float, float]]


def gain_at(hz: Sound, colour: Colour) -> Sound:
    """Gain of a colour at these frequencies; level outside its first and last point."""
    points_hz, points_db = zip(*colour, strict=True)
    level_db = np.interp(np.log(np.maximum(hz, 1.0)), np.log(points_hz), points_db)
    return 10 ** (level_db / 20)


def coloured(random: np.random.RandomState, seconds: float, colour: Colour) -> Sound:
    """Noise of RMS 1 in this colour."""
    frames = max(1, round(seconds * RATE_HZ))
    # A length that grows only by doubling keeps the draws of a short and a long sound alike from the start.
    size = 1 << max(10, (frames - 1).bit_length())
    spectrum = np.fft.rfft(random.standard_normal(size))
    hz = np.fft.rfftfreq(size, 1 / RATE_HZ)
    noise = np.fft.irfft(spectrum * gain_at(hz, colour), size)[:frames]
    return noise / np.sqrt(np.mean(noise**2))


def burst(random: np.random.RandomState, seconds: float, colour: Colour, decay_s: float) -> Sound:
    """Noise that starts at once and falls to 1/e in `decay_s`."""
    noise = coloured(random, seconds, colour)
    return noise * np.exp(-np.arange(len(noise)) / RATE_HZ / decay_s)
