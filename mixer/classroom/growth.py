"""What became of a song from lesson to lesson, in the words of `mixer compare`, with its maker's own reasons.

The reasons are those that a student filled in on the list that `mixer compare --because` wrote, wherever it lies beside
the recipe: it names the recipe in its first line.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise
from pathlib import Path
from typing import Any

from mixer.classroom.tasks import Task
from mixer.song.carried import CarriesNothingError, read_carried
from mixer.song.opened import NoRecipeError, open_bytes, read_bytes
from mixer.song.plan import Plan
from mixer.store.versions import kept_versions
from mixer.text.source import decode
from mixer.versions.changes import compare
from mixer.versions.sides import SONGS
from mixer.words.english.because import because_of, names_recipe
from mixer.words.english.changes import NO_CHANGE, sentence
from mixer.words.english.sheet import LOOPS_GONE

LARGEST_BYTES = 50_000
MOST_FILES = 200
_LISTS = (".md", ".txt")


def earlier_recipes(earlier: Iterable[tuple[str, Path]]) -> list[tuple[str, str]]:
    """Give the texts of earlier weeks' recipes with what the weeks are called; what cannot be read is left out."""
    read = ((called, _recipe_in(path)) for called, path in earlier)
    return [(called, text) for called, text in read if text]


def _recipe_in(path: Path) -> str:
    """The text of a recipe, or of the one that a song carries; empty where it cannot be read."""
    try:
        song = path.suffix.lower() in SONGS
        return read_carried(path).recipe if song else decode(read_bytes(path))[0]
    except (CarriesNothingError, NoRecipeError, OSError):
        return ""


def since_before(task: Task, plan: Plan) -> list[dict[str, Any]]:
    """Tell what changed from each earlier week to the next, the newest first, with the reasons that are known.

    Without earlier weeks it is the version before of the same folder that is compared, and the week has no name.

    Returns
    -------
    for each step `week`, empty where it is the version before, and `lines`
    """
    steps = earlier_recipes(task.earlier)
    if not steps:
        kept = (path.read_bytes().decode("utf-8", "replace") for path in kept_versions(task.out, task.name))
        steps = [("", text) for text in kept if text != plan.recipe.text][-1:]
    because = because_of(reasons_text(task.recipe))
    plans = [*(_opened(task, text) for _, text in steps), plan]
    told = [_changes(old, new, because) for old, new in pairwise(plans)]
    left = [line for change, reason in because.items() if (line := f"{change}, {reason}") not in _all(told)]
    if told and left:
        told[-1] = [*told[-1], *left]
    return [{"week": called, "lines": lines} for (called, _), lines in zip(steps, told, strict=True)][::-1]


def _all(told: Iterable[Iterable[str]]) -> set[str]:
    return {line for lines in told for line in lines}


def _opened(task: Task, text: str) -> Plan | None:
    """Lay out an earlier recipe with the loops of today's; None where some are not there any more."""
    opened = open_bytes(text.encode("utf-8", "replace"), task.recipe, task.recipe.parent, task.loops)
    return None if opened.plan is None or opened.mistakes else opened.plan


def _changes(old: Plan | None, new: Plan | None, because: dict[str, str]) -> list[str]:
    if old is None or new is None:
        return [LOOPS_GONE]
    said = [sentence(change) for change in compare(old, new).changes]
    return [f"{each}, {because[each]}" if each in because else each for each in said] or [NO_CHANGE]


def reasons_text(recipe: Path) -> str:
    """Give the list with reasons that lies beside a recipe and names it; empty where there is none."""
    try:
        beside = sorted(path for path in recipe.parent.iterdir() if path.suffix.lower() in _LISTS)
    except OSError:
        return ""
    for path in beside[:MOST_FILES]:
        try:
            if path.is_symlink() or not path.is_file():
                continue
            with path.open("rb") as stream:
                text, _ = decode(stream.read(LARGEST_BYTES))
        except OSError:
            continue
        if names_recipe(text, recipe.name):
            return text
    return ""
