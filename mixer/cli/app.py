"""The program's commands, gathered."""

from __future__ import annotations

from typing import Annotated

import typer

from mixer import __version__
from mixer.cli import (
    batch,
    cache,
    chart,
    check,
    compare,
    feedback,
    fits,
    forget,
    loops,
    measure,
    new,
    pack,
    recipe,
    render,
    schema,
    try_,
    watch,
)

app = typer.Typer(
    name="mixer",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 90},
)


def _show_version(wanted: bool) -> None:  # noqa: FBT001 - typer calls it so
    if wanted:
        typer.echo(f"mixer {__version__}")
        raise typer.Exit


@app.callback()
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


app.command("new")(new.new)
app.command("loops")(loops.loops)
app.command("measure")(measure.measure)
app.command("fits")(fits.fits)
app.command("check")(check.check)
app.command("render")(render.render)
app.command("chart")(chart.chart)
app.command("try")(try_.try_)
app.command("compare")(compare.compare)
app.command("watch")(watch.watch)
app.command("batch")(batch.batch)
app.command("feedback")(feedback.feedback)
app.command("forget")(forget.forget)
app.command("pack")(pack.pack)
app.command("recipe")(recipe.recipe)
app.command("cache")(cache.cache)
app.command("schema")(schema.schema)
