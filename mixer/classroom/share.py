"""Songs that go home: one MP3 for each student, only of songs whose makers and loops say that they may.

Its chart is its cover and its credits its text. With numbers instead of names no name leaves: the file is a number, it
carries no title and no recipe (whose notes may name anyone), and of credits and chart what names nobody of the class.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from mixer.classroom.session import whole
from mixer.classroom.tasks import Done, Task
from mixer.pages.chart import Chart
from mixer.record import record, replace
from mixer.signal.tags import Tags
from mixer.song.charted import chart_of
from mixer.song.cover import as_cover
from mixer.song.opened import open_recipe
from mixer.song.songfile import write_smaller
from mixer.store.names import distinct_places, safe_name
from mixer.text.names import same_name
from mixer.words.english import sharing as said


@record
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


def share(songs: Sequence[Done], tasks: Mapping[str, Task], place: Path, *, numbers: bool = False) -> Shared:
    """Write what may go home.

    Parameters
    ----------
    songs : in their order, which gives them their numbers
    tasks : by the songs' names, what they were made of
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
        task = tasks[done.name]
        sound = whole(done, task.out)
        tags = replace(_tags(done, name, people, numbers=numbers), cover=_cover(task, name, people, numbers=numbers))
        write_smaller(sound, sound.rate_hz, path, "mp3", tags)
        files.append((done.name, path))
    return Shared(tuple(files), tuple(stays))


def _tags(done: Done, name: str, people: set[str], *, numbers: bool) -> Tags:
    credits_ = [str(line) for line in done.leaves.get("loops", [])]
    if numbers:
        return Tags(title=name, comment="; ".join(line for line in credits_ if not _names_any(line, people)))
    return Tags(title=done.title or done.name, artist=done.by, comment="; ".join(credits_))


def _cover(task: Task, name: str, people: set[str], *, numbers: bool) -> bytes:
    """The chart as PNG; with numbers one on which nothing stands that a maker wrote and that names somebody."""
    plan = open_recipe(task.recipe, task.loops).plan
    if plan is None:
        return b""
    chart = chart_of(plan)
    return as_cover(nameless(chart, name, people) if numbers else chart)


def nameless(chart: Chart, number: str, people: set[str]) -> Chart:
    """Give a chart with a number for its title, and without the names of sections and layers that name somebody.

    A section keeps its letter, a layer is called by its role.
    """
    sections = (
        replace(each, name="" if _names_any(each.name, people) else each.name, meant="") for each in chart.sections
    )
    layers = (replace(each, name=each.role) if _names_any(each.name, people) else each for each in chart.layers)
    return replace(chart, title=number, by="", sections=tuple(sections), layers=tuple(layers))


def _people(songs: Iterable[Done]) -> set[str]:
    """Every name of the class as names are compared, whole and word by word: makers, and what folders are called."""
    names = {same_name(name) for done in songs for name in (done.by, *done.name.split(" - ")[:-1]) if name}
    words = {word for name in names for word in re.findall(r"[^\W\d_]{2,}", name)}
    return {name for name in names | words if re.search(r"[^\W\d_]", name)} - said.NO_NAMES


def _names_any(line: str, people: set[str]) -> bool:
    """Whether a word of a line begins with a name ("Ottilies"); a name of two letters must be the whole word."""
    text = same_name(line)
    ends = [re.escape(name) if len(name) > 2 else rf"{re.escape(name)}(?!\w)" for name in people]
    return any(re.search(rf"(?<!\w){end}", text) for end in ends)
