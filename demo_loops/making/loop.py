"""A loop as it is written down: its card, its players, its room and tone."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from demo_loops.making.noise import Colour
from demo_loops.making.ring import Sound
from demo_loops.making.room import PARLOUR, Room
from demo_loops.making.score import Note, loosened

# About equally loud to the ear, so that no file startles; what has few and short hits may only be as loud as its peaks.
LOUDNESS_LUFS = {
    "drums": -18.0,
    "bass": -20.0,
    "harmony": -21.0,
    "melody": -21.0,
    "percussion": -24.0,
    "background": -27.0,
}
PEAK_DBFS = -2.0

FLAT: Colour = ((100.0, 0.0), (10_000.0, 0.0))


@dataclass(frozen=True)
class Stroke:
    """What an instrument is asked for: a note, how long it is held, its frequency, and its own random numbers."""

    note: Note
    held_s: float
    hz: float
    random: np.random.RandomState

    @property
    def strength(self) -> float:
        return self.note.strength


Instrument = Callable[[Stroke], Sound]


@dataclass(frozen=True)
class Voice:
    """One player: an instrument and its notes; `room_db` is how much of it goes into the room."""

    instrument: Instrument
    notes: tuple[Note, ...]
    level_db: float = 0.0
    pan: float = 0.0
    room_db: float = -15.0
    late_ticks: int = 5


@dataclass(frozen=True)
class Loop:
    """A whole loop. `key` is none for what has no pitch; `chords` has one symbol a bar."""

    name: str
    role: str
    tempo_bpm: str
    bars: int
    voices: tuple[Voice, ...]
    beats_per_bar: int = 4
    key: str = "none"
    chords: str = ""
    family: str = ""
    room: Room = PARLOUR
    drive: float = 0.0
    colour: Colour = FLAT
    low_cut_hz: float = 40.0

    @property
    def beats(self) -> int:
        return self.bars * self.beats_per_bar

    def played(self) -> list[tuple[Voice, list[Note]]]:
        """Every voice with its notes as hands play them."""
        return [
            (v, loosened(v.notes, v.late_ticks, self.beats_per_bar, self.name, place))
            for place, v in enumerate(self.voices)
        ]


def frames_at(beat: Fraction | int, tempo_bpm: Fraction, rate_hz: int) -> int:
    """The frame nearest to a beat; exact until the one rounding."""
    return round(Fraction(beat) * 60 * rate_hz / tempo_bpm)
