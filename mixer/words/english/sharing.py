"""What is said of songs that go home, and of those that stay."""

from __future__ import annotations

from collections.abc import Sequence

from mixer.words.speech import series

NOT_WHOLE = "it is not finished"
# Words that stand in many makers' names and name nobody.
NO_NAMES = frozenset({"and", "the", "table", "group", "team", "class", "by"})


def not_meant_for_home(heard: str) -> str:
    """Say that a maker has not said that a song may be heard at home."""
    return f'its maker lets it be heard by the {heard} ("may be heard: home" in the recipe would let it go)'


def ask_about(loops: Sequence[str]) -> str:
    """Say that it is not known whether loops may be taken home."""
    return f"whether {series(loops)} may be taken home is not known: ask your school"


def went(count: int, place: str) -> str:
    """Say what was written."""
    songs = "1 song" if count == 1 else f"{count} songs"
    return f"{songs} to take home: {place}"


def stays(name: str, why: str) -> str:
    """Say why a song stays."""
    return f"{name} stays here: {why}."
