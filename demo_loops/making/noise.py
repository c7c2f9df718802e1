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
    # One draw, however long the sound: what is drawn next must not depend on the tempo. And sizes that grow only by
    # doubling, with a level that does not depend on the piece: a short and a long sound begin nearly alike.
    own = np.random.RandomState(random.randint(1 << 31))
    frames = max(1, round(seconds * RATE_HZ))
    size = 1 << max(14, (frames - 1).bit_length())
    gain = gain_at(np.fft.rfftfreq(size, 1 / RATE_HZ), colour)
    noise = np.fft.irfft(np.fft.rfft(own.standard_normal(size)) * gain, size)[:frames]
    return noise / np.sqrt(np.mean(gain**2))


def burst(random: np.random.RandomState, seconds: float, colour: Colour, decay_s: float) -> Sound:
    """Noise that starts at once and falls to 1/e in `decay_s`."""
    noise = coloured(random, seconds, colour)
    return noise * np.exp(-np.arange(len(noise)) / RATE_HZ / decay_s)
