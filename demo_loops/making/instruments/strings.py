"""Plucked and struck strings: guitar-like plucks, basses, a piano-like hammer instrument.

A string is a row of nearly harmonic modes (stiffness sharpens the high ones, f_k = k f sqrt(1 + B k^2)); where it is
plucked decides which are missing, how hard decides how many. High modes die first. Two slightly different decays and
tunings of each mode (the two directions in which a string swings, or two strings) give the slow life of the tone.
"""

from __future__ import annotations

import numpy as np

from demo_loops.making.loop import Instrument, Stroke
from demo_loops.making.noise import burst, gain_at
from demo_loops.making.ring import Sound, damped, opening, partials, ring, seconds_axis

GUITAR_BODY = ((70, -10.0), (105, 0.0), (150, -3.0), (210, 1.0), (400, -2.0), (1000, 0.0), (2600, 0.0), (6000, -9.0))


def _modes(hz: float, stiffness: float, highest_hz: float) -> tuple[Sound, Sound]:
    k = np.arange(1, max(2, min(60, int(highest_hz / hz))) + 1)
    return k, hz * k * np.sqrt(1 + stiffness * k**2)


def pluck(place: float = 0.17, sustain_s: float = 1.1, soft_hz: float = 2600.0, nylon: float = 0.0) -> Instrument:
    """A plucked string over a wooden body. `place` along the string; `soft_hz` is where a full pluck loses its edge."""

    def played(stroke: Stroke) -> Sound:
        force, hz, random = stroke.strength, stroke.hz, stroke.random
        k, modes_hz = _modes(hz, 4e-5, 9000)
        edge = soft_hz * (0.45 + 0.75 * force)
        level = np.abs(np.sin(np.pi * k * place)) / k ** (0.85 + 0.3 * nylon) / (1 + (modes_hz / edge) ** 2)
        level *= gain_at(modes_hz, GUITAR_BODY) * random.uniform(0.9, 1.1, len(k))
        decay_s = sustain_s * (220 / hz) ** 0.35 / (1 + (modes_hz / 1800) ** 1.1)
        length = min(stroke.held_s + 0.35, 3.2 * sustain_s)
        t = seconds_axis(length)
        sides = level[:, None] * random.uniform(0.8, 1.2, (len(k), 2))
        string = ring(modes_hz, decay_s, 0.65 * sides, length + 1)[: len(t)]
        string += ring(modes_hz * 1.0007, decay_s * 2.2, 0.35 * sides[:, ::-1], length + 1)[: len(t)]
        nail = burst(random, 0.03, [(90, -8.0), (240, -2.0), (1500, 0.0), (4500, -6.0), (9000, -24.0)], 0.004)
        out = 1.6 * string
        out[: len(nail)] += 0.05 * (1 - 0.6 * nylon) * force * nail[: len(out), None]
        return force * out * opening(t, 0.0012)[:, None] * damped(t, stroke.held_s, 0.06)[:, None]

    return played


def hammer(bright: float = 1.0, sustain: float = 1.0) -> Instrument:
    """A piano-like instrument: felt hammers, two strings a note, dampers; low notes left, high notes right."""

    def played(stroke: Stroke) -> Sound:
        force, hz, random = stroke.strength, stroke.hz, stroke.random
        k, modes_hz = _modes(hz, 3.2e-4 * (hz / 261.6) ** 0.9, 8500)
        edge = bright * (600 + 4000 * force**1.4) * (hz / 261.6) ** 0.25
        level = (0.25 + np.abs(np.sin(np.pi * k / 8))) / k**0.75 * np.exp(-modes_hz / edge)
        level *= random.uniform(0.92, 1.08, len(k)) / np.sqrt(np.sum(level**2))
        fast_s = sustain * 0.55 * (261.6 / hz) ** 0.55 / (1 + (modes_hz / 2600) ** 0.9)
        length = stroke.held_s + 0.45
        t = seconds_axis(length)
        pan = np.clip(np.log2(hz / 261.6) * 0.22, -0.35, 0.35)
        wide = 0.16 * np.sin(k * 2.4)
        sides = level[:, None] * np.stack([1 - pan - wide, 1 + pan + wide], axis=1)
        tone = ring(modes_hz, fast_s, 0.72 * sides, length + 1)[: len(t)]
        tone += ring(modes_hz * 1.00035, fast_s * 3.4, 0.34 * sides[:, ::-1], length + 1)[: len(t)]
        felt = burst(random, 0.09, [(80, -8.0), (180, 0.0), (500, -3.0), (1600, -14.0), (5000, -34.0)], 0.014)
        out = 0.62 * tone
        out[: len(felt)] += 0.05 * force * felt[: len(out), None]
        return force**1.1 * out * opening(t, 0.0018)[:, None] * damped(t, stroke.held_s, 0.09)[:, None]

    return played


def bass_string(place: float = 0.21, soft_hz: float = 900.0, sustain_s: float = 1.3, grit: float = 1.0) -> Instrument:
    """An electric bass played with fingers: a clear start, and overtones that a small speaker can show."""

    def played(stroke: Stroke) -> Sound:
        force, hz, random = stroke.strength, stroke.hz, stroke.random
        k, modes_hz = _modes(hz, 9e-5, 4500)
        edge = soft_hz * (0.45 + 0.9 * force)
        level = np.abs(np.sin(np.pi * k * place)) * (0.4 + np.abs(np.sin(np.pi * k * 0.13))) / k**0.7
        level /= 1 + (modes_hz / edge) ** 1.8
        level *= random.uniform(0.92, 1.08, len(k)) / np.sqrt(np.sum(level**2))
        decay_s = sustain_s / (1 + (modes_hz / 420) ** 1.15)
        length = stroke.held_s + 0.2
        t = seconds_axis(length)
        string = ring(modes_hz, decay_s, level, length + 1)[: len(t)]
        string = np.tanh(grit * 1.1 * string) / (grit * 1.1)
        finger = burst(random, 0.04, [(120, -6.0), (500, -2.0), (1400, 0.0), (3500, -8.0), (7000, -30.0)], 0.005)
        string[: len(finger)] += 0.10 * force * finger[: len(string)]
        return 0.9 * (0.25 + 0.75 * force) * string * opening(t, 0.002) * damped(t, stroke.held_s, 0.035)

    return played


def bass_filtered(edge_hz: float = 420.0, sweep: float = 4.0, fall_s: float = 0.12, sub: float = 0.35) -> Instrument:
    """A low sawtooth behind a filter that opens with the blow and closes again; a knock marks its start."""

    def played(stroke: Stroke) -> Sound:
        force, hz = stroke.strength, stroke.hz
        t = seconds_axis(stroke.held_s + 0.12)
        edge = edge_hz * (1 + sweep * force * np.exp(-t / fall_s))
        gains: list[Sound | float] = [
            0.55 / k / (1 + (k * hz / edge) ** 4) ** 0.5 + (sub if k == 1 else 0.0) for k in range(1, 40)
        ]
        tone = partials(np.full(len(t), hz), gains)
        tone = np.tanh(1.3 * tone)
        # A wave of 55 Hz takes 18 ms to come round; without a knock its start would be as late as that.
        knock = burst(stroke.random, 0.04, [(120, -6.0), (450, 0.0), (1500, -3.0), (3500, -14.0), (7000, -36.0)], 0.006)
        tone[: len(knock)] += 0.22 * force * knock[: len(tone)]
        env = opening(t, 0.0012) * (0.7 + 0.3 * np.exp(-t / 0.15))
        return 0.8 * (0.3 + 0.7 * force) * tone * env * damped(t, stroke.held_s, 0.025)

    return played
