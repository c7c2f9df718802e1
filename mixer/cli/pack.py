"""`mixer pack`: everything the next teacher needs, in one folder."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from mixer.cli.common import CALLED_WRONGLY, MISTAKES, LoopFolders, tell
from mixer.words.english import packing as said
from mixer.words.say import printable


def pack(
    out: Annotated[Path, typer.Option("--out", "-o", metavar="FOLDER", help="Where it goes; a folder of its own.")],
    files: Annotated[
        list[Path] | None, typer.Argument(metavar="[FILE...]", help="Briefs, rubrics and starters of your own.")
    ] = None,
    loops: LoopFolders = [],  # noqa: B006 - typer copies it
) -> None:
    """Put loops and briefs together for the next teacher.

    Rubrics and starters too. Of each folder of loops its list and the sounds that it names are taken, and nothing else:
    no student's work.

    Example: mixer pack --loops our-loops my-brief.yaml --out for-next-year
    """
    from mixer.classroom.pack import pack as put_together  # noqa: PLC0415 - help comes without it

    try:
        packed = put_together(loops, files or (), out)
    except FileExistsError:
        typer.echo(said.is_there(printable(str(out))), err=True)
        raise typer.Exit(CALLED_WRONGLY) from None
    except OSError as error:
        what = f"{error.filename or out}: {error.strerror}"
        typer.echo(said.not_done(printable(what)), err=True)
        raise typer.Exit(CALLED_WRONGLY) from None
    tell(packed.problems)
    typer.echo(said.packed(packed.loops, printable(str(out))))
    if packed.ask:
        typer.echo(said.ask_about([printable(name) for name in packed.ask]))
    raise typer.Exit(MISTAKES if packed.problems else 0)
