"""What is said of songs that go home, and of those that stay."""

from __future__ import annotations

from collections.abc import Sequence

from mixer.words.speech import series

NOT_WHOLE = "not finished"
# Words that stand in many makers' names and name nobody.
NO_NAMES = frozenset({"and", "the", "table", "group", "team", "class", "week", "lesson", "song", "songs", "by"})


def not_meant_for_home(heard: str) -> str:
    """Say that a maker has not said that a song may be heard at home."""
    return f'to be heard by the {heard} only ("may be heard: home" in a recipe lets its song go)'


def ask_about(loops: Sequence[str]) -> str:
    """Say that it is not known whether loops may be taken home."""
    return f"whether {series(loops)} may be taken home is not known: ask your school"


def went(count: int, place: str) -> str:
    """Say what was written."""
    songs = "1 song" if count == 1 else f"{count} songs"
    return f"{songs} to take home: {place}"


def stays(names: Sequence[str], why: str) -> str:
    """Say why songs stay."""
    return f"{series(names)} stay{'s' if len(names) == 1 else ''} here: {why}."
