"""What a recipe says, as data: checked, immutable, every part with its place in the text.

Nothing here knows of frames or files. A layer's source is one of several kinds (today a loop); whoever
needs to know which asks for its type. A new kind is one class here and one file in `mixer.material`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from fractions import Fraction
from pathlib import Path
from typing import Literal

from mixer.music.keys import Key
from mixer.music.meter import Meter
from mixer.record import record
from mixer.words.problem import Place

AS_RECORDED: Literal["as recorded"] = "as recorded"
Pitch = int | Literal["as recorded"]
Speed = Literal["nearest", "half", "double", "as recorded"]
Ending = Literal["stop", "last hit"]
ROLES = ("drums", "bass", "harmony", "melody", "percussion", "voice", "background")


@record
class Span:
    """Bars of a section, counted from 1; `last` is None where it goes to the section's end."""

    first: int
    last: int | None

    def bars(self, section_bars: int) -> range:
        """Give the bars that lie within a section of so many bars."""
        last = section_bars if self.last is None else min(self.last, section_bars)
        return range(self.first, last + 1)


@record
class Entry:
    """One layer's part in a section.

    Parameters
    ----------
    layer : its name
    spans : the bars in which it is heard, in order; none means the whole section
    level_db : added to the layer's own level
    pan : -1 (left) to 1 (right); None leaves it to the layer
    fade_in_bars, fade_out_bars : at the start of the first and the end of the last bar heard
    from_the_top : whether the loop begins at its own first bar where it enters
    at : the places of what was written
    """

    layer: str
    spans: tuple[Span, ...] = ()
    level_db: float = 0.0
    pan: float | None = None
    fade_in_bars: Fraction = Fraction(0)
    fade_out_bars: Fraction = Fraction(0)
    from_the_top: bool = False
    at: Mapping[str, Place] = field(default_factory=dict, compare=False)

    def bars(self, section_bars: int) -> list[int]:
        """Give the bars of the section in which the layer is heard, in order."""
        if not self.spans:
            return list(range(1, section_bars + 1))
        return sorted({bar for span in self.spans for bar in span.bars(section_bars)})


@record
class Section:
    """A stretch of the song with one name.

    Parameters
    ----------
    name : as written
    bars : its length
    entries : who is heard, at most one for each layer, in the order of the recipe's layers
    meant : what it should feel like, in its maker's words
    fade_in_bars, fade_out_bars : for all who are heard
    continues : names of layers that run on from the section before
    at : the places of what was written
    """

    name: str
    bars: int
    entries: tuple[Entry, ...]
    meant: str = ""
    fade_in_bars: Fraction = Fraction(0)
    fade_out_bars: Fraction = Fraction(0)
    continues: frozenset[str] = frozenset()
    at: Mapping[str, Place] = field(default_factory=dict, compare=False)


@record
class LoopSource:
    """A layer's sound is a loop, found by its name or by its file's name."""

    loop: str


Source = LoopSource


@record
class Layer:
    """A sound of the song under a name of the student's own.

    Parameters
    ----------
    name : as written
    source : where its sound comes from
    level_db : softer or louder than its role's usual place
    pan : -1 (left) to 1 (right)
    role : one of `ROLES`; None leaves it to the loop's card
    pitch : semitones on top of what the key asks for, or as recorded
    speed : how the loop's bars fill the song's
    at : the places of what was written
    """

    name: str
    source: Source
    level_db: float = 0.0
    pan: float = 0.0
    role: str | None = None
    pitch: Pitch = 0
    speed: Speed = "nearest"
    at: Mapping[str, Place] = field(default_factory=dict, compare=False)


@record
class Recipe:
    """A whole song as its maker wrote it.

    Parameters
    ----------
    file : the name of the file it was read from
    title, by, about, brief, hear, habits : as written; empty if left out
    tempo_bpm : beats (dotted ones in compound time) per minute
    key : None if left out
    meter : the time signature
    may_be_heard : class, school or home
    ending : how the song ends
    layers, sections : in the order of the text
    folder : where the file is; None for a text that is in none
    text : the whole text, as written
    at : the places of what was written
    """

    file: str
    tempo_bpm: Fraction
    layers: tuple[Layer, ...]
    sections: tuple[Section, ...]
    title: str = ""
    by: str = ""
    about: str = ""
    key: Key | None = None
    meter: Meter = Meter()
    brief: str = ""
    hear: str = ""
    habits: str = ""
    may_be_heard: str = "class"
    ending: Ending = "stop"
    folder: Path | None = field(default=None, compare=False)
    text: str = field(default="", compare=False, repr=False)
    at: Mapping[str, Place] = field(default_factory=dict, compare=False)

    @property
    def bars(self) -> int:
        """How many bars the sections have together."""
        return sum(section.bars for section in self.sections)
