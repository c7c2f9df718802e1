"""Where the two sides of a comparison come from: a recipe, an earlier version that was kept, or a finished song.

A song carries its recipe; its loops are looked for where the song is. An earlier version belongs into the folder
above the one in which it is kept, with the loops there.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from mixer.song.carried import CarriesNothingError, read_carried
from mixer.song.opened import NoRecipeError, Opened, open_bytes, read_bytes
from mixer.store.versions import FOLDER, kept_versions

SONGS = (".wav", ".flac", ".ogg", ".mp3")


def open_side(path: Path, loop_folders: Iterable[Path] = ()) -> Opened:
    """Open one side of a comparison.

    Parameters
    ----------
    path : a recipe, a kept version of one, or a song
    loop_folders : folders with loops that come before all others

    Raises
    ------
    NoRecipeError
        If there is nothing to read there.
    """
    if path.suffix.lower() not in SONGS:
        return open_bytes(read_bytes(path), path, _home(path), loop_folders)
    try:
        carried = read_carried(path)
    except CarriesNothingError as error:
        raise NoRecipeError(error.kind, path, name=path.name) from error
    except OSError as error:
        raise NoRecipeError("song-missing", path, name=path.name) from error
    return open_bytes(
        carried.recipe.encode("utf-8", "replace"), path.with_name(carried.file), path.parent, loop_folders
    )


def _home(path: Path) -> Path:
    return path.parent.parent if path.parent.name == FOLDER else path.parent


def versions_of(path: Path) -> list[Path]:
    """Give the kept versions of a recipe or a song, the oldest first."""
    return kept_versions(path.parent, path.stem)


def version_before(opened: Opened, path: Path) -> Path | None:
    """Give the newest kept version that is not the same text; None if there is none."""
    now = opened.text.encode("utf-8")
    return next((each for each in reversed(versions_of(path)) if each.read_bytes() != now), None)
