"""What is said to a teacher about a whole class: what was made, what was not, and why."""

from __future__ import annotations

from collections.abc import Sequence

from mixer.words.columns import columns
from mixer.words.english.told import minutes
from mixer.words.speech import advice, series

SECONDS = 'it is a number of seconds, such as "18s".'
ENDED = "the program that made it was ended twice while it was at it (perhaps there is too little memory)"
TOO_LONG = "it took longer than five minutes and was given up (is a loop on a slow drive?)"
NO_MEMORY = "there is too little memory for it on this machine"
_STATES = {"song": "song", "draft": "draft", "earlier": "earlier", "none": "not made"}


def not_there(place: str) -> str:
    """Say that a file or folder is missing."""
    return f'there is no "{place}".'


def too_large(asked_bytes: int, room_bytes: int) -> str:
    """Say that a song asks for more memory than there is."""
    asked, room = (max(1, round(each / 1_000_000)) for each in (asked_bytes, room_bytes))
    return f"it needs about {asked} MB of memory and there is room for {room}: use fewer or shorter loops"


def could_not_write(why: str) -> str:
    """Say that what came of a song could not be written."""
    return f"a file of it could not be read or written ({why})"


def went_wrong(kind: str, what: str) -> str:
    """Say that the program made a mistake of its own."""
    return f"the program made a mistake of its own ({kind}: {what[:200]})"


def in_use(folder: str, process: str) -> str:
    """Say that another run is at work in the same folder."""
    who = f" (process {process})" if process else ""
    return f"""Another run is making songs in {folder} just now{who}. This one changed nothing.
Wait until the other is done and run this again, or give this one a folder of its own: --out FOLDER"""


def found(count: int, processes: int) -> str:
    """Say what is about to be made."""
    songs = "1 recipe" if count == 1 else f"{count} recipes"
    at_once = "" if processes == 1 else f", {processes} at a time"
    return f"{songs} found{at_once}."


NOTHING_FOUND = "No recipe was found there. A recipe is a text that ends in .yaml and has tempo, layers and sections."
CUT = "There is more in these folders than was looked at. Name smaller folders."


def older(path: str, newer: str) -> str:
    """Say which version was passed over."""
    return f"{path} is an older version of {newer} and was passed over (--all-versions makes it too)."


def several(by: str, paths: Sequence[str]) -> str:
    """Say that one maker has more songs than one, and all were made."""
    return f"{by} has {len(paths)} songs, and all are made: {series(paths)}. Is one of them an older version?"


def progress(done: int, of: int, left_seconds: float | None) -> str:
    """Say how far it is, for a terminal."""
    left = "" if left_seconds is None else f", about {_about(left_seconds)} left"
    return f"{done} of {of} songs{left}"


def _about(seconds: float) -> str:
    return f"{max(1, round(seconds))} s" if seconds < 90 else f"{round(seconds / 60)} min"


def table(rows: Sequence[tuple[str, str, float, str, bool, str]]) -> list[str]:
    """Give one line for each song: its name, its state, its length, and why there is no whole song.

    Parameters
    ----------
    rows : name, state, length in seconds, why, whether it was made now, what it does of what a brief asks
    """
    width = min(40, max((columns(name) for name, *_ in rows), default=0))
    lines = []
    for name, state, seconds, why, fresh, brief in rows:
        length = minutes(seconds) if seconds else ""
        as_before = "" if fresh else "as before"
        told = why or as_before
        note = "; ".join(part for part in (told.removesuffix(".") if brief else told, brief) if part)
        lines.append(f"{name}{' ' * (width - columns(name))}  {_STATES[state]:<8}  {length:>5}  {note}".rstrip())
    return lines


def summed(songs: int, drafts: int, earlier: int, none: int, out: str) -> str:
    """Say it in one line."""
    parts = [_count(songs, "song"), *([_count(drafts, "draft")] if drafts else [])]
    parts += [_count(earlier, "earlier version")] if earlier else []
    not_made = f"; {none} could not be made" if none else ""
    return f"{series(parts)} in {out}{not_made}."


def _count(number: int, what: str) -> str:
    return f"1 {what}" if number == 1 else f"{number} {what}s"


def excerpts(count: int, folder: str) -> str:
    """Say where the parts to hear first are."""
    return f"A part of each ({_count(count, 'file')}) is in {folder}"


def recording(place: str, length_seconds: float) -> str:
    """Say where all songs are one after another."""
    return f"All of them one after another ({minutes(length_seconds)}): {place}"


def pages(listen: str, teacher: str, sheet: str) -> list[str]:
    """Say where the pages are."""
    return [f"For the projector: {listen}", f"For the teacher:   {teacher}", f"To print for all:  {sheet}"]


LESSONS = frozenset({"week", "weeks", "wk", "w", "lesson", "lessons", "day", "session", "meeting"})
"""What folders of one lesson each are called, with a number."""


def weeks(called: Sequence[str]) -> str:
    """Say which earlier weeks are compared with."""
    return f"What changed is told since {series(called)}."


def no_such_song(line: str) -> str:
    """Say that a line of an order calls no song."""
    return f'No song is called "{line}". A line of the order is the name, the title or the maker of a song.'


def not_read(place: str, why: str) -> str:
    """Say that a file cannot be read."""
    return f"{place} cannot be read{f' ({why})' if why else ''}; the songs come by name."


@advice
def rubric_missing(name: str) -> tuple[str, str]:
    return f'the rubric "{name}" cannot be read.', "See whether its name is spelt as it is."


@advice
def rubric_empty() -> tuple[str, str]:
    return "no criterion stands in this rubric.", "A criterion is a line: Energy: stays the same, changes"


@advice
def rubric_levels(name: str) -> tuple[str, str]:
    return (
        f'the criterion "{name}" needs two levels or more; it was left out.',
        f"Write them in one line, with commas between them: {name}: not yet, nearly, yes",
    )


def stopped(done: int, of: int) -> str:
    """Say what is there after songs were no longer made."""
    return f"{_count(done, 'song')} of {of} are done and stay."


STOPPED = "Stopped. Run it again to go on: what is done is not made again."


def not_written(place: str, why: str) -> str:
    """Say that a file could not be written."""
    return f"{place} could not be written ({why})."
