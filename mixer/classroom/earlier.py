"""What a class made in the weeks before, found in folders: each song carries its recipe, so nothing else is kept.

Teachers keep a folder for each lesson. Beside `week 3` those whose names differ only by lower numbers are the weeks
before it; so are dates as ISO 8601 writes them, 2026-09-14. Other numbers (`grade 7`, `table 2`) may be others, so
such folders must be named. Songs belong together by maker, and where a maker has several, or none is named, by what
they are called.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Sequence
from pathlib import Path

from mixer.classroom.gather import Found, gather, maker_of
from mixer.record import record
from mixer.song.carried import CarriesNothingError, read_carried
from mixer.text.names import same_name
from mixer.versions.sides import SONGS
from mixer.words.english.classroom import LESSONS

MOST_WEEKS = 20
MOST_SONGS = 500
DRAFT = " (draft)"


@record
class Before:
    """A song of an earlier week: its file (a song or a recipe), what it was called there, who made it."""

    path: Path
    name: str
    by: str


@record
class Week:
    """An earlier lesson: what its folder is called, and its songs."""

    called: str
    songs: tuple[Before, ...]


def weeks_before(out: Path, folders: Sequence[Path], named: Iterable[Path] = ()) -> list[Week]:
    """Find earlier weeks, the oldest first.

    Parameters
    ----------
    out : where this week's songs go
    folders : where this week's recipes are
    named : folders that are earlier weeks, the oldest first; if there are any, nothing else is looked for
    """
    places = list(named) or _beside([out, *folders])
    weeks = [Week(place.resolve().name, tuple(_songs(place))) for place in places[-MOST_WEEKS:]]
    return [week for week in weeks if week.songs]


def song_before(found: Found, week: Week) -> Path | None:
    """Give the song of an earlier week that belongs to a recipe of this one; None where it is not plain which."""
    called = [each for each in week.songs if same_name(each.name) == same_name(found.name)]
    if not found.by:
        return called[0].path if len(called) == 1 else None
    theirs = [each for each in week.songs if same_name(each.by) == same_name(found.by)]
    both = [each for each in called if each in theirs]
    one = theirs if len(theirs) == 1 else both
    return one[0].path if len(one) == 1 else None


def earlier_of(found: Found, weeks: Iterable[Week]) -> tuple[tuple[str, Path], ...]:
    """Give the weeks in which a song was made before, and its files, the oldest first."""
    pairs = ((week.called, song_before(found, week)) for week in weeks)
    return tuple((called, path) for called, path in pairs if path is not None)


def _beside(folders: Iterable[Path]) -> list[Path]:
    """Folders beside these with the same name but for lower numbers; of two of one name the first."""
    found: dict[str, tuple[list[int], Path]] = {}
    for folder in folders:
        whole = folder.resolve()
        if not (whole.parent.is_dir() and _is_lesson(whole.name)):
            continue
        texts, numbers = _parted(whole.name)
        for other in sorted(whole.parent.iterdir()):
            other_texts, other_numbers = _parted(other.name)
            if other_texts == texts and other_numbers < numbers and other.is_dir() and not other.is_symlink():
                found.setdefault(other.name, (other_numbers, other))
    return [place for _, place in sorted(found.values())]


def _is_lesson(name: str) -> bool:
    texts, numbers = _parted(name)
    words = set(re.findall(r"[^\W\d_]+", " ".join(texts)))
    return bool(numbers and words & LESSONS) or bool(re.search(r"(?<!\d)(19|20)\d\d-?[01]\d-?[0-3]\d(?!\d)", name))


def _parted(name: str) -> tuple[list[str], list[int]]:
    parts = re.split(r"(\d{1,9})", same_name(name))
    return parts[::2], [int(number) for number in parts[1::2]]


def _songs(folder: Path) -> list[Before]:
    """The songs in a folder; its recipes where it has none."""
    try:
        files = sorted(Path(entry.path) for entry in os.scandir(folder) if entry.is_file(follow_symlinks=False))
    except OSError:
        return []
    found = []
    for path in [each for each in files if each.suffix.lower() in SONGS and each.name[0] != "."][:MOST_SONGS]:
        try:
            by = maker_of(read_carried(path).recipe)
        except (CarriesNothingError, OSError):
            continue
        if not path.stem.endswith(DRAFT):
            found.append(Before(path, path.stem, by))
    return found or [Before(each.path, each.name, each.by) for each in gather([folder], folder / "songs").recipes]
