"""A loop as it is written down: its card, its players, its room and tone."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from demo_loops.making.noise import Colour
from demo_loops.making.ring import Sound
from demo_loops.making.room import PARLOUR, Room
from demo_loops.making.score import Note, loosened

# About what a mix makes of each role. A file is stored louder than that, so what its last bits say is never heard.
MIX_LUFS = {
    "drums": -18.0,
    "bass": -20.0,
    "harmony": -21.0,
    "melody": -19.0,
    "percussion": -25.0,
    "background": -27.0,
}
PEAK_DBFS = -2.9

DRY = -120.0  # decibels: not in the room at all

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
    """One player: an instrument and its notes; `room_db` is how much of it goes into the room, `DRY` for none."""

    instrument: Instrument
    notes: Sequence[Note]
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


@dataclass(frozen=True)
class Family:
    """Loops made to go together: one tempo, one key, one chord a bar. Hits and noises have neither key nor chords."""

    name: str
    tempo_bpm: str
    key: str
    chords: tuple[str, ...]
    beats_per_bar: int = 4

    def loop(
        self,
        name: str,
        role: str,
        *voices: Voice,
        bars: int = 4,
        room: Room = PARLOUR,
        drive: float = 0.0,
        colour: Colour = FLAT,
        low_cut_hz: float = 40.0,
    ) -> Loop:
        """One loop of the family."""
        pitched = role in {"bass", "harmony", "melody"}
        return Loop(
            name=name,
            role=role,
            tempo_bpm=self.tempo_bpm,
            bars=bars,
            voices=voices,
            beats_per_bar=self.beats_per_bar,
            key=self.key if pitched else "none",
            chords=" | ".join(self.chords * (bars // len(self.chords))) if pitched else "",
            family=self.name,
            room=room,
            drive=drive,
            colour=colour,
            low_cut_hz=low_cut_hz,
        )


def frames_at(beat: Fraction | int, tempo_bpm: Fraction, rate_hz: int) -> int:
    """The frame nearest to a beat; exact until the one rounding."""
    return round(Fraction(beat) * 60 * rate_hz / tempo_bpm)
