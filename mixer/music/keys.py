"""Keys: a tonic and a mode, and how far one key is from another.

Two keys are compared by their scale: A minor and C major hold the same seven notes, so a loop in one fits a
song in the other as it is. The seven modes are those of the major scale; "major" is ionian and "minor" is
aeolian (the natural minor).
"""

from __future__ import annotations

import re

from mixer.record import record

_LETTERS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_SIGNS = {"": 0, "#": 1, "♯": 1, "b": -1, "♭": -1}
_SCALE_ROOT_TO_TONIC = {
    "major": 0,
    "ionian": 0,
    "dorian": 2,
    "phrygian": 4,
    "lydian": 5,
    "mixolydian": 7,
    "minor": 9,
    "aeolian": 9,
    "locrian": 11,
}
MODES = tuple(_SCALE_ROOT_TO_TONIC)
_MODE_SPELLINGS = {"m": "minor", "min": "minor", "maj": "major"}


@record
class Key:
    """A key such as A minor.

    Parameters
    ----------
    tonic : its name as written, such as "F#" or "Eb"
    mode : one of `MODES`
    """

    tonic: str
    mode: str

    @property
    def tonic_semitones(self) -> int:
        """Semitones of the tonic above C, 0 to 11."""
        return (_LETTERS[self.tonic[0]] + _SIGNS[self.tonic[1:]]) % 12

    @property
    def scale_root(self) -> int:
        """Semitones above C of the major scale that holds the same notes, 0 to 11."""
        return (self.tonic_semitones - _SCALE_ROOT_TO_TONIC[self.mode]) % 12

    def __str__(self) -> str:
        return f"{self.tonic} {self.mode}"


def parse_key(text: str) -> Key | None:
    """Read a key (`A minor`, `Am`, `Eb major`, `F# dorian`, `f sharp minor`); None when it is none.

    A bare letter is none: it could be major or minor.
    """
    words = re.sub(r"\s+", " ", text.strip())
    words = re.sub(r"(?i)^([a-g])[ -]?sharp\b", r"\1#", words)
    words = re.sub(r"(?i)^([a-g])[ -]?flat\b", r"\1b", words)
    found = re.fullmatch(r"([A-Ga-g]) ?([#♯b♭]?)[ -]?([A-Za-z]+)", words)
    if not found:
        return None
    mode = found[3] if found[3] in _MODE_SPELLINGS else found[3].lower()
    mode = _MODE_SPELLINGS.get(mode, mode)
    if mode not in _SCALE_ROOT_TO_TONIC:
        return None
    sign = found[2].replace("♯", "#").replace("♭", "b")
    return Key(found[1].upper() + sign, mode)


def semitones_between(own: Key, target: Key) -> int:
    """How far a sound in the key `own` moves to have the notes of `target`: -6 to +5, down at a tie."""
    return (target.scale_root - own.scale_root + 6) % 12 - 6
