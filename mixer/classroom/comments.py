"""What people said of a class's songs: the file that the teacher's page saves, read with care.

Files of comments go from machine to machine, so nothing in one is trusted: what has not the right form is left out,
sizes are bounded, and names in it are only compared, never opened.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import field
from pathlib import Path
from typing import Any

from mixer.record import record
from mixer.text.names import visible

LARGEST_BYTES = 5_000_000
MOST_SONGS = 1000
MOST_MARKS = 200
LONGEST = 5000
MARK = "mixer comments"


class NoCommentsError(Exception):
    """A file holds no comments."""


@record
class Said:
    """What was said at one bar."""

    bar: int
    section: str
    words: str


@record
class Comments:
    """What was said of one song.

    Parameters
    ----------
    title, by : as they were when it was heard
    marks : in the order of the bars
    heard : what the class heard
    remark : about the whole song
    levels : what people chose, by criterion
    """

    title: str = ""
    by: str = ""
    marks: tuple[Said, ...] = ()
    heard: str = ""
    remark: str = ""
    levels: Mapping[str, str] = field(default_factory=dict)

    def joined(self, other: Comments) -> Comments:
        """Put what two people said together; where both chose a level, both stand."""
        marks = {(mark.bar, mark.words): mark for mark in (*self.marks, *other.marks)}
        levels = dict(self.levels)
        for criterion, level in other.levels.items():
            mine = levels.get(criterion)
            levels[criterion] = level if mine in (None, level) else f"{mine} / {level}"
        return Comments(
            self.title or other.title,
            self.by or other.by,
            tuple(sorted(marks.values(), key=lambda mark: (mark.bar, mark.words))),
            _both(self.heard, other.heard),
            _both(self.remark, other.remark),
            levels,
        )


def _both(one: str, other: str) -> str:
    return one if other in one else other if one in other else f"{one}\n{other}"


def read_comments(files: Iterable[Path]) -> dict[str, Comments]:
    """Read files of comments, put together by the songs' names.

    Raises
    ------
    NoCommentsError
        If a file is none of comments; its name is the error's text.
    OSError
        If one cannot be read.
    """
    found: dict[str, Comments] = {}
    for path in files:
        for name, comments in _read(path).items():
            found[name] = found[name].joined(comments) if name in found else comments
    return found


def _read(path: Path) -> dict[str, Comments]:
    with path.open("rb") as stream:
        raw = stream.read(LARGEST_BYTES + 1)
    try:
        content = json.loads(raw)
        songs = content["songs"] if content[MARK] == 1 else None
    except (ValueError, TypeError, KeyError, RecursionError):
        songs = None
    if not isinstance(songs, dict) or len(raw) > LARGEST_BYTES:
        raise NoCommentsError(path.name)
    return {
        _text(name, 300): _comments(song) for name, song in list(songs.items())[:MOST_SONGS] if isinstance(song, dict)
    }


def _comments(song: dict[str, Any]) -> Comments:
    marks = song.get("marks")
    found = [_mark(mark) for mark in (marks[:MOST_MARKS] if isinstance(marks, list) else [])]
    levels = song.get("rubric")
    chosen = levels.items() if isinstance(levels, dict) else ()
    return Comments(
        _text(song.get("title"), 300),
        _text(song.get("by"), 300),
        tuple(sorted((mark for mark in found if mark), key=lambda mark: mark.bar)),
        _text(song.get("heard")),
        _text(song.get("remark")),
        {_text(criterion, 200): _text(level, 200) for criterion, level in chosen if _text(level, 200)},
    )


def _mark(mark: object) -> Said | None:
    if not isinstance(mark, dict) or type(mark.get("bar")) is not int or not 0 < mark["bar"] < 100_000:
        return None
    return Said(mark["bar"], _text(mark.get("section"), 300), _text(mark.get("words")))


def _text(value: object, most: int = LONGEST) -> str:
    lines = value[:most].strip().splitlines() if isinstance(value, str) else ()
    return "\n".join(visible(line) for line in lines)
