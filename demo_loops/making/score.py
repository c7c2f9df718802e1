"""What is played and when: notes at exact beats, and short ways to write them down.

A beat is a quarter note, counted from 0 at the start of the loop. Swing and the small lateness of hands are part of
the beat, as whole ticks, so that every onset stays a rational number and can be computed exactly at any tempo. What
is late is late by beats, not by seconds: a faster player is late by less.
"""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np

TICK = Fraction(1, 960)  # of a beat; 0.65 ms at 96 BPM
STEPS_PER_BEAT = 4
LETTERS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
SIGNS = {"#": 1, "b": -1}


@dataclass(frozen=True)
class Note:
    """One sound: where it begins and how long it is held (beats), its kind, strength 0 to 1, MIDI pitch or none."""

    beat: Fraction
    kind: str
    strength: float
    beats: Fraction = Fraction(1)
    pitch: int | None = None


def random_of(*names: object) -> np.random.RandomState:
    """Random numbers that belong to these names, whatever else is played and in which order.

    `RandomState` is the one stream that numpy promises never to change (NEP 19).
    """
    seed = zlib.crc32("/".join(str(name) for name in names).encode())
    return np.random.RandomState(seed)


def midi_of(name: str) -> int:
    """MIDI number of a pitch such as `C4` (60), `F#3`, `Bb2`."""
    sign = SIGNS.get(name[1], 0)
    octave = int(name[2:] if sign else name[1:])
    return LETTERS[name[0]] + sign + 12 * (octave + 1)


def hz_of(midi: float) -> float:
    """Frequency in equal temperament, A4 = 440 Hz (ISO 16)."""
    return float(440.0 * 2.0 ** ((midi - 69) / 12))


def hits(kind: str, grid: str, steps_per_beat: int = STEPS_PER_BEAT, swing: float = 0.0) -> list[Note]:
    """Read a grid of steps: a digit is a hit of that strength (9 is full), a dot a rest; bars and blanks separate.

    `swing` delays every second step by that part of a step (common practice: 0.33 is a triplet feel).
    """
    marks = [mark for mark in grid if mark not in " |\n"]
    delay = round(swing / steps_per_beat / TICK) * TICK
    return [
        Note(Fraction(step, steps_per_beat) + delay * (step % 2), kind, int(mark) / 9, Fraction(1, steps_per_beat))
        for step, mark in enumerate(marks)
        if mark != "."
    ]


def choked(opened: Sequence[Note], closing: Sequence[Note], longest: Fraction) -> list[Note]:
    """Open hats that ring until the next hat is played, as on one pair of cymbals."""
    starts = sorted({note.beat for note in [*opened, *closing]})
    ends = [min((s for s in starts if s > note.beat), default=note.beat + longest) for note in opened]
    return [replace(note, beats=min(end - note.beat, longest)) for note, end in zip(opened, ends, strict=True)]


def line(text: str, kind: str = "note", strength: float = 0.7) -> list[Note]:
    """Read a tune: `A4:1.5` is a pitch and its length in beats, `r:1` a rest, `!` an accent, `?` a soft note.

    A `~` shortens a note to two thirds (detached); bars and line ends separate.
    """
    notes, beat = [], Fraction(0)
    for word in text.replace("|", " ").split():
        name, length = word.rstrip("!?~").split(":")
        beats = Fraction(length)
        if name != "r":
            change = 0.22 * word.count("!") - 0.25 * word.count("?")
            held = beats * Fraction(2, 3) if "~" in word else beats
            notes.append(Note(beat, kind, strength + change, held, midi_of(name)))
        beat += beats
    return notes


def chords(
    voicings: Sequence[str], rhythm: str, roll: int = 0, kind: str = "chord", beats_per_bar: int = 4
) -> list[Note]:
    """Play each voicing (`A3 C4 E4`) for one bar in a rhythm of `start:length:strength` words, in beats.

    Further parts of a word pick voices: `high` (all but the lowest), `top`; `up` plays from the top down, as a strum
    upward does. `roll` spreads the voices by so many ticks each.
    """
    return [
        note
        for bar, voicing in enumerate(voicings)
        for word in rhythm.split()
        for note in _strike(word.split(":"), Fraction(beats_per_bar * bar), voicing.split(), roll, kind)
    ]


def _strike(word: list[str], bar_start: Fraction, names: list[str], roll: int, kind: str) -> list[Note]:
    start, length, strength, *which = word
    picked = names[1:] if "high" in which else names[-1:] if "top" in which else names
    ordered = list(reversed(picked)) if "up" in which else picked
    return [
        Note(
            bar_start + Fraction(start) + TICK * roll * place,
            kind,
            float(strength) * (1 - 0.04 * place),
            Fraction(length),
            midi_of(name),
        )
        for place, name in enumerate(ordered)
    ]


def shifted(notes: Sequence[Note], beats: float | Fraction) -> list[Note]:
    """The same notes, so many beats later."""
    return [replace(note, beat=note.beat + Fraction(beats)) for note in notes]


def loosened(notes: Sequence[Note], late_ticks: int, beats_per_bar: int, *names: object) -> list[Note]:
    """Played by hands: each note up to so many ticks late and a little stronger or weaker; downbeats stay exact."""
    hands = random_of("hands", *names)
    out = []
    for note in sorted(notes, key=lambda n: (n.beat, n.pitch or 0)):
        late, push = int(hands.randint(0, late_ticks + 1)), hands.uniform(-0.05, 0.05)
        at = note.beat if note.beat % beats_per_bar == 0 else note.beat + TICK * late
        out.append(replace(note, beat=at, strength=float(np.clip(note.strength + push, 0.05, 1.0))))
    return out
