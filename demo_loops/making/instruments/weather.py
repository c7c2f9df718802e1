"""Backgrounds: rain on a quay, the murmur of a market. Beds last the whole loop and join round it."""

from __future__ import annotations

import numpy as np

from demo_loops.making.loop import Instrument, Stroke
from demo_loops.making.noise import Colour, burst, coloured, gain_at
from demo_loops.making.ring import Sound, damped, glide, opening, partials, ring, seconds_axis, stereo

OVERLAP_S = 1.0
RAIN: Colour = ((150, -8.0), (500, -2.0), (1500, 0.0), (3500, -6.0), (6000, -20.0), (9000, -42.0), (14_000, -75.0))
# Water at the foot of the quay wall: slow, round, without top.
LAPPING: Colour = ((90, -20.0), (220, -2.0), (420, 0.0), (800, -12.0), (1600, -34.0), (5000, -80.0))
MURMUR: Colour = ((90, -8.0), (250, 0.0), (500, -3.0), (1200, -15.0), (3000, -30.0), (8000, -60.0))


def bed(colour: Colour, width: float = 0.4, sway: float = 0.2) -> Instrument:
    """Steady noise; its end is crossed with its start, keeping the power, so that it has no join."""

    def played(stroke: Stroke) -> Sound:
        t = seconds_axis(stroke.held_s + OVERLAP_S)
        middle, left, right = (coloured(stroke.random, t[-1] + 1 / 44_100, colour)[: len(t)] for _ in range(3))
        out = np.stack([middle + width * left, middle + width * right], axis=1)
        ends = np.clip(np.minimum(t, t[-1] - t) / OVERLAP_S, 0, 1)
        # Two slow waves in every loop, so that they too close.
        waves = 1 + sway * np.sin(4 * np.pi * t / stroke.held_s)
        return 0.2 * stroke.strength * out * (np.sin(np.pi / 2 * ends) * waves)[:, None]

    return played


def drop() -> Instrument:
    """A drop into a puddle: a bubble that sings upward, somewhere to the left or right."""

    def played(stroke: Stroke) -> Sound:
        random, force = stroke.random, stroke.strength
        t = seconds_axis(0.12)
        hz = random.uniform(900, 2600)
        bubble = glide(hz * (1 + 1.2 * t / 0.1)) * np.exp(-t / random.uniform(0.008, 0.022)) * opening(t, 0.002)
        splash = burst(random, 0.12, [(800, -14.0), (2500, 0.0), (6000, -8.0), (11_000, -34.0)], 0.004)[: len(t)]
        mixed = 0.5 * bubble + 0.12 * splash
        return stereo(force * mixed * damped(t, 0.09, 0.01), random.uniform(-0.8, 0.8))

    return played


def drip(hz: float = 620.0) -> Instrument:
    """A drip from the gutter onto a tin: rounder and lower than rain, always in the same place."""

    def played(stroke: Stroke) -> Sound:
        tin = ring(hz * np.array([1, 2.3, 3.7, 5.1]), [0.05, 0.03, 0.02, 0.01], [0.6, 0.3, 0.2, 0.1], 0.3)
        return stroke.strength * tin * damped(seconds_axis(0.3), 0.2, 0.02)

    return played


def syllable() -> Instrument:
    """Somebody far away says something that can't be understood: a short voiced sound with two formants."""

    def played(stroke: Stroke) -> Sound:
        random = stroke.random
        long = random.uniform(0.10, 0.24)
        t = seconds_axis(long + 0.08)
        start = random.choice([105, 125, 150, 190, 215, 250]) * random.uniform(0.9, 1.1)
        curve = start * 2 ** (random.uniform(-3, 3) / 12 * t / long)
        first, second = random.uniform(300, 750), random.uniform(900, 2000)
        k = np.arange(1, 22)
        colour = [
            (first * 0.4, -14.0),
            (first, 0.0),
            (first * 1.6, -12.0),
            (second, -9.0),
            (second * 1.5, -26.0),
            (6000, -60.0),
        ]
        levels = gain_at(k * start, colour) / k**0.4
        gains: list[Sound | float] = [float(level) for level in levels]
        voice = partials(curve, gains) * opening(t, 0.03) * damped(t, long * 0.7, 0.03)
        return stereo(0.3 * stroke.strength * voice, random.uniform(-0.9, 0.9))

    return played
