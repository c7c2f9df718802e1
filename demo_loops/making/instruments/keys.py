"""Keys and bars: tines behind a pickup, mallets on wood, metal and glass, a music box."""

from __future__ import annotations

import numpy as np

from demo_loops.making.loop import Instrument, Stroke
from demo_loops.making.noise import burst
from demo_loops.making.ring import Sound, damped, opening, ring, seconds_axis


def tines(bite: float = 1.0, sustain_s: float = 1.3) -> Instrument:
    """An electric piano: a struck tine before a pickup, which bends the tone the more, the harder it is played."""

    def played(stroke: Stroke) -> Sound:
        force, hz, random = stroke.strength, stroke.hz, stroke.random
        t = seconds_axis(stroke.held_s + 0.3)
        decay_s = sustain_s * (261.6 / hz) ** 0.4
        sides = []
        for cents in (-2.5, 2.5):
            base = hz * 2 ** (cents / 1200)
            modes = base * np.array([1.0, 2.0, 3.0, 7.05, 19.3])
            levels = [1.0, 0.30, 0.26 * bite * force, 0.38 * bite * force**1.2, 0.12 * bite * force**1.6]
            tine = ring(modes, decay_s * np.array([1.0, 0.7, 0.5, 0.22, 0.06]), levels, t[-1] + 1)[: len(t)]
            push = 0.25 + 0.75 * force
            sides.append(np.tanh(1.9 * (push * tine + 0.75 * (push * tine) ** 2)) * 0.85)
        out = np.stack([0.8 * sides[0] + 0.4 * sides[1], 0.4 * sides[0] + 0.8 * sides[1]], axis=1) / 1.2
        out -= 0.30 * (0.25 + 0.75 * force) ** 2 * np.exp(-2 * t / decay_s)[:, None]
        thump = burst(random, 0.05, [(100, -6.0), (300, 0.0), (1200, -10.0), (4000, -30.0)], 0.008)
        out[: len(thump)] += 0.05 * force * thump[: len(out), None]
        return 0.55 * (0.35 + 0.65 * force) * out * opening(t, 0.002)[:, None] * damped(t, stroke.held_s, 0.06)[:, None]

    return played


def bar(ratios: list[float], levels: list[float], decays_s: list[float], stick_hz: float = 1800.0) -> Instrument:
    """A tuned bar under a mallet: few modes; a hard blow wakes the high ones."""

    def played(stroke: Stroke) -> Sound:
        force, hz, random = stroke.strength, stroke.hz, stroke.random
        length = min(stroke.held_s + 1.2, max(decays_s) * 4)
        t = seconds_axis(length)
        woken = np.array(levels) * np.array([force ** (0.35 * i) for i in range(len(levels))])
        sides = woken[:, None] * random.uniform(0.92, 1.08, (len(levels), 2))
        decay_s = np.array(decays_s) * (523 / hz) ** 0.3
        tone = ring(hz * np.array(ratios), decay_s, sides, length + 1)[: len(t)]
        colour = [(stick_hz / 4, -12.0), (stick_hz, 0.0), (stick_hz * 3, -14.0), (stick_hz * 6, -40.0)]
        stick = burst(random, 0.03, colour, 0.003)
        out = 0.6 * tone
        out[: len(stick)] += 0.12 * force**1.5 * stick[: len(out), None]
        return force * out * opening(t, 0.0012)[:, None] * damped(t, length * 0.75, length * 0.1)[:, None]

    return played


def wood_bars() -> Instrument:
    """Rosewood: modes tuned 1 : 4 : 10, short."""
    return bar([1, 3.98, 9.7, 16.5], [1, 0.6, 0.36, 0.18], [0.36, 0.14, 0.05, 0.02])


def glass_bars() -> Instrument:
    """Glass: clear, long, with a high second mode."""
    return bar([1, 2.0, 3.93, 6.7, 9.4], [1, 0.3, 0.42, 0.24, 0.12], [1.2, 0.7, 0.5, 0.16, 0.06], 2400)


def comb_teeth() -> Instrument:
    """A music box: thin steel teeth, plucked."""
    return bar([1, 2.0, 3.01, 6.27, 8.1], [1, 0.5, 0.42, 0.4, 0.2], [0.9, 0.6, 0.35, 0.16, 0.08], 4200)
