"""Small percussion: grains in a jar, hand drums, a crate to sit on, wood."""

from __future__ import annotations

import numpy as np

from demo_loops.making.instruments.drums import MEMBRANE
from demo_loops.making.loop import Instrument, Stroke
from demo_loops.making.noise import Colour, burst, coloured
from demo_loops.making.ring import Sound, damped, glide, opening, ring, seconds_axis

RICE: Colour = ((900, -45.0), (2800, -14.0), (5200, 0.0), (8200, -2.0), (11_000, -14.0), (15_000, -42.0))
PEPPER: Colour = ((1500, -45.0), (5000, -10.0), (8200, 0.0), (11_500, -4.0), (15_000, -18.0), (19_000, -45.0))


def shaker(colour: Colour = RICE, gather_s: float = 0.013, fall_s: float = 0.030) -> Instrument:
    """Grains in a jar: they gather, meet the wall, and settle. `away` strokes are longer and darker than `toward`."""

    def played(stroke: Stroke) -> Sound:
        force, random = stroke.strength, stroke.random
        away = stroke.note.kind.endswith("away")
        gather = gather_s * (1.5 if away else 1.0)
        t = seconds_axis(gather + fall_s * 6)
        # Single grains, about one a millisecond, not a hiss.
        grains = np.convolve(np.abs(random.standard_normal(len(t))) > 2.3, np.hanning(45), "same")
        shift = 0.82 + 0.22 * force  # harder is brighter
        hiss = coloured(random, t[-1] + 0.001, [(hz * shift, level) for hz, level in colour])[: len(t)]
        dull = [(hz * shift * 0.78, level) for hz, level in colour]
        soft = coloured(random, t[-1] + 0.001, dull)[: len(t)]
        env = opening(t, gather) ** 1.5 * np.exp(-np.maximum(t - gather, 0) / (fall_s * (0.7 + 0.5 * force)))
        mixed = (hiss if not away else 0.5 * hiss + 0.6 * soft) * (0.35 + 0.8 * grains)
        return 0.5 * force**1.3 * mixed * env * damped(t, t[-1] * 0.9, 0.01)

    return played


def hand_drum(hz: float, decay_s: float = 0.16) -> Instrument:
    """A tall drum under a hand: `open`, `slap`, `heel` strokes of one skin."""

    def played(stroke: Stroke) -> Sound:
        force, random, kind = stroke.strength, stroke.random, stroke.note.kind
        slap, heel = kind.endswith("slap"), kind.endswith("heel")
        long = decay_s * (0.35 if slap else 0.3 if heel else 1.0)
        t = seconds_axis(decay_s * 4)
        bend = 1 + 0.1 * force * np.exp(-t / 0.02)
        tilt = np.array([1, 0.45, 0.3, 0.25, 0.2, 0.15, 0.12, 0.1]) ** (0.55 if slap else 1.5 if heel else 1.0)
        out = np.zeros(len(t))
        for level, ratio in zip(tilt, MEMBRANE, strict=True):
            out += level * glide(hz * ratio * bend) * np.exp(-t / (long * ratio**-0.8))
        bright = [(400, -10.0), (1400, 0.0), (3200, -2.0), (7000, -12.0), (13_000, -34.0)]
        dull = [(150, -2.0), (400, 0.0), (1200, -12.0), (4000, -32.0)]
        skin = burst(random, 0.06, bright if slap else dull, 0.011 if slap else 0.006)
        out[: len(skin)] += (0.9 if slap else 0.4) * force * skin
        return 0.42 * force * out * opening(t, 0.0007) * damped(t, t[-1] * 0.7, 0.04)

    return played


def crate(hz: float = 82.0) -> Instrument:
    """A wooden crate to sit on: `crate low` in the middle, `crate slap` at the edge."""

    def played(stroke: Stroke) -> Sound:
        force, random = stroke.strength, stroke.random
        slap = stroke.note.kind.endswith("slap")
        t = seconds_axis(0.4)
        ratios = np.array([1, 1.9, 2.7, 4.3, 6.1, 8.8, 11.5])
        levels = np.array(
            [0.25, 0.4, 0.55, 0.5, 0.45, 0.35, 0.25] if slap else [1.0, 0.45, 0.25, 0.15, 0.1, 0.06, 0.03]
        )
        wood = ring(hz * ratios, (0.05 if slap else 0.09) * ratios**-0.55, levels, 1.0)[: len(t)]
        colour = [(500, -12.0), (1500, -2.0), (3500, 0.0), (7000, -8.0), (12_000, -26.0)]
        board = coloured(random, 0.4, colour)[: len(t)]
        env = np.exp(-t / 0.012) + 0.25 * np.exp(-t / 0.05)
        blow = (0.42 if slap else 0.1) * force**1.4 * board * env
        return (0.6 * force * wood + blow) * opening(t, 0.0006) * damped(t, 0.3, 0.03)

    return played


def block(hz: float = 900.0, decay_s: float = 0.035) -> Instrument:
    """A hollow block of wood."""

    def played(stroke: Stroke) -> Sound:
        t = seconds_axis(decay_s * 6)
        ratios = np.array([1, 1.47, 2.09, 2.56, 3.9])
        wood = ring(hz * ratios, decay_s * ratios**-0.8, [1, 0.35, 0.3, 0.2, 0.12], 1.0)[: len(t)]
        blow = burst(stroke.random, 0.02, [(800, -6.0), (2500, 0.0), (7000, -12.0)], 0.0015)
        wood[: len(blow)] += 0.3 * stroke.strength * blow
        return 0.6 * stroke.strength * wood * opening(t, 0.0005) * damped(t, t[-1] * 0.8, 0.01)

    return played


def plate_knock(hz: float = 210.0) -> Instrument:
    """A knuckle on a ship's plate: clang of thick steel, damped by rust."""
    ratios = np.array([1, 1.58, 2.24, 2.92, 3.16, 4.61, 5.83, 7.4, 9.1])

    def played(stroke: Stroke) -> Sound:
        force = stroke.strength
        t = seconds_axis(0.9)
        levels = ratios ** (-1.3 + 0.8 * force) * stroke.random.uniform(0.6, 1.1, len(ratios))
        steel = ring(hz * ratios, 0.15 * ratios**-0.7, levels, 1.5)[: len(t)]
        blow = burst(stroke.random, 0.03, [(300, -6.0), (1500, 0.0), (5000, -10.0), (12_000, -30.0)], 0.003)
        steel[: len(blow)] += 0.5 * force * blow
        return 0.3 * force * steel * opening(t, 0.0006) * damped(t, 0.6, 0.08)

    return played


def scrape(teeth: int = 9, length_s: float = 0.11) -> Instrument:
    """A stick drawn over a ribbed gourd: teeth one after another, faster towards the end."""

    def played(stroke: Stroke) -> Sound:
        long = length_s * (1.8 if stroke.note.kind.endswith("long") else 1.0)
        t = seconds_axis(long + 0.06)
        out = np.zeros(len(t))
        for tooth in range(teeth):
            at = round(long * (tooth / teeth) ** 0.85 * 44_100)
            tick = burst(stroke.random, 0.03, [(900, -16.0), (2600, 0.0), (5200, -3.0), (10_000, -22.0)], 0.0035)
            piece = tick[: len(t) - at]
            out[at : at + len(piece)] += piece * (0.5 + 0.5 * tooth / teeth)
        return 0.45 * stroke.strength * out * damped(t, t[-1] * 0.95, 0.01)

    return played
