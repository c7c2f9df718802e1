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
MISTAKES = "What to look at in the recipe"
IN_THE_DRAFT = "The song on this page is a draft: what could not be read is left out."
IN_THE_LAST_SONG = "The song on this page is the last one without mistakes."
FOLLOW = {
    "again": "The song was made again. You are at the same place.",
    "again_elsewhere": "The song was made again. The section where you were is gone, so you are at the start.",
    "look": "There is something to look at in the recipe; the song is the one you had.",
    "right": "The mistakes are gone.",
    "gone": "The program that made this page has stopped. The song stays as long as this page is open.",
}
MISTAKES_HEAD = "What to look at in the recipe, told by mixer. This file goes away by itself when all is right."


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
