"""Tone of a whole loop: equalising, warmth, low cut. Everything is circular, so the join stays seamless.

Filters have minimum phase: a filter of linear phase would ring before the first downbeat, at the end of the loop.
"""

from __future__ import annotations

import numpy as np

from demo_loops.making.noise import Colour, gain_at
from demo_loops.making.ring import RATE_HZ, Sound

OVERSAMPLING = 4
TOP_HZ = 16_500.0  # above it nothing that speakers and ears of a class share, but many bits in a lossless file
FLOOR = 1e-5  # -100 dB, since a minimum phase needs a logarithm


def minimum_phase(gain: Sound, frames: int) -> Sound:
    """Complex response of minimum phase with this gain at the frequencies of `rfft` (homomorphic method)."""
    cepstrum = np.fft.irfft(np.log(np.maximum(gain, FLOOR)), frames)
    cepstrum[1 : (frames + 1) // 2] *= 2
    cepstrum[frames // 2 + 1 :] = 0
    response: Sound = np.exp(np.fft.rfft(cepstrum))
    return response


def equalised(sound: Sound, colour: Colour, low_cut_hz: float) -> Sound:
    """Sound in another colour, with what lies below `low_cut_hz` cut by 24 dB an octave, no top, and no DC."""
    frames = len(sound)
    hz = np.fft.rfftfreq(frames, 1 / RATE_HZ)
    cut = (hz / low_cut_hz) ** 4 / np.sqrt(1 + (hz / low_cut_hz) ** 8)
    top = 1 / np.sqrt(1 + (hz / TOP_HZ) ** 36)
    response = minimum_phase(gain_at(hz, colour) * cut * top, frames)
    response[0] = 0
    return np.fft.irfft(np.fft.rfft(sound, axis=0) * response[:, None], frames, axis=0)


def warmed(sound: Sound, drive: float) -> Sound:
    """Peaks pressed softly, as tape does; small sounds pass unchanged.

    Done at four times the rate: overtones that 44.1 kHz can't carry would come back as wrong, lower tones.
    """
    if drive <= 0:
        return sound
    frames = len(sound)
    fine = np.fft.irfft(np.fft.rfft(sound, axis=0), OVERSAMPLING * frames, axis=0) * OVERSAMPLING
    pressed = np.fft.rfft(np.tanh(drive * fine) / drive, axis=0)[: frames // 2 + 1]
    return np.fft.irfft(pressed, frames, axis=0) / OVERSAMPLING
