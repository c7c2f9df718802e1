"""`mixer watch`: a song is made again whenever its recipe is saved."""

from __future__ import annotations

import signal
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from mixer.cli.common import CALLED_WRONGLY, LoopFolders, lines_of
from mixer.words.english import changes as change_words
from mixer.words.english import watching as words
from mixer.words.say import in_full, is_mistake, printable

if TYPE_CHECKING:
    from mixer.cli.watch_pages import Pages
    from mixer.versions.watching import Saved, Watcher

LOOK_EVERY_SECONDS = 0.25
LOOK_AT_ONE_SECONDS = 0.05
LOOK_AGAIN_SECONDS = 0.01
REST = 3
"""A look that takes long, at a folder on a network, is followed by a rest of so many times as long."""


def watch(
    place: Annotated[
        Path, typer.Argument(metavar="RECIPE-or-FOLDER", help="A recipe, or a folder with recipes anywhere below it.")
    ],
    loops: LoopFolders = [],  # noqa: B006 - typer copies it
    page: Annotated[
        bool,
        typer.Option("--page", help="Of one recipe: also show the song's page, in a browser on this machine alone."),
    ] = False,
) -> None:
    """Make a song again whenever its recipe is saved, until Ctrl-C.

    Of a folder, every recipe below it is watched, and each one's song (OGG), page and mistakes are written beside it.
    Nothing plays by itself.

    Example: mixer watch my-song/my-song.yaml
    """
    if not place.exists():
        typer.echo(words.nothing_to_watch(printable(str(place))), err=True)
        raise typer.Exit(CALLED_WRONGLY)
    if page and place.is_dir():
        raise typer.BadParameter(words.ONE_PAGE, param_hint="--page")
    from mixer.versions.watching import Watcher  # noqa: PLC0415 - loads numpy

    typer.echo(words.watching(printable(str(place))))
    signal.signal(signal.SIGTERM, signal.default_int_handler)  # asked to end, it ends as by Ctrl-C
    try:
        with _pages(place, loops, served=page) as pages:
            if place.is_dir():
                _go_on(Watcher(place, loops, "ogg"), LOOK_EVERY_SECONDS, pages)
            _go_on(Watcher(place, loops), LOOK_AT_ONE_SECONDS, pages)
    except KeyboardInterrupt:
        typer.echo(words.STOPPED)


@contextmanager
def _pages(place: Path, loops: list[Path], *, served: bool) -> Iterator[Pages | None]:
    """Give what takes in songs for pages: of a folder beside the recipes, of one recipe in the browser if wanted."""
    from mixer.cli.watch_pages import PagesBeside, PageServed  # noqa: PLC0415 - help comes without it

    if not served:
        yield PagesBeside(loops) if place.is_dir() else None
        return
    from mixer.coach.page import waiting_page  # noqa: PLC0415 - loads numpy
    from mixer.pages.serving import LoopbackPage  # noqa: PLC0415 - the one place that opens a port

    try:
        server = LoopbackPage(waiting_page(place.stem, ""))
    except OSError as error:
        typer.echo(words.no_port(error.strerror or ""), err=True)
        raise typer.Exit(CALLED_WRONGLY) from error
    with closing(server):
        typer.echo(words.page_at(server.address))
        yield PageServed(server, loops)


def _go_on(watcher: Watcher, every_seconds: float, pages: Pages | None) -> None:
    while True:
        start = time.monotonic()
        unsettled = watcher.look()
        took = time.monotonic() - start
        saved = watcher.make_next()
        if saved is None:
            time.sleep(max(LOOK_AGAIN_SECONDS if unsettled else every_seconds, REST * took))
        else:
            _tell(saved)
            if pages is not None:
                pages.take(saved)


def _tell(saved: Saved) -> None:
    """Say in two lines what changed, and where the song and the mistakes are."""
    name = saved.path.name
    if saved.made is None:
        typer.echo(printable(in_full(saved.problem)) if saved.problem else "", err=True)
        return
    told = None if saved.changes is None else [change_words.sentence(change) for change in saved.changes]
    typer.echo(printable(words.saved(name, told)))
    for problem in saved.made.problems:
        if problem.kind == "not-written":  # no mistake of the recipe's, so it has no line to look at
            typer.echo(printable(in_full(problem)), err=True)
            return
    mistakes = [problem for problem in saved.made.problems if is_mistake(problem)]
    song = saved.made.report.song.name if saved.made.report else ""
    last_good = saved.last_good.name if saved.last_good else ""
    typer.echo(printable(words.came_of_it(song, lines_of(mistakes, saved.path), len(mistakes), last_good)))
