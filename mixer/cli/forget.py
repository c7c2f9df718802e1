"""`mixer forget`: everything that bears a person's name, erased on yes."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from mixer.cli.common import CALLED_WRONGLY, MISTAKES
from mixer.words.english import forgetting as said
from mixer.words.say import printable

if TYPE_CHECKING:
    from mixer.classroom.forget import Bearing


def forget(
    name: Annotated[str, typer.Argument(metavar="NAME", help="A person's name, as it stands in recipes.")],
    folders: Annotated[list[Path], typer.Argument(metavar="FOLDER...", help="Where to look.")],
    yes: Annotated[bool, typer.Option("--yes", help="Do not ask.")] = False,
) -> None:
    """List all that bears a person's name, and erase it on yes.

    Names of files, recipes, what songs carry, comments and tables are looked through. What is this person's own is
    erased; files about several people are written anew without this one; what only mentions the name is listed.

    Example: mixer forget Mara songs hand-in
    """
    from mixer.classroom.forget import Name, erase, find  # noqa: PLC0415 - help comes without it

    missing = [folder for folder in folders if not folder.is_dir()]
    if missing:
        raise typer.BadParameter(said.no_folder(printable(str(missing[0]))), param_hint="FOLDER")
    try:
        wanted = Name(name)
    except ValueError:
        typer.echo(said.SHORT, err=True)
        raise typer.Exit(CALLED_WRONGLY) from None
    found = find(wanted, folders)
    _list(found)
    if not any(bearing.what != "look" for bearing in found):
        typer.echo(said.NOTHING if not found else said.KEPT)
        return
    if not yes and typer.prompt(said.ASK, default="", show_default=False).strip().lower() != "yes":
        typer.echo(said.KEPT)
        return
    stuck = erase(found, wanted)
    if stuck:
        typer.echo(said.stuck([printable(str(path)) for path in stuck]), err=True)
        raise typer.Exit(MISTAKES)
    typer.echo(said.DONE)


def _list(found: list[Bearing]) -> None:
    for what, head in (("erase", said.ERASED), ("rewrite", said.REWRITTEN), ("look", said.LOOK)):
        paths = [bearing.path for bearing in found if bearing.what == what]
        if paths:
            typer.echo(head)
            for path in paths:
                typer.echo(f"  {printable(str(path))}")
