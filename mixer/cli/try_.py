"""`mixer try`: hear a change before it is written."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from mixer.cli.common import (
    CALLED_WRONGLY,
    MISTAKES,
    AsJson,
    LoopFolders,
    Progress,
    open_or_tell,
    print_json,
    problems_as_data,
    tell,
    tell_one,
)
from mixer.store.names import safe_name
from mixer.words.english import coach, told
from mixer.words.problem import Place, Problem
from mixer.words.say import is_mistake, printable

if TYPE_CHECKING:
    from mixer.coach.trial import Tried


def try_(
    recipe: Annotated[Path, typer.Argument(metavar="RECIPE", help="The song.")],
    change: Annotated[
        str, typer.Argument(metavar="CHANGE", help="A section, a colon, and what would be different in it.")
    ],
    loops: LoopFolders = [],  # noqa: B006 - typer copies it
    as_json: AsJson = False,
) -> None:
    """Hear eight bars as they are, and then with a change.

    Both are made equally loud, in one WAV file beside the recipe. The recipe stays as it is. Of several choruses the
    first is meant, unless you write chorus 2 or chorus bars 21-28.

    Example: mixer try my-song/my-song.yaml "chorus: without drums 1-4"
    """
    opened = open_or_tell(recipe, loops)
    if isinstance(opened, Problem):
        _answer_problem(opened, as_json=as_json)
        raise typer.Exit(CALLED_WRONGLY)
    from mixer.coach.trial import try_out  # noqa: PLC0415 - loads numpy

    progress = Progress()
    try:
        tried = try_out(opened, change, progress)
    except OSError as error:
        progress.clear()
        facts = {"song": f"{safe_name(recipe.stem)} (try).wav", "why": error.strerror or ""}
        _answer_problem(Problem("not-written", Place(recipe.name), facts), as_json=as_json)
        raise typer.Exit(CALLED_WRONGLY) from error
    progress.clear()
    if as_json:
        print_json([_as_data(tried)])
    else:
        _tell(tried, " ".join(change.split()))
    mistakes = any(is_mistake(problem) for problem in tried.problems)
    raise typer.Exit(MISTAKES if mistakes or tried.song is None else 0)


def _answer_problem(problem: Problem, *, as_json: bool) -> None:
    if as_json:
        print_json([problems_as_data([problem])])
    else:
        tell_one(problem)


def _tell(tried: Tried, change: str) -> None:
    tell(tried.problems)
    if tried.song is None or tried.window is None:
        return
    for line in coach.tried(str(tried.song), tried.window.first_bar, tried.window.last_bar, change):
        typer.echo(printable(line))
    if None in tried.window.loudness_lufs:
        typer.echo(coach.TRIED_SILENT)
    typer.echo(told.HEARING)


def _as_data(tried: Tried) -> dict[str, Any]:
    window = tried.window
    return {
        "song": None if tried.song is None else str(tried.song),
        "bars": None if window is None else [window.first_bar, window.last_bar],
        "loudness_lufs": None
        if window is None
        else [None if each is None else round(each, 2) for each in window.loudness_lufs],
        **problems_as_data(tried.problems),
    }
