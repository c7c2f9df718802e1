"""Metal: hats that choke, rides, triangles and jingles. Plates with many inharmonic modes.

One instrument keeps its modes from hit to hit; what changes is how strongly each is struck.
"""

from __future__ import annotations

import numpy as np

from demo_loops.making.loop import Instrument, Stroke
from demo_loops.making.noise import burst, coloured
from demo_loops.making.ring import Sound, damped, opening, ring, seconds_axis
from demo_loops.making.score import random_of


def _plate(name: str, modes: int, low_hz: float, high_hz: float) -> Sound:
    spread = random_of("plate", name).random_sample(modes)
    return np.sort(low_hz * (high_hz / low_hz) ** spread)


def _struck(hz: Sound, tilt_db: float, middle_hz: float, random: np.random.RandomState) -> Sound:
    octaves = np.log2(hz / middle_hz)
    level = 10 ** ((-abs(tilt_db) * np.abs(octaves) * np.where(octaves > 0, 1.0, 1.4)) / 20)
    sides = level[:, None] * random.uniform(0.4, 1.0, (len(hz), 2))
    return sides * random.choice([-1, 1], len(hz))[:, None]


def hat(name: str = "hat", open_s: float = 0.28, closed_s: float = 0.028, bright: float = 1.0) -> Instrument:
    """A pair of hats. `closed hat` is short; `open hat` rings until it is choked (the note's length)."""
    hz = _plate(name, 170, 2400, 15_500)

    def played(stroke: Stroke) -> Sound:
        force, random = stroke.strength, stroke.random
        rings = stroke.note.kind == "open hat"
        decay_s = (open_s if rings else closed_s) * (0.7 + 0.5 * force)
        t = seconds_axis(min(stroke.held_s, 3 * open_s) + 0.06 if rings else decay_s * 6 + 0.02)
        levels = _struck(hz, 5.0, 7200 * bright * (0.75 + 0.3 * force), random)
        plate = ring(hz, decay_s * (hz / 6000) ** -0.35, levels, t[-1] + 1)[: len(t)] / 6.8
        colour = [(1500, -40.0), (4500, -12.0), (8000, 0.0), (11_000, -3.0), (15_000, -16.0), (19_000, -40.0)]
        hiss = coloured(random, t[-1] + 0.001, colour)[: len(t)] * np.exp(-t / decay_s * 1.15)
        stick = burst(random, 0.02, [(1500, -12.0), (4500, 0.0), (9000, -4.0), (15_000, -20.0)], 0.0012)
        out = (0.8 * plate + 0.28 * hiss[:, None]) * opening(t, 0.0006)[:, None]
        out[: len(stick)] += 0.28 * force * stick[: len(out), None]
        held_s = stroke.held_s if rings else t[-1]
        return 0.62 * force**1.15 * out * damped(t, held_s, 0.012)[:, None]

    return played


def ride(name: str = "ride", decay_s: float = 1.0) -> Instrument:
    """A ride cymbal: the ping of the stick over a wash that builds."""
    hz = _plate(name, 170, 380, 15_500)

    def played(stroke: Stroke) -> Sound:
        force, random = stroke.strength, stroke.random
        t = seconds_axis(decay_s * 2.6)
        wash = ring(hz, decay_s * (hz / 2500) ** -0.45, _struck(hz, 4.5, 4200 * (0.6 + 0.5 * force), random), t[-1] + 1)
        ping = ring(_plate(name + " bell", 9, 2200, 7800), 0.16, 0.09, t[-1] + 1)[: len(t)]
        stick = burst(random, 0.02, [(1500, -10.0), (5000, 0.0), (11_000, -8.0)], 0.0012)
        # The upper modes of a real plate lie too close to be heard one by one: noise stands for them, one a side.
        colour = [(1800, -36.0), (4000, -10.0), (7500, 0.0), (11_000, -3.0), (15_000, -12.0), (19_000, -40.0)]
        sizzle = np.stack([coloured(random, t[-1] + 0.001, colour)[: len(t)] for _ in range(2)], axis=1)
        sizzle *= np.exp(-t / (0.55 * decay_s))[:, None]
        build = (0.25 + 0.75 * opening(t, 0.035))[:, None]
        out = (0.045 * wash[: len(t)] + 0.10 * force**0.5 * sizzle) * build + 0.8 * ping[:, None]
        out[: len(stick)] += 0.2 * stick[:, None]
        return 0.5 * force * out * damped(t, t[-1] * 0.75, t[-1] * 0.12)[:, None]

    return played


def triangle(hz: float = 2350.0, decay_s: float = 0.9) -> Instrument:
    """A small steel bar bent round: few, high, long modes; damped when held short."""
    ratios = np.array([1.0, 1.51, 2.17, 2.83, 3.44, 4.29, 5.2])

    def played(stroke: Stroke) -> Sound:
        opened = stroke.note.kind.startswith("open")
        length = decay_s if opened else 0.06
        t = seconds_axis(length * 4)
        levels = np.array([0.3, 0.7, 1, 0.8, 0.6, 0.4, 0.3]) * stroke.random.uniform(0.7, 1.2, 7)
        bar = ring(hz * ratios, length * ratios**-0.4, levels, length * 4 + 1)[: len(t)]
        return 0.22 * stroke.strength * bar * opening(t, 0.0008) * damped(t, t[-1] * 0.8, t[-1] * 0.1)

    return played


def jingles(name: str = "jingles", decay_s: float = 0.055) -> Instrument:
    """A tambourine shaken or hit: small plates that meet a few times within 30 ms."""
    hz = _plate(name, 60, 3600, 14_500)

    def played(stroke: Stroke) -> Sound:
        force, random = stroke.strength, stroke.random
        t = seconds_axis(0.38)
        out = np.zeros((len(t), 2))
        for meeting in range(5):
            at = round(meeting * 0.0065 * random.uniform(0.6, 1.4) * 44_100) if meeting else 0
            long = decay_s * (0.6 + 0.6 * force) * (1 if meeting < 4 else 1.6)
            plates = ring(hz, long, _struck(hz, 4.0, 7600, random), 0.38)[: len(t) - at]
            out[at:] += plates[: len(t) - at] * (0.8, 0.5, 0.6, 0.4, 0.5)[meeting]
        skin = burst(random, 0.05, [(180, -4.0), (420, 0.0), (1500, -10.0), (5000, -30.0)], 0.009)
        out[: len(skin)] += 0.35 * force**1.4 * skin[:, None] * (stroke.note.kind == "tambourine")
        return 0.085 * force * out * damped(t, 0.3, 0.02)[:, None] * opening(t, 0.0006)[:, None]

    return played
