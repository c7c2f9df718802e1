"""Pages of watched songs: of one recipe served on the loopback address, of a folder's written beside each recipe."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from mixer.words.english import compared as words
from mixer.words.problem import Place, Problem
from mixer.words.say import all_in_full, in_full, is_mistake, printable

if TYPE_CHECKING:
    from mixer.coach.page import SongSound
    from mixer.pages.serving import LoopbackPage
    from mixer.versions.watching import Saved

_TYPES = {".wav": "audio/wav", ".ogg": "audio/ogg", ".mp3": "audio/mpeg", ".flac": "audio/flac"}


class Pages(ABC):
    """Takes in what came of recipes."""

    def __init__(self, loop_folders: Iterable[Path]) -> None:
        self._loop_folders = list(loop_folders)

    def take(self, saved: Saved) -> None:
        """Show what came of one recipe; what fails is told, and the others go on."""
        if saved.problem is not None and saved.problem.kind == "song-of-another":
            return  # the page of that name is the other recipe's
        try:
            self._take(saved)
        except OSError as error:
            typer.echo(
                printable(words.not_written(str(saved.path.with_suffix(".html")), error.strerror or "")), err=True
            )
        except Exception as error:  # noqa: BLE001 - one page that we fail at must not end the watch over the others
            typer.echo(in_full(Problem("program-failed", Place(saved.path.name), {"why": repr(error)})), err=True)

    @abstractmethod
    def _take(self, saved: Saved) -> None:
        """Show it."""


class PagesBeside(Pages):
    """Each song's page, and what there is to look at, beside its recipe."""

    def _take(self, saved: Saved) -> None:
        from mixer.versions.beside_recipe import write_beside  # noqa: PLC0415 - help comes without it

        mistakes = _mistakes(saved)
        for place in write_beside(saved.path, _page(saved, self._loop_folders, mistakes), mistakes):
            typer.echo(printable(words.somebodys(place.name)), err=True)


class PageServed(Pages):
    """One song's page in the browser; while a recipe has mistakes, the last good song stays on it."""

    def __init__(self, server: LoopbackPage, loop_folders: Iterable[Path]) -> None:
        super().__init__(loop_folders)
        self._server = server
        self._good = ""

    def _take(self, saved: Saved) -> None:
        from mixer.coach.page import waiting_page, with_mistakes  # noqa: PLC0415 - loads numpy

        mistakes = _mistakes(saved)
        if mistakes and self._good:
            self._server.show(with_mistakes(self._good, mistakes))
            return
        page = _page(saved, self._loop_folders, mistakes, served=True)
        sound = _sound(saved)
        if not page or sound is None:
            self._server.show(waiting_page(saved.path.stem, mistakes))
            return
        self._good = "" if mistakes else page
        self._server.show(page, (sound.content, sound.media_type))


def _mistakes(saved: Saved) -> str:
    if saved.made is None:
        return all_in_full([saved.problem] if saved.problem else [])
    return all_in_full(problem for problem in saved.made.problems if is_mistake(problem))


def _sound(saved: Saved) -> SongSound | None:
    """Read the song that was made."""
    from mixer.coach.page import SongSound  # noqa: PLC0415 - loads numpy

    if saved.made is None or saved.made.report is None:
        return None
    song = saved.made.report.song
    with suppress(OSError):  # somebody may have taken it away already
        return SongSound(song.read_bytes(), _TYPES[song.suffix])
    return None


def _page(saved: Saved, loop_folders: Iterable[Path], mistakes: str, *, served: bool = False) -> str:
    """Give the page of a song that was made; empty where there is none."""
    from mixer.cli.song_page import draw_chart, page_of  # noqa: PLC0415 - loads numpy
    from mixer.song.opened import NoRecipeError, open_recipe  # noqa: PLC0415 - the same

    if saved.made is None or saved.made.report is None:
        return ""
    with suppress(NoRecipeError):  # it has gone meanwhile, and will be told at the next look
        opened = open_recipe(saved.path, loop_folders)
        sound = None if served else _sound(saved)
        return page_of(opened, saved.made, sound, draw_chart, mistakes=mistakes, served=served)
    return ""
