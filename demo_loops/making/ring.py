"""Bodies that ring: sums of decaying sines (modal synthesis), and held tones with moving partials.

Strings, bars, membranes and plates all answer a blow with a set of modes, each with its frequency, its strength and
its decay. Everything is made at 44.1 kHz; arrays are float64 here, (frames,) or (frames, 2).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

RATE_HZ = 44_100
HIGHEST_HZ = 17_000.0
BLOCK = 512

Sound = npt.NDArray[np.float64]
Values = npt.ArrayLike


def seconds_axis(seconds: float) -> Sound:
    """Times of the frames of so many seconds."""
    return np.arange(max(1, round(seconds * RATE_HZ))) / RATE_HZ


def ring(hz: Values, decay_s: Values, strength: Values, seconds: float, phase: Values = 0.0) -> Sound:
    """Sum of sines that start together at phase 0 and fall to 1/e in `decay_s`.

    `strength` has shape (modes,) or, for stereo, (modes, 2). Modes above what 44.1 kHz can carry are left out. The
    sum over modes is a matrix product: exp(s (a B + b)) = exp(s a B) exp(s b).
    """
    hz, decay_s, phase = np.broadcast_arrays(np.atleast_1d(hz), decay_s, phase)
    gains = np.atleast_1d(np.asarray(strength, float)) * np.ones((len(hz),) + (1,) * (np.ndim(strength) > 1))
    heard = hz < HIGHEST_HZ
    poles = (-1 / decay_s + 2j * np.pi * hz)[heard]
    frames = max(1, round(seconds * RATE_HZ))
    coarse = np.exp(np.outer(np.arange(0, frames, BLOCK) / RATE_HZ, poles)) * np.exp(1j * phase[heard])
    fine = np.exp(np.outer(poles, np.arange(BLOCK) / RATE_HZ))
    if gains.ndim == 1:
        return ((coarse * gains[heard]) @ fine).imag.ravel()[:frames]
    sides = [((coarse * gains[heard, side]) @ fine).imag.ravel()[:frames] for side in (0, 1)]
    return np.stack(sides, axis=1)


def glide(hz_curve: Sound, phase: float = 0.0) -> Sound:
    """Sine whose frequency follows a curve."""
    return np.sin(2 * np.pi * np.cumsum(hz_curve) / RATE_HZ + phase)


def partials(hz_curve: Sound, gains: list[Sound | float]) -> Sound:
    """Harmonic tone over a moving fundamental; the gain of each partial is a number or a curve."""
    turn = np.exp(2j * np.pi * np.cumsum(hz_curve) / RATE_HZ)
    point, out = np.ones_like(turn), np.zeros(len(turn))
    for number, gain in enumerate(gains, start=1):
        if number * float(hz_curve.max()) > HIGHEST_HZ:
            break
        point = point * turn
        out += gain * point.imag
    return out


def opening(t: Sound, rise_s: float) -> Sound:
    """Rise from 0 to 1 without a corner at either end."""
    return 0.5 - 0.5 * np.cos(np.pi * np.clip(t / rise_s, 0, 1))


def damped(t: Sound, held_s: float, release_s: float) -> Sound:
    """1 while a key is held, then falling to 1/e in `release_s`, and to nothing at the end of the axis."""
    fall = np.exp(-np.maximum(t - held_s, 0) / release_s)
    return fall * (1 - opening(t - t[-1] + 0.02, 0.02))


def stereo(sound: Sound, pan: float = 0.0) -> Sound:
    """Place a mono sound: -1 left, 0 the middle, 1 right; the power stays."""
    if sound.ndim == 2:
        return sound
    angle = (pan + 1) * np.pi / 4
    return np.sqrt(2) * np.outer(sound, [np.cos(angle), np.sin(angle)])
