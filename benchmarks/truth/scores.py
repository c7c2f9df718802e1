"""Composes loops by fixed rules and drawn numbers: every role, several manners of playing each, any key and metre."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np

from benchmarks.truth.band import Part
from benchmarks.truth.manners import BEATS, Draw, Manner
from benchmarks.truth.pitched import bass, harmony, melody
from benchmarks.truth.struck import struck

MAJOR = ((0, 7, 9, 5), (0, 9, 5, 7), (0, 5, 7, 0), (0, 5, 0, 7), (0, 4, 5, 7), (0, 9, 2, 7), (0, 7, 5, 5), (9, 5, 0, 7))
MINOR = ((0, 8, 3, 10), (0, 10, 8, 10), (0, 5, 10, 3), (0, 5, 7, 0), (0, 3, 10, 5), (0, 8, 10, 0), (0, 10, 5, 7))
SCALES = {"major": (0, 2, 4, 5, 7, 9, 11), "minor": (0, 2, 3, 5, 7, 8, 10)}
MINOR_CHORDS = {"major": {2, 4, 9}, "minor": {0, 5, 7}}
NAMES = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
PROGRAMS = {
    "bass": (32, 33, 34, 35, 36, 38, 39, 43),
    "harmony": (0, 4, 5, 6, 11, 16, 19, 24, 25, 27, 48, 50, 89, 90, 21),
    "melody": (0, 9, 11, 12, 13, 22, 24, 40, 56, 65, 68, 71, 73, 75, 80, 105),
    "voice": (52, 53, 54, 85),
}
HELD = (48, 50, 89, 90, 16, 19, 21)


@dataclass(frozen=True)
class Score:
    """A loop as written. Beats are those that are counted (dotted in 6/8)."""

    role: str
    manner: str
    time: str
    bars: int
    parts: tuple[Part, ...]
    key: str | None
    chords: tuple[str, ...]
    pickup_beats: Fraction = Fraction(0)

    @property
    def beats_per_bar(self) -> int:
        return BEATS[self.time]


def compose(manner: Manner, bars: int, tonic: int, mode: str, draw: Draw, *, upbeat: bool) -> Score:
    """Write a loop; the same numbers give the same loop."""
    if manner.role in ("drums", "percussion"):
        parts = struck(manner, bars, draw)
        key, symbols = None, ()
    else:
        roots = _roots(bars, mode, draw)
        symbols = tuple(NAMES[(tonic + r) % 12] + ("m" if r in MINOR_CHORDS[mode] else "") for r in roots)
        chords = [_triad(tonic + r, minor=r in MINOR_CHORDS[mode]) for r in roots]
        key = f"{NAMES[tonic]} {mode}"
        scale = sorted((tonic + step) % 12 for step in SCALES[mode])
        notes = {"bass": bass, "harmony": harmony, "melody": melody, "voice": melody}[manner.role](
            manner, chords, scale, BEATS[manner.time], draw
        )
        programs = PROGRAMS[manner.role]
        program = int(programs[draw.randint(len(programs))])
        if manner.name == "held":
            program = int(HELD[draw.randint(len(HELD))])
        parts = [Part(program, tuple(notes), pan=int(draw.choice((40, 64, 64, 64, 90))))]
    pickup = Fraction(0)
    if upbeat:
        pickup = Fraction(1) if manner.time != "6/8" else Fraction(1, 3)
        parts = [_with_upbeat(part, pickup, draw) for part in parts]
    parts = [_by_hand(part, swung=manner.swung, draw=draw) for part in parts]
    return Score(manner.role, manner.name, manner.time, bars, tuple(parts), key, symbols, pickup)


def _roots(bars: int, mode: str, draw: Draw) -> list[int]:
    pool = MAJOR if mode == "major" else MINOR
    four = pool[draw.randint(len(pool))]
    if bars == 1:
        return [0]
    if bars == 2:
        return [0, four[1]] if four[0] == 0 else [0, 7]
    return [four[bar % 4] for bar in range(bars)]


def _triad(root: int, *, minor: bool) -> tuple[int, int, int]:
    return root % 12, (root + (3 if minor else 4)) % 12, (root + 7) % 12


def _with_upbeat(part: Part, pickup: Fraction, draw: Draw) -> Part:
    """Notes before the first bar: what leads from the end of the loop into its start."""
    early = [n for n in part.notes if n.beat < 1] or list(part.notes[:1])
    steps = [pickup] if draw.rand() < 0.4 else [pickup, pickup / 2]
    found = [replace(early[int(draw.randint(len(early)))], beat=-step, beats=pickup / 2, velocity=78) for step in steps]
    return replace(part, notes=(*found, *part.notes))


def _by_hand(part: Part, *, swung: bool, draw: Draw) -> Part:
    """Notes that are not struck by a machine: a little uneven in strength, a few milliseconds in time."""
    notes = []
    for n in part.notes:
        beat = n.beat
        if swung and not part.drums and (beat % 1) == Fraction(1, 2):
            beat += Fraction(1, 6)
        late = Fraction(int(draw.randint(0, 6)), 960) if beat % 1 else Fraction(0)
        notes.append(replace(n, beat=beat + late, velocity=int(np.clip(n.velocity + draw.randint(-6, 7), 1, 127))))
    return replace(part, notes=tuple(notes))
