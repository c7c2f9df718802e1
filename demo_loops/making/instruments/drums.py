"""Drums with skins: kick, snare, toms. A hit is a body, its membrane, the blow of the beater, and the wires.

A stronger hit is not only louder: it bends higher, its blow is brighter, its wires speak more. Ratios of an ideal
circular membrane: 1, 1.593, 2.136, 2.296, 2.653, 2.918 (zeros of Bessel functions; any acoustics textbook).
"""

from __future__ import annotations

import numpy as np

from demo_loops.making.loop import Instrument, Stroke
from demo_loops.making.noise import burst, coloured
from demo_loops.making.ring import Sound, glide, opening, ring, seconds_axis

MEMBRANE = np.array([1.0, 1.593, 2.136, 2.296, 2.653, 2.918, 3.5, 4.06])


def _fade_end(sound: Sound) -> Sound:
    sound[-400:] *= np.linspace(1, 0, 400) ** 2
    return sound


def kick(hz: float = 50.0, decay_s: float = 0.13, click: float = 1.0, bend: float = 1.0) -> Instrument:
    """A bass drum: a tone that falls within 40 ms, shell, and the beater's click."""

    def played(stroke: Stroke) -> Sound:
        force = stroke.strength
        t = seconds_axis(decay_s * 4.5)
        fall = bend * (0.5 + force) * (2.6 * np.exp(-t / 0.007) + 0.75 * np.exp(-t / 0.035))
        env = opening(t, 0.0012) * np.exp(-((t / decay_s) ** 1.25)) * (0.8 + 0.2 * np.exp(-t / 0.02))
        body = np.tanh(1.7 * glide(hz * (1 + fall)) * env)
        shell = ring(hz * 3.1 * MEMBRANE[:5], 0.03, 0.12 * force, t[-1]).copy()
        colour = [(150, -30.0), (900, -8.0), (2600, 0.0), (5200, -4.0), (9000, -24.0), (14_000, -45.0)]
        beat = burst(stroke.random, 0.05, colour, 0.0045)
        out = body * (0.35 + 0.65 * force)
        out[: len(shell)] += shell[: len(out)] * click
        out[: len(beat)] += 0.34 * click * force**1.6 * beat
        return _fade_end(out * opening(t, 0.0004))

    return played


def snare(hz: float = 187.0, wires: float = 1.0, decay_s: float = 0.15, ring_s: float = 0.07) -> Instrument:
    """A snare drum: membrane, shell, and wires that rattle longer the harder it is hit."""

    def played(stroke: Stroke) -> Sound:
        force, random = stroke.strength, stroke.random
        t = seconds_axis(decay_s * 4 + 0.05)
        spread = random.uniform(0.75, 1.25, len(MEMBRANE))
        levels = np.array([1, 0.75, 0.5, 0.45, 0.42, 0.36, 0.3, 0.26]) ** (1.35 - 0.5 * force) * spread
        head = ring(hz * MEMBRANE, ring_s * MEMBRANE**-0.9, levels, t[-1] + 1)[: len(t)]
        head += 0.9 * glide(hz * (1 + 0.35 * force * np.exp(-t / 0.012))) * np.exp(-t / (ring_s * 1.1))
        colour = [
            (250, -20.0),
            (600, -9.0),
            (1200, -4.0),
            (2400, -1.0),
            (4800, 0.0),
            (8500, -4.0),
            (13_000, -13.0),
            (18_000, -38.0),
        ]
        rattle = coloured(random, decay_s * 4 + 0.05, colour)[: len(t)]
        long = decay_s * (0.45 + 0.6 * force)
        env = opening(t, 0.002) * (0.75 * np.exp(-t / (0.22 * long)) + 0.4 * np.exp(-t / (0.62 * long)))
        blow = burst(random, 0.03, [(400, -6.0), (2500, 0.0), (6500, -2.0), (12_000, -16.0)], 0.0022)
        out = 0.30 * head * force**0.8 + 0.36 * wires * force**1.25 * rattle * env
        out[: len(blow)] += 0.30 * force**1.7 * blow
        return _fade_end(np.tanh(1.2 * out) * opening(t, 0.0004))

    return played


