"""`mixer feedback`: a sheet for each student of what people said of the song."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from mixer.cli.common import CALLED_WRONGLY
from mixer.words.english import sheet as said
from mixer.words.say import printable


def feedback(
    files: Annotated[
        list[Path], typer.Argument(metavar="FILE...", help="What the teacher's page saved; of several teachers, all.")
    ],
    songs: Annotated[
        Path | None,
        typer.Option(metavar="FOLDER", help="Where mixer batch put the songs; if left out, where the first file is."),
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", "-o", metavar="FOLDER", help="Where the sheets go; feedback/ if left out.")
    ] = None,
) -> None:
    """Make a sheet for each student of what people said of the song.

    On it: what was meant, what the class heard, the teacher's words, how to hear the song again. It comes as a page to
    print and as a text to send home, with one table of the levels that people chose. Nothing is computed from sound.

    Example: mixer feedback comments.json --songs songs
    """
    from mixer.classroom.comments import NoCommentsError, read_comments  # noqa: PLC0415 - help comes without it
    from mixer.classroom.feedback import (  # noqa: PLC0415 - the same
        TABLE,
        TOGETHER,
        known_songs,
        sheets,
        write_sheets,
        write_table,
    )

    try:
        comments = read_comments(files)
    except NoCommentsError as error:
        typer.echo(said.no_comments(printable(str(error))), err=True)
        raise typer.Exit(CALLED_WRONGLY) from None
    except OSError as error:
        typer.echo(said.not_read(printable(str(error.filename))), err=True)
        raise typer.Exit(CALLED_WRONGLY) from None
    done = known_songs(songs or files[0].parent)
    place = out or (songs or files[0].parent) / "feedback"
    made = sheets(done, comments)
    try:
        write_sheets(made, place)
        write_table(comments, done, (), place / TABLE)
    except OSError as error:
        typer.echo(f"{printable(str(place))}: {error.strerror}", err=True)
        raise typer.Exit(CALLED_WRONGLY) from None
    for line in said.written(
        len(made), printable(str(place)), printable(str(place / TABLE)), printable(str(place / TOGETHER))
    ):
        typer.echo(line)
