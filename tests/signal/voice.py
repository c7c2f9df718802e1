"""A voice that can sing at any pitch with the same mouth: partials of a glottis through resonances (Fant 1960).

The formants are men's averages of Peterson & Barney, "Control methods used in a study of the vowels", JASA 24, 1952
(from memory); bandwidths and the higher formants are common practice, no source.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from tests.signal.signals import RATE_HZ, Samples, midi_hz, stereo

Curve = NDArray[np.float64]

VOWELS = {"a": (730, 1090, 2440), "i": (270, 2290, 3010), "u": (300, 870, 2240), "e": (530, 1840, 2480)}
HIGHER_HZ = (3500, 4500)
BANDWIDTHS_HZ = (60, 90, 120, 150, 200)
HIGHEST_HZ = 8000
TILT = -1.6  # amplitude of partial n is n to this power, before the mouth
# Note, half beats, vowel.
SUNG = [(45, 2, "a"), (48, 1, "e"), (50, 1, "i"), (47, 1, "u")]
BEAT_SECONDS = 0.55


def mouth(freq_hz: Curve, formants_hz: Curve) -> NDArray[np.complex128]:
    """What the mouth does to each frequency: two poles for each formant, 1 at 0 Hz."""
    gain: NDArray[np.complex128] = np.ones(np.shape(freq_hz), np.complex128)
    for formant, width in zip(formants_hz, BANDWIDTHS_HZ, strict=True):
        pole = -width / 2 + 1j * formant
        gain = gain * pole * np.conj(pole) / ((1j * freq_hz - pole) * (1j * freq_hz - np.conj(pole)))
    return gain


def formants_of(vowel: str, larger: float = 1.0) -> Curve:
    """Formants of a vowel; a woman's are about 1.15 times a man's."""
    return np.array([*VOWELS[vowel], *HIGHER_HZ]) * larger


def hum(freq_hz: float, frames: int, vowel: str = "a") -> Samples:
    """One vowel on one pitch, without vibrato, circular."""
    cycles = round(freq_hz * frames / RATE_HZ)
    f0 = cycles * RATE_HZ / frames
    numbers = np.arange(1, int(HIGHEST_HZ / f0))
    levels = numbers**TILT * np.abs(mouth(numbers * f0, formants_of(vowel)))
    mono = sum(
        level * np.sin(2 * np.pi * n * cycles * np.arange(frames) / frames)
        for n, level in zip(numbers, levels, strict=True)
    )
    return stereo(0.3 * mono / np.abs(mono).max())


@cache
def sing(semitones: float = 0.0, *, octaves: int = 0, larger: float = 1.0) -> Samples:
    """A short song on vowels, circular, with glides and vibrato; its timing is the same at every pitch."""
    lengths = [round(halves * BEAT_SECONDS / 2 * RATE_HZ) for _, halves, _ in SUNG]
    f0 = np.repeat([midi_hz(note + 12 * octaves + semitones) for note, _, _ in SUNG], lengths)
    formants = np.repeat([formants_of(vowel, larger) for _, _, vowel in SUNG], lengths, axis=0).T
    swell = np.concatenate([np.clip(40 * np.minimum(x := np.linspace(0, 1, n), 1 - x), 0.2, 1) for n in lengths])
    f0 = _smooth(f0, 0.05) * (1 + 0.006 * np.sin(2 * np.pi * 5.2 * np.arange(len(f0)) / RATE_HZ))
    formants = np.stack([_smooth(each, 0.06) for each in formants])
    phase, mono = 2 * np.pi * np.cumsum(f0 / RATE_HZ), np.zeros(len(f0))
    for n in range(1, int(HIGHEST_HZ / f0.max())):
        through = mouth(n * f0, formants)
        mono += n**TILT * np.abs(through) * np.sin(n * phase + np.angle(through))
    return stereo(0.05 * mono * _smooth(swell, 0.02))


def _smooth(curve: Curve, seconds: float) -> Curve:
    width = int(seconds * RATE_HZ)
    shape = np.hanning(width + 2)[1:-1]
    return np.convolve(np.pad(curve, width, mode="wrap"), shape / shape.sum(), "same")[width:-width]
