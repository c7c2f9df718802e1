"""A recipe's file opened: read, its loops found, laid out, and all there is to tell about it.

Every command begins here, so that all of them read, find and tell the same.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path

from mixer.loops.catalog import FILE_NAME
from mixer.loops.library import Library, open_library
from mixer.recipe.model import Recipe
from mixer.recipe.reader import read
from mixer.record import record, replace
from mixer.song.advice import advise, without_other_meters
from mixer.song.briefs import BriefFile, Shelf, read_brief_file
from mixer.song.plan import RATE_HZ, Plan, plan
from mixer.text.names import nearest
from mixer.text.source import LARGEST_BYTES, decode
from mixer.words.problem import Place, Problem, Problems
from mixer.words.say import is_mistake

_NO_TEXT = (b"RIFF", b"fLaC", b"OggS", b"ID3", b"\x89PNG", b"\xff\xd8")
_DOCUMENTS = {
    b"PK\x03\x04": "a word processor's file",
    b"\xd0\xcf\x11\xe0": "a word processor's file",
    b"%PDF": "a PDF",
}
"""How files begin in which the words of a recipe may stand, and what they are; the first is also any packed folder."""
_MARKUP = re.compile(rb"\s*<[!?A-Za-z][^<]*>")
"""A page or a picture such as `chart` makes: text, but nobody's recipe."""


class NoRecipeError(Exception):
    """There is no recipe at a path; `kind` and `facts` say why, for the words."""

    def __init__(self, kind: str, path: Path, **facts: object) -> None:
        super().__init__(kind)
        self.problem = Problem(kind, Place(path.name or str(path)), facts)


@record
class Opened:
    """A recipe's file and all that came of it.

    Parameters
    ----------
    path : the file
    text : what stands in it
    library : the loops it may use
    recipe : all that could be read; None where there is no song
    plan : the song laid out; None where there is no recipe
    problems : everything to tell, in the order of the lines
    brief : the brief that the recipe names, if there is one; what is told of it is no problem of the recipe
    """

    path: Path
    text: str
    library: Library
    recipe: Recipe | None
    plan: Plan | None
    problems: tuple[Problem, ...]
    brief: BriefFile | None = None

    @property
    def mistakes(self) -> list[Problem]:
        """What made it necessary to leave something out."""
        return [problem for problem in self.problems if is_mistake(problem)]

    @property
    def advice(self) -> list[Problem]:
        """What is told although all was read."""
        return [problem for problem in self.problems if not is_mistake(problem)]

    def with_brief(self, brief: BriefFile) -> Opened:
        """Give it with another brief than the recipe names; whether that one is to be found does not matter then."""
        told = tuple(problem for problem in self.problems if problem.kind != "unknown-brief")
        return replace(self, brief=brief, problems=told)


def open_recipe(path: Path, loop_folders: Iterable[Path] = (), rate_hz: int = RATE_HZ) -> Opened:
    """Open a recipe's file.

    Parameters
    ----------
    path : the file
    loop_folders : folders with loops that come before all others
    rate_hz : frames per second of the song

    Raises
    ------
    NoRecipeError
        If there is no file to read, or it can be no recipe.
    """
    return open_bytes(read_bytes(path), path, path.parent, loop_folders, rate_hz)


def open_bytes(
    content: bytes, path: Path, folder: Path, loop_folders: Iterable[Path] = (), rate_hz: int = RATE_HZ
) -> Opened:
    """Open the content of a recipe that belongs into a folder, wherever it came from; see `open_recipe`."""
    text, guessed = decode(content)
    library = open_library(folder, loop_folders)
    briefs = Shelf(folder / path.name)
    reading = read(text, library.names(), path.name, briefs, unusable_loops=library.unusable(), guessed=guessed)
    problems = Problems([*library.problems, *reading.problems])
    recipe = reading.recipe and replace(reading.recipe, folder=folder)
    laid_out = None
    if recipe is not None:
        strangers = without_other_meters(recipe, library, problems)
        known = tuple(layer for layer in recipe.layers if layer.name not in strangers)
        laid_out = plan(replace(recipe, layers=known), library, rate_hz)
        advise(laid_out, problems)
    brief = briefs.find(recipe.brief) if recipe is not None and recipe.brief else None
    return Opened(path, text, library, recipe, laid_out, tuple(problems.in_order()), brief)


def read_bytes(path: Path) -> bytes:
    """Read a recipe's file.

    Raises
    ------
    NoRecipeError
        If there is none, or it is no text, or far too long.
    """
    try:
        folder, there, file = path.is_dir(), path.exists(), path.is_file()
    except OSError:  # a name that no file can have, or a folder that may not be looked into
        folder = there = file = False
    if folder:
        inside = [str(path / name) for name in recipes_in(path)]
        raise NoRecipeError("recipe-folder", path, name=path.name or str(path), inside=inside)  # "." has no name
    if not there:
        near = recipes_in(path.parent)
        ended = f"{path.name}.yaml"
        meant = ended if ended in near else nearest(path.name, near)
        guess = meant and str(path.with_name(meant))
        raise NoRecipeError("recipe-missing", path, name=path.name, near=near, guess=guess)
    if not file:
        raise NoRecipeError("recipe-odd", path, name=path.name)
    try:
        with path.open("rb") as stream:
            raw = stream.read(4 * LARGEST_BYTES + 1)
    except OSError as error:
        raise NoRecipeError("recipe-locked", path, name=path.name) from error
    if what := next((what for sign, what in _DOCUMENTS.items() if raw.startswith(sign)), ""):
        raise NoRecipeError("recipe-document", path, name=path.name, what=what)
    if raw.startswith(_NO_TEXT) or _MARKUP.match(raw):
        raise NoRecipeError("recipe-odd", path, name=path.name)
    if len(raw) > 4 * LARGEST_BYTES:
        raise NoRecipeError("recipe-long", path, name=path.name)
    return raw


def _is_none(path: Path) -> bool:
    if path.name == FILE_NAME:
        return True
    found = read_brief_file(path)
    return found.brief is not None and found.reading.certain


def recipes_in(folder: Path) -> list[str]:
    """The names of recipes in a folder; its list of loops and briefs are none."""
    try:
        return sorted(other.name for other in folder.glob("*.y*ml") if other.is_file() and not _is_none(other))
    except OSError:
        return []
