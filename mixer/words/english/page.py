"""What stands on a song's own page."""

from __future__ import annotations

from collections.abc import Sequence

from mixer.words.english.listening import CARE
from mixer.words.speech import series

MONO = "Mono"
SECTIONS = "What the sections do"
STANDS_OUT = "What stands out"
QUESTIONS = "Questions (only you know the answers)"
MOOD = "How it is often heard"
BRIEF = "The brief"
CREDITS = "Credits"
AS_TABLE = "The same as a table"
TABLE_HEADS = ("Section", "Bars", "Who plays")
KEYS = (
    ("Space", "play and pause"),
    ("← →", "a bar back or on"),
    ("Shift ← →", "a section back or on"),
)
HEARING = (CARE[0].replace("Play the level check and turn up", "Turn up"), CARE[1])
NOBODY = "nobody"


def section_head(letter: str, name: str, first: int, last: int) -> str:
    """Give a section's letter, name and bars."""
    return f"{letter}  {name}, {bars(first, last)}"


def bars(first: int, last: int) -> str:
    """Give bars of the song."""
    return f"bar {first}" if first == last else f"bars {first} to {last}"


def plays(layer: str, spans: Sequence[tuple[int, int]]) -> str:
    """Give a layer and the bars of the section in which it plays; all of them where no spans are given."""
    return f"{layer} ({series(bars(*span) for span in spans)})" if spans else layer


def to_try(command: str) -> str:
    """Say how to hear a change."""
    return f"To hear it: {command}"


def written(place: str, *, song: bool) -> str:
    """Say where the page is and what is in it."""
    return f"The song's page{', with the song inside,' if song else ''} is {place}"