def tom(hz: float, decay_s: float = 0.22) -> Instrument:
    """A tuned tom: membrane modes that bend down a little, and the stick."""

    def played(stroke: Stroke) -> Sound:
        force = stroke.strength
        t = seconds_axis(decay_s * 4)
        bend = 1 + (0.12 + 0.2 * force) * np.exp(-t / 0.04)
        out = np.zeros(len(t))
        for place, ratio in enumerate(MEMBRANE[:6]):
            level = [1, 0.5, 0.3, 0.22, 0.16, 0.1][place] ** (1.4 - 0.5 * force)
            out += level * glide(hz * ratio * bend) * np.exp(-t / (decay_s * ratio**-1.3))
        stick = burst(stroke.random, 0.03, [(300, -8.0), (1800, 0.0), (5000, -6.0), (11_000, -24.0)], 0.004)
        out[: len(stick)] += 0.5 * force**1.6 * stick
        return _fade_end(0.55 * np.tanh(1.3 * force * out) * opening(t, 0.0004))

    return played


def cardboard(hz: float = 155.0) -> Instrument:
    """A box of wet card hit with a brush: a dull body, and a slap of fibres."""

    def played(stroke: Stroke) -> Sound:
        force, random = stroke.strength, stroke.random
        t = seconds_axis(0.45)
        ratios = np.array([1, 1.42, 1.93, 2.71, 3.3, 4.4])
        body = ring(hz * ratios, 0.06 * ratios**-0.8, [0.9, 0.7, 0.5, 0.35, 0.3, 0.2], 0.45)[: len(t)]
        colour = [(250, -14.0), (700, -3.0), (1500, 0.0), (3200, -5.0), (6500, -16.0), (12_000, -38.0)]
        fibres = coloured(random, 0.45, colour)[: len(t)]
        env = opening(t, 0.003) * (np.exp(-t / 0.018) + 0.35 * np.exp(-t / 0.075))
        return _fade_end((0.34 * body * force + 0.55 * force**1.3 * fibres * env) * opening(t, 0.0004))

    return played


def rim(hz: float = 480.0) -> Instrument:
    """A stick laid across the rim: wood, short and dry."""

    def played(stroke: Stroke) -> Sound:
        ratios = np.array([1, 1.83, 2.6, 3.9, 5.3, 7.7])
        out = ring(hz * ratios, 0.022 * ratios**-0.5, [0.6, 0.5, 0.45, 0.4, 0.2, 0.12], 0.16)
        blow = burst(stroke.random, 0.02, [(600, -12.0), (2400, 0.0), (6000, -5.0), (12_000, -24.0)], 0.002)
        out[: len(blow)] += 0.25 * stroke.strength * blow
        return _fade_end(0.7 * stroke.strength * out)

    return played


def clap(spread_s: float = 0.0085) -> Instrument:
    """A few hands, not quite together, and the room between them; the first of them is on the beat."""

    def played(stroke: Stroke) -> Sound:
        force, random = stroke.strength, stroke.random
        t = seconds_axis(0.5)
        colour = [
            (400, -20.0),
            (800, -3.0),
            (1300, 0.0),
            (2600, -4.0 + 4.0 * force),
            (5000, -12.0 + 8.0 * force),
            (10_000, -25.0 + 14.0 * force),
            (16_000, -36.0),
        ]
        out = np.zeros((len(t), 2))
        for hand in range(4):
            at = round(hand * spread_s * (0.8 + 0.4 * random.random_sample()) * 44_100) if hand else 0
            slap = burst(random, 0.4, colour, 0.0055 if hand < 3 else 0.05)[: len(t) - at]
            side = random.uniform(-0.3, 0.3)
            out[at : at + len(slap)] += np.outer(slap, [1 - side, 1 + side]) * (0.5, 0.7, 0.8, 0.75)[hand]
        return 0.35 * force * out

    return played
