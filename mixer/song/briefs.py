"""Where a brief is found: by its name among those that the program brings, or beside the recipe.

A recipe names a brief, never a place: the name is compared with what lies in the recipe's own folder and in the
program's, so no name leads anywhere else. A link that leads out of the recipe's folder is not followed. Only the
command can name any file.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING

from mixer.loops.catalog import is_inside
from mixer.loops.library import shipped
from mixer.pattern import pattern
from mixer.record import record
from mixer.text.names import same_word
from mixer.text.source import LARGEST_BYTES, decode
from mixer.words.problem import Place, Problem

if TYPE_CHECKING:
    from mixer.recipe.brief import Brief
    from mixer.recipe.brief_reader import BriefReading

_NUMBERED = pattern(r"\d+\s+(?=\S)")
MOST_BESIDE = 500
MOST_TOLD = 40


@record
class BriefFile:
    """A brief's file and what came of it."""

    path: Path
    reading: BriefReading

    @property
    def brief(self) -> Brief | None:
        """All that could be read; None where it is no brief at all."""
        return self.reading.brief

    @property
    def name(self) -> str:
        """By which a recipe finds it: its title, or its file's name without an ending."""
        return self.path.stem if self.brief is None else self.brief.name

    @property
    def ours(self) -> bool:
        """Whether it comes with the program."""
        return self.path.parent == shipped("shared") / "briefs"


def read_brief_file(path: Path) -> BriefFile:
    """Read a brief's file; one that cannot be read gives a reading without a brief."""
    from mixer.recipe.brief_reader import BriefReading, read_brief  # noqa: PLC0415 - most songs have none

    try:
        raw = _bytes(path) if path.is_file() else None
    except (OSError, ValueError):  # closed to us, or a name that no file can have
        raw = None
    if raw is None:
        return BriefFile(path, BriefReading(None, (Problem("brief-locked", Place(path.name)),)))
    text, guessed = decode(raw)
    return BriefFile(path, read_brief(text, path.name, guessed=guessed))


def _bytes(path: Path) -> bytes | None:
    with path.open("rb") as stream:
        raw = stream.read(LARGEST_BYTES + 1)
    return None if len(raw) > LARGEST_BYTES or b"\0\0\0\0" in raw else raw


def shipped_briefs() -> list[BriefFile]:
    """Give the briefs that come with the program, in the order of the path that they make."""
    return [read_brief_file(path) for path in sorted((shipped("shared") / "briefs").glob("*.yaml"))]


class Shelf(Collection[str]):
    """The names of all briefs that a recipe can name; nothing is read before somebody asks.

    Case, spaces and dashes make no difference, nor does a number in front of a file's name. What lies beside the
    recipe is found by its file's name and comes first; the program's own are found by that or by their title.

    Parameters
    ----------
    recipe : the recipe's file, which is no brief itself; None for the program's own alone
    """

    def __init__(self, recipe: Path | None = None) -> None:
        self._recipe = recipe
        self._found: dict[str, BriefFile | None] = {}

    def find(self, name: str) -> BriefFile | None:
        """Find a brief; None where there is none of that name."""
        wanted = _form(name)
        if wanted not in self._found:
            self._found[wanted] = self._look(wanted)
        return self._found[wanted]

    def _look(self, wanted: str) -> BriefFile | None:
        for path in _beside(self._recipe) if self._recipe is not None else ():
            if wanted in _forms(path.stem) and (found := read_brief_file(path)).brief is not None:
                return found
        ours = shipped_briefs()
        by_stem = (each for each in ours if wanted in _forms(each.path.stem))
        return next(by_stem, None) or next((each for each in ours if wanted == _form(each.name)), None)

    def __contains__(self, name: object) -> bool:
        return isinstance(name, str) and self.find(name) is not None

    def __iter__(self) -> Iterator[str]:
        """Give the names to tell where one is not found."""
        paths = islice(_beside(self._recipe), MOST_TOLD) if self._recipe is not None else ()
        beside = [path.stem for path in paths if read_brief_file(path).brief is not None]
        return iter(dict.fromkeys([*beside, *(each.name for each in shipped_briefs())]))

    def __len__(self) -> int:
        return sum(1 for _ in self)


def _beside(recipe: Path) -> Iterator[Path]:
    """Give the files in a recipe's folder that could be briefs."""
    folder = recipe.parent
    try:
        paths = sorted(path for path in folder.iterdir() if path.suffix.lower() in (".yaml", ".yml"))
        own = recipe.resolve()
        yield from (path for path in paths[:MOST_BESIDE] if is_inside(path, folder) and path.resolve() != own)
    except (OSError, RuntimeError):
        return


def _form(name: str) -> str:
    return re.sub(r"\.ya?ml$", "", same_word(name))


def _forms(stem: str) -> set[str]:
    """Give the names of a file: as it is, and without the number that puts it in its place."""
    form = _form(stem)
    return {form, _NUMBERED.sub("", form, count=1)}
