"""Recipes that are watched: which have been saved, and what came of each.

Nothing is asked of the system but to read: school machines and network drives know no notices of changes, and
their clocks are not to be trusted. So a file counts as saved when its content is another one, and is the same at two
looks in a row (an editor may still be writing, or may have taken the file away to put a new one in its place).
"""

from __future__ import annotations

import re
from collections import deque
from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from mixer.loops.catalog import FILE_NAME, is_inside
from mixer.record import record
from mixer.song.again import Again
from mixer.song.make import Made, Order, make
from mixer.song.opened import NoRecipeError, Opened, open_bytes, read_bytes
from mixer.song.plan import Plan
from mixer.song.songfile import SongFormat
from mixer.store.content import key_of
from mixer.store.versions import FOLDER
from mixer.versions.change import Change
from mixer.versions.changes import compare
from mixer.words.problem import Place, Problem

ENDINGS = (".yaml", ".yml")
KEPT_BYTES = 200_000_000
"""About five songs of a minute and a half."""


@record
class Saved:
    """What came of a recipe that was saved.

    Parameters
    ----------
    path : the recipe
    changes : since it was last laid out; None the first time, and where there is no plan
    made : what was made; None where the file is no recipe, which `problem` tells
    last_good : the song made of it before, which stands beside a draft; None where there is none
    """

    path: Path
    changes: tuple[Change, ...] | None
    made: Made | None
    problem: Problem | None = None
    last_good: Path | None = None


@dataclass
class _Watched:
    seen: str = ""  # at the last look
    done: str = ""  # of what was made last
    plan: Plan | None = None


class _Kept:
    """What is kept in memory of the songs that were made last, within a bound; the oldest goes first."""

    def __init__(self) -> None:
        self._songs: dict[Path, Again] = {}

    def of(self, path: Path) -> Again:
        again = self._songs.pop(path, None) or Again()
        self._songs[path] = again
        return again

    def shrink(self) -> None:
        while len(self._songs) > 1 and sum(again.size_bytes for again in self._songs.values()) > KEPT_BYTES:
            del self._songs[next(iter(self._songs))]


class Watcher:
    """Looks at recipes again and again, and makes songs of those that were saved, the longest waiting first.

    Parameters
    ----------
    place : a recipe, or a folder; of a folder all recipes below it are watched
    loop_folders : folders with loops that come before all others
    song_format : of the songs, which are written beside their recipes
    """

    def __init__(self, place: Path, loop_folders: Iterable[Path] = (), song_format: SongFormat = "wav") -> None:
        self._place = place
        self._loop_folders = list(loop_folders)
        self._format = song_format
        self._watched: dict[Path, _Watched] = {}
        self._waiting: deque[Path] = deque()
        self._kept = _Kept()

    def look(self) -> bool:
        """Look once at all recipes; those that are saved and whole wait to be made.

        Returns
        -------
        whether one was not yet the same at two looks, so that it should be looked at again soon
        """
        unsettled = False
        here = set(recipes_below(self._place))
        for path in sorted(here):
            watched = self._watched.setdefault(path, _Watched())
            state = self._state(path)
            if state and state == watched.seen != watched.done and path not in self._waiting:
                self._waiting.append(path)
            unsettled = unsettled or bool(state and state != watched.seen)
            watched.seen = state
        for path in self._watched.keys() - here:
            self._watched[path].seen = ""
        return unsettled

    def make_next(self) -> Saved | None:
        """Make the song that waits longest; None if none waits."""
        while self._waiting:
            path = self._waiting.popleft()
            saved = self._make(path, self._watched[path])
            if saved is not None:
                return saved
        return None

    def _make(self, path: Path, watched: _Watched) -> Saved | None:
        state = self._state(path)
        if not state:  # it has gone meanwhile
            return None
        watched.done = state
        if (other := _song_of_another(path)) is not None:
            facts = {"name": path.name, "other": other.name}
            return Saved(path, None, None, Problem("song-of-another", Place(path.name), facts))
        song = path.with_suffix(f".{self._format}")
        try:
            opened = open_bytes(read_bytes(path), path, path.parent, self._loop_folders)
            made = make(opened, Order(path.with_suffix(""), song_format=self._format), again=self._kept.of(path))
            self._kept.shrink()
            changes = _changes(watched, opened)
        except NoRecipeError as error:
            return Saved(path, None, None, error.problem)
        except Exception as error:  # noqa: BLE001 - one recipe that we fail at must not end the watch over the others
            return Saved(path, None, None, Problem("program-failed", Place(path.name), {"why": repr(error)}))
        if made.report is not None and not made.draft:
            _drop_draft(song)
        return Saved(path, changes, made, last_good=song if made.draft and song.is_file() else None)

    def _state(self, path: Path) -> str:
        """Tell apart what a song depends on: the recipe and the files of its own loops; empty where it is not there."""
        try:
            content = read_bytes(path)
        except NoRecipeError as error:
            away = error.problem.kind in ("recipe-missing", "recipe-locked")
            return "" if away else error.problem.kind
        return key_of(content.hex(), *_loop_files(path.parent, self._loop_folders))


def _song_of_another(path: Path) -> Path | None:
    """The recipe beside this one whose song has the same name and goes first."""
    other = path.with_suffix(ENDINGS[0])
    return other if path.suffix != ENDINGS[0] and other.is_file() and not other.samefile(path) else None


def _drop_draft(song: Path) -> None:
    """Take away the draft of a recipe whose mistakes are mended; it would be taken for the song."""
    for stale in (f"{song.stem} (draft){song.suffix}", f"{song.stem} (draft) (credits).txt"):
        with suppress(OSError):
            song.with_name(stale).unlink()


def _changes(watched: _Watched, opened: Opened) -> tuple[Change, ...] | None:
    before, now = watched.plan, opened.plan
    if now is None:
        return None
    watched.plan = now
    return compare(before, now).changes if before is not None else None


def _loop_files(folder: Path, loop_folders: Iterable[Path]) -> Iterator[str]:
    """Give name, size and time of the files in which a loop could be replaced; the time only tells them apart."""
    for place in (folder / "loops", folder, *loop_folders):
        with suppress(OSError):
            catalog = (place / FILE_NAME).read_text(encoding="utf-8", errors="replace")
            named = re.findall(r"(?m)^[ \t]+file[ \t]*:[ \t]*(\S.*?)[ \t]*$", catalog)
            for name in [FILE_NAME, *named]:
                found = (place / name).stat()
                yield f"{name} {found.st_size} {found.st_mtime_ns} {found.st_ino}"


def recipes_below(place: Path) -> list[Path]:
    """Give the recipes that a place stands for: itself, or all below a folder."""
    if not place.is_dir():
        return [place]
    found: list[Path] = []
    with suppress(OSError):  # a drive may be away for a moment
        below = (path for path in place.rglob("*") if _is_recipe(path.relative_to(place)))
        found.extend(path for path in below if path.is_file() and is_inside(path, place))
    return sorted(found)


def _is_recipe(path: Path) -> bool:
    """Whether a name is a recipe's: no catalog, no kept version, nothing hidden."""
    hidden = any(part.startswith(".") for part in path.parts)
    kept = not {FOLDER, "loops"}.isdisjoint(path.parts[:-1])
    return path.suffix.lower() in ENDINGS and path.name.lower() != FILE_NAME and not hidden and not kept
