"""What is said while recipes are watched."""

from __future__ import annotations

from collections.abc import Sequence

from mixer.words.speech import series

STOPPED = "Stopped. The songs that were made are where they are."
_MOST_TOLD = 3


def watching(place: str) -> str:
    """Say what is watched and how to end it."""
    return f"Watching {place}. Save a recipe and its song is made again. Ctrl-C ends it."


def page_at(address: str) -> str:
    """Say where the page is to be opened."""
    return f"Its page, on this machine alone: {address}"


ONE_PAGE = "it is for one recipe; of a folder each song's page is written beside its recipe."


def no_port(why: str) -> str:
    """Say that no page can be served."""
    return f"This machine lets no page be served{f' ({why})' if why else ''}. Without --page the song is made all the same."


def nothing_to_watch(place: str) -> str:
    """Say that there is nothing."""
    return f"There is no file or folder called {place}."


def saved(name: str, told: Sequence[str] | None) -> str:
    """Say in one line what changed in a recipe that was saved; None for the first time."""
    if told is None:
        return f"{name}:"
    if not told:
        return f"{name}: nothing that could be heard or told has changed"
    more = len(told) - _MOST_TOLD
    return f"{name}: {'; '.join(told[:_MOST_TOLD])}{f'; and {more} more' if more > 0 else ''}"


def came_of_it(song: str, lines: Sequence[str], mistakes: int, last_good: str) -> str:
    """Say in one line where the song is, where the mistakes are, and which song is still there."""
    if not mistakes:
        return f"  the song is in {song}" if song else "  no song was made"
    where = f" (line{'s' if len(lines) > 1 else ''} {series(lines)}; mixer check tells more)" if lines else ""
    count = "1 mistake" if mistakes == 1 else f"{mistakes} mistakes"
    draft = f"a draft is in {song}" if song else "no song was made"
    return f"  {count}{where}; {draft}{f', and the last good song stays in {last_good}' if last_good else ''}"
