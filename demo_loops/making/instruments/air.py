"""Sounds that are held: reeds, whistles, and warm chords of many slightly different tones."""

from __future__ import annotations

import numpy as np

from demo_loops.making.loop import Instrument, Stroke
from demo_loops.making.noise import Colour, coloured, gain_at
from demo_loops.making.ring import Sound, damped, opening, partials, ring, seconds_axis, stereo

REED: Colour = ((200, 0.0), (700, 2.0), (1300, 3.0), (2200, -1.0), (3400, -1.0), (6000, -12.0), (11_000, -36.0))


def _vibrato(t: Sound, hz: float, rate_hz: float, cents: float, after_s: float) -> Sound:
    depth = cents * opening(t - after_s, 0.25) * (t > after_s)
    return hz * 2 ** (depth * np.sin(2 * np.pi * rate_hz * t) / 1200)


def reed(musette_cents: float = 5.0, bright: float = 1.0, breath: float = 1.0, rise_s: float = 0.022) -> Instrument:
    """Free reeds, two a note, tuned a little apart, one to each side."""

    def played(stroke: Stroke) -> Sound:
        force, hz, random = stroke.strength, stroke.hz, stroke.random
        t = seconds_axis(stroke.held_s + 0.14)
        swell = opening(t, rise_s) * (0.86 + 0.14 * opening(t - 0.02, 0.18))
        sides = []
        for cents in (-musette_cents / 2, musette_cents / 2):
            curve = _vibrato(t, hz * 2 ** (cents / 1200), 4.9, 7.0, 0.28)
            edge = bright * (1700 + 3000 * force)
            k = np.arange(1, 26)
            levels = k**-0.85 * np.where(k % 2, 1.0, 0.72) * gain_at(k * hz, REED) / (1 + (k * hz / edge) ** 2)
            # High partials speak a little later than low ones.
            gains = [level * opening(t, rise_s * (1 + 0.12 * n)) for n, level in enumerate(levels)]
            sides.append(partials(curve, gains))
        out = np.stack([0.7 * sides[0] + 0.45 * sides[1], 0.45 * sides[0] + 0.7 * sides[1]], axis=1)
        air = coloured(random, t[-1] + 0.001, [(400, -20.0), (1800, 0.0), (4200, -4.0), (9000, -26.0)])[: len(t)]
        out += 0.012 * breath * (air * (0.5 + np.exp(-t / 0.05)))[:, None]
        return 0.5 * (0.3 + 0.7 * force) * out * swell[:, None] * damped(t, stroke.held_s, 0.03)[:, None]

    return played


def whistle(breath: float = 1.0) -> Instrument:
    """A wooden whistle: nearly a sine, a chiff at the start, breath over it, vibrato on long notes."""

    def played(stroke: Stroke) -> Sound:
        force, hz, random = stroke.strength, stroke.hz, stroke.random
        t = seconds_axis(stroke.held_s + 0.12)
        curve = _vibrato(t, hz, 5.3, 14.0, 0.2) * (1 - 0.012 * np.exp(-t / 0.018))
        gains: list[Sound | float] = [
            1.0,
            0.24 + 0.2 * force,
            0.2 * force + 0.04,
            0.12 * force,
            0.08 * force,
            0.04 * force,
        ]
        tone = partials(curve, gains) * opening(t, 0.018)
        band = [(hz * 0.4, -26.0), (hz, 0.0), (hz * 2.1, -6.0), (hz * 4.2, -12.0), (hz * 9, -40.0)]
        air = coloured(random, t[-1] + 0.001, band)[: len(t)]
        chiff = 0.30 * np.exp(-t / 0.014) * force + 0.022 * opening(t, 0.05)
        out = tone + breath * air * chiff * opening(t, 0.002)
        return 0.55 * (0.35 + 0.65 * force) * out * damped(t, stroke.held_s, 0.035)

    return played


def warm(edge_hz: float = 1100.0, rise_s: float = 0.07, spread_cents: float = 9.0, glow: float = 1.0) -> Instrument:
    """Six sawtooth-like tones a note, a little apart, behind a filter that opens slowly and closes at the end."""

    def played(stroke: Stroke) -> Sound:
        hz, random = stroke.hz, stroke.random
        t = seconds_axis(stroke.held_s + 0.9)
        k = np.arange(1, max(2, min(36, int(7000 / hz))) + 1)
        dark, light = np.zeros((len(t), 2)), np.zeros((len(t), 2))
        for cents, pan in zip(
            spread_cents * np.array([-1, -0.55, -0.15, 0.2, 0.6, 1]), (-0.35, 0.25, -0.1, 0.1, -0.25, 0.35), strict=True
        ):
            tuned = k * hz * 2 ** (cents / 1200)
            phase = random.uniform(0, 2 * np.pi, len(k))
            low = k**-1.0 / (1 + (tuned / (0.5 * edge_hz)) ** 4) ** 0.5
            high = k**-1.0 / (1 + (tuned / (1.9 * edge_hz)) ** 4) ** 0.5 - low
            dark += stereo(ring(tuned, 1e6, low, t[-1] + 1, phase)[: len(t)], pan)
            light += stereo(ring(tuned, 1e6, high, t[-1] + 1, phase)[: len(t)], pan)
        bloom = glow * (0.35 + 0.65 * opening(t, min(1.4, stroke.held_s))) * damped(t, stroke.held_s * 0.9, 0.25)
        out = dark + light * bloom[:, None]
        return 0.16 * stroke.strength * out * opening(t, rise_s)[:, None] * damped(t, stroke.held_s, 0.22)[:, None]

    return played
