"""Rooms: early reflections and a diffuse tail in which high sounds die first.

The impulse response belongs to the room, not to the loop or its tempo. It is folded round the loop's length, so the
tail of the last bar is heard in the first.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from demo_loops.making.noise import coloured
from demo_loops.making.ring import RATE_HZ, Sound, seconds_axis
from demo_loops.making.score import random_of

BANDS_HZ = (200.0, 400.0, 800.0, 1600.0, 3200.0, 6400.0)


@dataclass(frozen=True)
class Room:
    """Time in which the middle of the spectrum falls by 60 dB, the same for 6 kHz, and when the tail begins."""

    name: str
    decay_s: float
    high_decay_s: float
    early_s: float


SHED = Room("shed", 0.45, 0.30, 0.004)
PARLOUR = Room("parlour", 0.8, 0.5, 0.008)
HALL = Room("hall", 1.7, 0.8, 0.018)
QUAY = Room("quay", 2.3, 0.9, 0.030)


@lru_cache(maxsize=8)
def response(room: Room) -> Sound:
    """Impulse response, shape (frames, 2), of energy 1 in each channel."""
    t = seconds_axis(room.decay_s * 1.1)
    sides = [_tail(room, t, side) + _early(room, t, side) for side in ("left", "right")]
    both = np.stack(sides, axis=1)
    return both / np.sqrt(np.sum(both**2, axis=0))


def _tail(room: Room, t: Sound, side: str) -> Sound:
    random = random_of("room", room.name, side)
    out = np.zeros(len(t))
    for place, hz in enumerate(BANDS_HZ):
        share = place / (len(BANDS_HZ) - 1)
        decay_s = room.decay_s * (1 - share) + room.high_decay_s * share
        colour = [(hz / 2, -60.0), (hz / 1.4, 0.0), (hz * 1.4, 0.0), (hz * 2, -60.0)]
        level = 10 ** (-(1.5 * place + (6.0 if place == 0 else 0.0)) / 20)
        out += level * coloured(random, t[-1] + 1 / RATE_HZ, colour)[: len(t)] * 10 ** (-3 * t / decay_s)
    build = np.clip((t - room.early_s) / (2 * room.early_s + 0.004), 0, 1)
    return out * build


def _early(room: Room, t: Sound, side: str) -> Sound:
    random = random_of("early", room.name, side)
    out = np.zeros(len(t))
    for _ in range(9):
        delay_s = room.early_s * (0.6 + 3.5 * random.random_sample())
        at = round(delay_s * RATE_HZ)
        smear = np.hanning(13)[: max(0, len(t) - at)]
        out[at : at + len(smear)] += smear * random.choice([-1, 1]) * 4 * np.exp(-delay_s / room.early_s / 3)
    return out


def resounding(sound: Sound, room: Room) -> Sound:
    """What the room gives back of a loop, shape (frames, 2): circular convolution, sides slightly crossed."""
    frames = len(sound)
    folded = np.zeros((frames, 2))
    answer = response(room)
    for start in range(0, len(answer), frames):
        piece = answer[start : start + frames]
        folded[: len(piece)] += piece
    crossed = 0.7 * sound + 0.3 * sound[:, ::-1]
    product = np.fft.rfft(crossed, axis=0) * np.fft.rfft(folded, axis=0)
    return np.fft.irfft(product, frames, axis=0)
