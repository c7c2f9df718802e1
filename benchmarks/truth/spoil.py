"""What happens to loops on their way to a teacher: silence in front, tails, cuts, rates, channels, levels, names."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import soxr
from numpy.typing import NDArray

Samples = NDArray[np.float32]
Draw = np.random.RandomState

RATES_HZ = (44_100,) * 62 + (48_000,) * 20 + (22_050,) * 7 + (32_000,) * 3 + (96_000,) * 8
# Each with its chance in a hundred; what is drawn first is done first.
CHANNELS: tuple[tuple[str, int], ...] = (("mono", 12), ("anti-phase", 3), ("one channel silent", 3))
LEVELS: tuple[tuple[str, int], ...] = (("very soft", 4), ("clipped", 3), ("DC", 3))


def at_rate(samples: Samples, rate_hz: int, wanted_hz: int) -> Samples:
    return samples if rate_hz == wanted_hz else np.asarray(soxr.resample(samples, rate_hz, wanted_hz), np.float32)


def normal(samples: Samples) -> Samples:
    """At a peak that files usually have."""
    return np.asarray(samples * (0.8 / max(float(np.abs(samples).max()), 1e-6)), np.float32)


def draw_one(table: tuple[tuple[str, int], ...], draw: Draw) -> str | None:
    at = draw.randint(100)
    for name, chance in table:
        if at < chance:
            return name
        at -= chance
    return None


def _mono(samples: Samples) -> Samples:
    return samples.mean(axis=1, keepdims=True)


def _anti_phase(samples: Samples) -> Samples:
    mono = samples.mean(axis=1)
    return np.stack([mono, -mono], axis=1)


def _one_silent(samples: Samples) -> Samples:
    return samples * np.array([1.0, 0.0], np.float32)


def _very_soft(samples: Samples) -> Samples:
    power = float(np.square(samples).mean())
    return samples * np.float32(10 ** (-40 / 20) / max(power**0.5, 1e-9))


def _clipped(samples: Samples) -> Samples:
    return np.clip(samples * 3.5, -1.0, 0.99997)


def _dc(samples: Samples) -> Samples:
    return samples * np.float32(0.8) + np.float32(0.06)


SPOILS: dict[str, Callable[[Samples], Samples]] = {
    "mono": _mono,
    "anti-phase": _anti_phase,
    "one channel silent": _one_silent,
    "very soft": _very_soft,
    "clipped": _clipped,
    "DC": _dc,
}


def named(number: int, role: str, tempo_bpm: float, key: str | None, bars: int, draw: Draw) -> tuple[str, str]:
    """A file's name as collections have them, and what it is worth: says nothing, says true, says some, lies."""
    short = (key or "").replace(" minor", "m").replace(" major", "")
    bpm = round(tempo_bpm)
    kind = ("says nothing", "says true", "says some", "lies")[
        int(np.searchsorted((46, 82, 92), draw.randint(100), "right"))
    ]
    word = {"drums": "Drum Loop", "percussion": "Perc", "harmony": "Chords", "melody": "Lead"}.get(role, role.title())
    if kind == "says nothing":
        name = (f"audio {number}", f"take {number % 7}", f"untitled{number}", f"rec_2024{number:04}")[draw.randint(4)]
    elif kind == "says true":
        name = (f"{word} {bpm}bpm {short}", f"{bpm}_{short}_{word}_{bars}bars", f"{word}_{short}_{bpm} BPM")[
            draw.randint(3)
        ]
    elif kind == "says some":
        name = (f"{word} {bpm}bpm", f"{word} {short}".strip(), f"{word}-{bars} bars")[draw.randint(3)]
    else:
        other = int(draw.choice([b for b in (90, 100, 110, 120, 128, 140) if abs(b - tempo_bpm) > 6]))
        name = f"{word} {other}bpm {('Am', 'C', 'F#m', 'Eb')[draw.randint(4)] if key else ''}"
    return f"{number:03} {' '.join(name.replace('__', '_').split()).strip('_ ')}", kind
