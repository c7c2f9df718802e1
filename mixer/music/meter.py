"""Time signatures: how long a bar is, exactly.

Bars and beats are rational numbers. They become frames once, counted from the start of the song, so that
bar 400 is as exact as bar 1: adding up rounded bars would drift by up to half a frame a bar.
"""

from __future__ import annotations

import re
from fractions import Fraction

from mixer.record import record

_COMPOUND = (6, 9, 12)


@record
class Meter:
    """A time signature such as 4/4 or 6/8.

    Parameters
    ----------
    count : the upper number, 1 to 16
    unit : the lower number: 2, 4, 8 or 16
    """

    count: int = 4
    unit: int = 4

    @property
    def compound(self) -> bool:
        """Whether three units make a beat, as in 6/8, 9/8 and 12/8 (the beat is the dotted one)."""
        return self.unit >= 8 and self.count in _COMPOUND

    @property
    def beats(self) -> int:
        """How many beats are counted in a bar."""
        return self.count // 3 if self.compound else self.count

    def bar_seconds(self, tempo_bpm: Fraction) -> Fraction:
        """Length of a bar: beats of a bar x 60 / beats per minute."""
        return self.beats * 60 / Fraction(tempo_bpm)

    def __str__(self) -> str:
        return f"{self.count}/{self.unit}"


def parse_meter(text: str) -> Meter | None:
    """Read a time signature; None when it is none."""
    found = re.fullmatch(r"\s*(\d{1,2})\s*/\s*(\d{1,2})\s*", text)
    if not found:
        return None
    count, unit = int(found[1]), int(found[2])
    return Meter(count, unit) if 1 <= count <= 16 and unit in (2, 4, 8, 16) else None


def nearest_frame(position_frames: Fraction) -> int:
    """Give the frame nearest to an exact position; a half goes up, on every machine."""
    numerator, denominator = position_frames.as_integer_ratio()
    return (2 * numerator + denominator) // (2 * denominator)
