"""`mixer new`: a folder with a first recipe."""

from __future__ import annotations

import re
from pathlib import Path
from shutil import rmtree
from typing import Annotated

import typer

from mixer.cli.brief import chosen_brief
from mixer.cli.common import CALLED_WRONGLY, tell_not_written
from mixer.store.names import safe_name
from mixer.store.whole import write_text
from mixer.words.english import told
from mixer.words.say import printable


def new(
    words: Annotated[
        list[str], typer.Argument(metavar="NAME...", help="The song's name; its folder and recipe are called so.")
    ],
    blank: Annotated[bool, typer.Option("--blank", help="A recipe with four gaps to fill in.")] = False,
    brief: Annotated[
        str | None,
        typer.Option(metavar="BRIEF", help="The assignment: a brief that comes with the program, or a file of yours."),
    ] = None,
) -> None:
    """Make a folder with a first recipe.

    It can be rendered as it is, and changed.

    Example: mixer new harbour-lights
    """
    asked = Path("-".join(words))  # a folder whose name has no spaces needs no quotation marks later
    folder = asked.parent / safe_name(asked.stem if asked.suffix.lower() in (".yaml", ".yml") else asked.name)
    if folder.exists():
        typer.echo(told.is_there(printable(str(folder))), err=True)
        raise typer.Exit(CALLED_WRONGLY)
    chosen = chosen_brief(brief)
    from mixer.loops.library import shipped  # noqa: PLC0415 - help comes without it
    from mixer.text.source import decode  # noqa: PLC0415 - the same

    starter = shipped("shared") / "starters" / ("four-gaps.yaml" if blank else "first-song.yaml")
    recipe = folder / f"{folder.name}.yaml"
    try:
        text = _titled(starter.read_text(encoding="utf-8"), folder.name)
        if chosen is not None:
            called = chosen.name if chosen.ours else chosen.path.stem
            text = text.replace("\ntempo:", f"\nbrief: {called}\ntempo:", 1)
            if not chosen.ours:  # it is found beside the recipe
                write_text(folder / f"{called}.yaml", decode(chosen.path.read_bytes())[0])
        write_text(recipe, text)
    except OSError as error:
        rmtree(folder, ignore_errors=True)  # it was not there before, and the name can be used the next time
        tell_not_written(recipe, error)
        raise typer.Exit(CALLED_WRONGLY) from error
    typer.echo("\n".join(told.made_new(printable(str(folder)), printable(str(recipe)), brief or "")))


def _titled(recipe: str, name: str) -> str:
    """Put a song's name, as a title is written, where the starter has its own."""
    title = " ".join(word[:1].upper() + word[1:] for word in re.split(r"[\s_-]+", name)).strip()
    return re.sub(r"(?m)^title:.*$", f"title: {title}", recipe, count=1) if title else recipe
