"""Chords as they are written (`Am`, `F`, `C#m7`, `G/B`): which notes they have, and how two of them go together.

Symbols as in most song books (common practice, no source): a capital letter alone is a major triad, `m` a minor one,
`dim` or `°`, `aug` or `+`, `sus2`, `sus4`, `6`, `7`, `maj7`, `m7`, `add9`; after a slash stands the bass.
"""

from __future__ import annotations

import re

from mixer.record import record

_LETTERS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_SIGNS = {"": 0, "#": 1, "♯": 1, "b": -1, "♭": -1}
_NAMES = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
_KINDS = {
    "": (0, 4, 7),
    "m": (0, 3, 7),
    "dim": (0, 3, 6),
    "aug": (0, 4, 8),
    "sus2": (0, 2, 7),
    "sus4": (0, 5, 7),
    "6": (0, 4, 7, 9),
    "m6": (0, 3, 7, 9),
    "7": (0, 4, 7, 10),
    "maj7": (0, 4, 7, 11),
    "m7": (0, 3, 7, 10),
    "m7b5": (0, 3, 6, 10),
    "dim7": (0, 3, 6, 9),
    "7sus4": (0, 5, 7, 10),
    "9": (0, 4, 7, 10, 2),
    "m9": (0, 3, 7, 10, 2),
    "maj9": (0, 4, 7, 11, 2),
    "add9": (0, 4, 7, 2),
    "5": (0, 7),
}
_SPELLINGS = {
    "M": "",
    "maj": "",
    "min": "m",
    "-": "m",
    "°": "dim",
    "o": "dim",
    "+": "aug",
    "sus": "sus4",
    "M7": "maj7",
    "Δ": "maj7",
    "min7": "m7",
    "-7": "m7",
    "ø": "m7b5",
    "°7": "dim7",
}


@record
class Chord:
    """A chord.

    Parameters
    ----------
    root : semitones above C, 0 to 11
    kind : such as "" (major), "m", "7"
    bass : the lowest note, semitones above C; None where it is the root
    """

    root: int
    kind: str = ""
    bass: int | None = None

    @property
    def notes(self) -> frozenset[int]:
        """Its pitch classes, semitones above C."""
        own = {(self.root + step) % 12 for step in _KINDS[self.kind]}
        return frozenset(own if self.bass is None else own | {self.bass})

    def moved(self, semitones: int) -> Chord:
        """The same chord so many semitones higher."""
        bass = None if self.bass is None else (self.bass + semitones) % 12
        return Chord((self.root + semitones) % 12, self.kind, bass)

    def __str__(self) -> str:
        under = "" if self.bass is None else f"/{_NAMES[self.bass]}"
        return f"{_NAMES[self.root]}{self.kind}{under}"


def parse_chord(text: str) -> Chord | None:
    """Read a chord; None when it is none that is known here."""
    found = re.fullmatch(r"([A-G])([#♯b♭]?)([^/\s]*)(?:/([A-G])([#♯b♭]?))?", text.strip())
    if not found:
        return None
    kind = _SPELLINGS.get(found[3], found[3])
    if kind not in _KINDS:
        return None
    bass = (_LETTERS[found[4]] + _SIGNS[found[5]]) % 12 if found[4] else None
    return Chord((_LETTERS[found[1]] + _SIGNS[found[2]]) % 12, kind, bass)


def agree(one: Chord, other: Chord) -> bool:
    """Whether one chord has all notes of the other (Am and Am7)."""
    return one.notes <= other.notes or other.notes <= one.notes


def clash(one: Chord, other: Chord) -> bool:
    """Whether two chords have fewer than two notes in common, or are a major and a minor chord on one root."""
    if agree(one, other):
        return False
    both = {(note - one.root) % 12 for note in one.notes ^ other.notes}
    return len(one.notes & other.notes) < 2 or (one.root == other.root and both >= {3, 4})
