"""`mixer recipe`: the recipe that a song carries."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from mixer.cli.common import CALLED_WRONGLY, tell_not_written, tell_one
from mixer.store.whole import write_text
from mixer.words.english import told
from mixer.words.problem import Place, Problem
from mixer.words.say import printable


def recipe(
    song: Annotated[Path, typer.Argument(metavar="SONG", help="A song made by this program.")],
    out: Annotated[
        Path | None, typer.Option("--out", "-o", metavar="FILE", help="Write it there; if left out, it is shown.")
    ] = None,
) -> None:
    """Give back the recipe of a song.

    Every song carries its recipe. What is there already is never written over.

    Example: mixer recipe harbour-lights.wav --out harbour-lights.yaml
    """
    from mixer.song.carried import CarriesNothingError, read_carried  # noqa: PLC0415 - loads numpy

    try:
        carried = read_carried(song)
    except CarriesNothingError as error:
        tell_one(Problem(error.kind, Place(song.name), {"name": song.name}))
        raise typer.Exit(CALLED_WRONGLY) from error
    except OSError as error:
        tell_one(Problem("song-missing", Place(song.name), {"name": song.name}))
        raise typer.Exit(CALLED_WRONGLY) from error
    if out is None:
        typer.echo(printable(carried.recipe) if sys.stdout.isatty() else carried.recipe, nl=False)
        return
    if out.exists():
        typer.echo(told.is_there(printable(str(out))), err=True)
        raise typer.Exit(CALLED_WRONGLY)
    try:
        write_text(out, carried.recipe)
    except OSError as error:
        tell_not_written(out, error)
        raise typer.Exit(CALLED_WRONGLY) from error
    typer.echo(told.recipe_written(printable(str(out))))
