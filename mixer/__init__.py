"""Finished songs from plain-text recipes of loops.

What a script may use: `load_recipe`, `plan` and `render`. Everything else may move.

>>> import mixer
>>> recipe = mixer.load_recipe("my-song/my-song.yaml")  # doctest: +SKIP
>>> report = mixer.render(mixer.plan(recipe), "my-song.wav")  # doctest: +SKIP
"""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from mixer.recipe.model import Recipe
    from mixer.song.plan import Plan
    from mixer.song.render import Report
    from mixer.words.problem import Problem

__version__ = "0.1.0"
__all__ = ["RecipeError", "load_recipe", "plan", "render"]

RATE_HZ = 44_100


class RecipeError(Exception):
    """A recipe has mistakes, all of which are in `problems`; its text says them in full."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        from mixer.words.say import all_in_full  # noqa: PLC0415 - only where there is something to say

        self.problems = tuple(problems)
        super().__init__(all_in_full(self.problems))


def load_recipe(path: str | os.PathLike[str], loops: Iterable[str | os.PathLike[str]] = ()) -> Recipe:
    """Read a recipe.

    Parameters
    ----------
    path : the recipe's file
    loops : folders with loops, searched before those beside the recipe and those that come with the program

    Raises
    ------
    RecipeError
        If it has mistakes, or there is no recipe.
    """
    from mixer.song.opened import NoRecipeError, open_recipe  # noqa: PLC0415 - `import mixer` stays light

    try:
        opened = open_recipe(Path(path), [Path(folder) for folder in loops])
    except NoRecipeError as error:
        raise RecipeError([error.problem]) from error
    if opened.recipe is None or opened.mistakes:
        raise RecipeError(opened.mistakes)
    return opened.recipe


def plan(recipe: Recipe, loops: Iterable[str | os.PathLike[str]] = (), rate_hz: int = RATE_HZ) -> Plan:
    """Lay a recipe out: which layer is heard where.

    Parameters
    ----------
    recipe : what `load_recipe` gave
    loops : as for `load_recipe`
    rate_hz : frames per second of the song, 44100 or 48000
    """
    from mixer.loops.library import open_library  # noqa: PLC0415 - `import mixer` stays light
    from mixer.song.plan import plan as lay_out  # noqa: PLC0415 - `import mixer` stays light

    return lay_out(recipe, open_library(recipe.folder, [Path(folder) for folder in loops]), rate_hz)


def render(plan: Plan, out: str | os.PathLike[str]) -> Report:
    """Render a song, -16 LUFS and at most -1 dBTP.

    Parameters
    ----------
    plan : what `plan` gave
    out : the file, written whole or not at all; its ending says what kind: .wav or .flac (16 bit, dithered), .ogg, .mp3

    Raises
    ------
    ValueError
        If the file has another ending.
    NoEncoderError
        If this machine cannot write that kind (`mixer.signal.coded`).
    RecipeError
        If the sound of a loop cannot be used.
    OSError
        If it cannot be written; what stood there stays.
    """
    from mixer.song.render import prepare, render_prepared  # noqa: PLC0415 - `import mixer` stays light
    from mixer.song.songfile import format_of  # noqa: PLC0415 - as above

    song_format = format_of(Path(out))
    materials, problems = prepare(plan)
    if problems:
        raise RecipeError(problems)
    return render_prepared(plan, materials, Path(out), song_format=song_format)
