"""Songs that go home: one MP3 for each student, only of songs whose makers and loops say that they may.

With numbers instead of names no name leaves: the file is a number, it carries no title and no recipe (whose notes may
name anyone), and of the credits only lines that name nobody of the class.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from mixer.classroom.session import whole
from mixer.classroom.songs import Done
from mixer.signal.tags import Tags
from mixer.song.songfile import write_smaller
from mixer.store.names import distinct_places, safe_name
from mixer.text.names import same_name
from mixer.words.english import sharing as said


@dataclass(frozen=True)
class Shared:
    """What goes home, and what stays and why.

    Parameters
    ----------
    files : the songs' names and their files
    stays : the songs' names and why they stay
    """

    files: tuple[tuple[str, Path], ...]
    stays: tuple[tuple[str, str], ...]


def why_it_stays(done: Done) -> str:
    """Say why a song may not leave the class; empty if it may."""
    if done.state != "song":
        return said.NOT_WHOLE
    if done.leaves.get("heard") != "home":
        return said.not_meant_for_home(str(done.leaves.get("heard", "class")))
    if ask := done.leaves.get("ask", []):
        return said.ask_about([str(loop) for loop in ask])
    return ""


def share(songs: Sequence[Done], out: Path, place: Path, *, numbers: bool = False) -> Shared:
    """Write what may go home.

    Parameters
    ----------
    songs : in their order, which gives them their numbers
    out : the folder where they are
    place : where the files go
    numbers : whether nobody is to be named

    Raises
    ------
    NoEncoderError
        If MP3 cannot be written on this machine.
    OSError
        If a file cannot be written.
    """
    people = _people(songs)
    digits = max(2, len(str(len(songs))))
    files: list[tuple[str, Path]] = []
    stays: list[tuple[str, str]] = []
    names = [f"{n:0{digits}}" if numbers else safe_name(done.title or done.name) for n, done in enumerate(songs, 1)]
    places = distinct_places(place / f"{name}.mp3" for name in names)
    for done, name, path in zip(songs, names, places, strict=True):
        if why := why_it_stays(done):
            stays.append((done.name, why))
            continue
        sound = whole(done, out)
        write_smaller(sound, sound.rate_hz, path, "mp3", _tags(done, name, people, numbers=numbers))
        files.append((done.name, path))
    return Shared(tuple(files), tuple(stays))


def _tags(done: Done, name: str, people: set[str], *, numbers: bool) -> Tags:
    credits_ = [str(line) for line in done.leaves.get("loops", [])]
    if numbers:
        return Tags(title=name, comment="; ".join(line for line in credits_ if not _names_any(line, people)))
    return Tags(title=done.title or done.name, artist=done.by, comment="; ".join(credits_))


def _people(songs: Iterable[Done]) -> set[str]:
    """Every name of the class as names are compared, whole and word by word."""
    names = {same_name(done.by) for done in songs if done.by}
    words = {word for name in names for word in re.findall(r"\w{2,}", name)}
    return names | (words - said.NO_NAMES)


def _names_any(line: str, people: set[str]) -> bool:
    text = same_name(line)
    return any(re.search(rf"(?<!\w){re.escape(name)}(?!\w)", text) for name in people)
