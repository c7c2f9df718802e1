"""`mixer cache`: what is kept so that the next song is there sooner."""

from __future__ import annotations

from typing import Annotated

import typer

from mixer.cli.common import CALLED_WRONGLY
from mixer.words.english import told
from mixer.words.say import printable


def cache(
    empty: Annotated[bool, typer.Option("--empty", help="Drop all of it; the next songs take longer once.")] = False,
) -> None:
    """Tell how much prepared sound is kept, and where; or drop it.

    Loops that were brought to a song's tempo and key are kept for the next song. No song depends on it, and what lies
    beside a recipe or is a voice is never kept. MIXER_CACHE names another folder for it; MIXER_CACHE=off keeps nothing.

    Example: mixer cache --empty
    """
    from mixer.store.cache import open_cache  # noqa: PLC0415 - help comes without it

    found = open_cache()
    if found.folder is None:
        typer.echo(told.NO_CACHE)
        return
    folder = printable(str(found.folder))
    if not found.usable:
        typer.echo(told.cache_unusable(folder), err=True)
        raise typer.Exit(CALLED_WRONGLY)
    if empty:
        gone = found.empty()
        typer.echo(told.cache_emptied(gone.entries, gone.size_bytes, folder))
        return
    usage = found.usage()
    typer.echo(told.cache_told(usage.entries, usage.size_bytes, found.most_bytes, folder))
