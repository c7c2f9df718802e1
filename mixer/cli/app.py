"""The program's commands, gathered.

A command's file is loaded when it is the one that was asked for; help loads them all, to say what each does.
"""

from __future__ import annotations

from collections.abc import Iterable
from importlib import import_module
from typing import Annotated

import typer

from mixer import __version__

COMMANDS = (
    "new",
    "loops",
    "measure",
    "fits",
    "check",
    "render",
    "chart",
    "try",
    "compare",
    "watch",
    "batch",
    "feedback",
    "forget",
    "pack",
    "recipe",
    "cache",
    "schema",
)
_RESERVED = {"try": "try_"}  # Python's own words have another name as a file


def _show_version(wanted: bool) -> None:  # noqa: FBT001 - typer calls it so
    if wanted:
        typer.echo(f"mixer {__version__}")
        raise typer.Exit


def mixer(
    version: Annotated[
        bool, typer.Option("--version", callback=_show_version, is_eager=True, help="Show the version.")
    ] = False,
) -> None:
    """Make finished songs from plain-text recipes.

    A recipe says which loops a song is made of and in which bars each one is heard. First time? Type: mixer new
    my-song

    Exit codes: 0 done; 1 mistakes in a recipe (all told, and what could be made was made); 2 called wrongly.
    """


def program(commands: Iterable[str] = COMMANDS) -> typer.Typer:
    """Put the program together, with all commands or only some."""
    app = typer.Typer(
        name="mixer",
        no_args_is_help=True,
        add_completion=False,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 90},
    )
    app.callback()(mixer)
    for name in commands:
        name_in_python = _RESERVED.get(name, name)
        app.command(name)(getattr(import_module(f"mixer.cli.{name_in_python}"), name_in_python))
    return app
