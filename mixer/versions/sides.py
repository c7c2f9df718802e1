"""Where the two sides of a comparison come from: a recipe, an earlier version that was kept, or a finished song.

A song carries its recipe; its loops are looked for where the song is. An earlier version belongs into the folder
above the one in which it is kept, with the loops there. A song also carries the keys of the recordings with which it
was made, so a loop that was replaced under its name is found.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import field
from functools import cached_property
from pathlib import Path

from mixer.record import record
from mixer.song.carried import CarriesNothingError, read_carried
from mixer.song.opened import NoRecipeError, Opened, open_bytes, read_bytes
from mixer.store.content import content_key
from mixer.store.versions import FOLDER, kept_versions

SONGS = (".wav", ".flac", ".ogg", ".mp3")


@record
class Side:
    """One side of a comparison.

    Parameters
    ----------
    path : the file that was named
    opened : the recipe
    carried : of a finished song, the keys of the recordings with which it was made, by the loops' names
    """

    path: Path
    opened: Opened
    carried: Mapping[str, str] = field(default_factory=dict)

    @cached_property
    def recordings(self) -> dict[str, str]:
        """The keys of the recordings that are here now, by the loops' names."""
        found = {}
        for part in self.opened.plan.parts if self.opened.plan else ():
            with suppress(OSError):  # what cannot be read is told when the song is made
                found[part.fit.card.name] = content_key(part.fit.card.path)
        return found

    @property
    def gone(self) -> list[str]:
        """The loops of which a song was made with another recording than there is now."""
        now = self.recordings if self.carried else {}
        return [name for name, key in self.carried.items() if now.get(name, key) != key]


def names_of(old: Side, new: Side) -> tuple[str, str]:
    """Give what the files are called, with their folders where that is the same."""
    paths = (old.path, new.path)
    if old.path.name != new.path.name:
        return old.path.name, new.path.name
    first, second = (f"{path.resolve().parent.name}/{path.name}" for path in paths)
    return first, second


def replaced(old: Side, new: Side) -> frozenset[str]:
    """Give the loops of which each side has another recording under the same name."""
    before, after = ({**side.recordings, **side.carried} for side in (old, new))
    return frozenset(name for name, key in before.items() if after.get(name, key) != key)


def open_side(path: Path, loop_folders: Iterable[Path] = ()) -> Side:
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
        return Side(path, open_bytes(read_bytes(path), path, _home(path), loop_folders))
    try:
        carried = read_carried(path)
    except CarriesNothingError as error:
        raise NoRecipeError(error.kind, path, name=path.name) from error
    except OSError as error:
        raise NoRecipeError("song-missing", path, name=path.name) from error
    recipe = carried.recipe.encode("utf-8", "replace")
    return Side(path, open_bytes(recipe, path.with_name(carried.file), path.parent, loop_folders), carried.loops)


def _home(path: Path) -> Path:
    return path.parent.parent if path.parent.name == FOLDER else path.parent


def versions_of(path: Path) -> list[Path]:
    """Give the kept versions of a recipe or a song, the oldest first."""
    return kept_versions(path.parent, path.stem)


def version_before(opened: Opened, path: Path) -> Path | None:
    """Give the newest kept version that is not the same text; None if there is none."""
    now = opened.text.encode("utf-8")
    return next((each for each in reversed(versions_of(path)) if each.read_bytes() != now), None)
