"""What a song file carries about itself: its recipe, the program's version and the keys of its loops.

So a song can always tell how it was made, also when the recipe has gone. In a WAV file it stands in a chunk of
its own that players pass over, in the other formats in a field of the tags.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import BinaryIO

from mixer import __version__
from mixer.material.fit import Material
from mixer.record import record
from mixer.signal import flac, id3, ogg
from mixer.signal.riff import NotWavError, read_chunks
from mixer.song.plan import Plan
from mixer.store.names import safe_name

CHUNK = b"mixr"


class CarriesNothingError(Exception):
    """A file is no song of this program; `kind` says why."""

    def __init__(self, kind: str) -> None:
        super().__init__(kind)
        self.kind = kind


@record
class Carried:
    """What a song says about itself.

    Parameters
    ----------
    file : the name of the recipe's file, safe to use
    recipe : its text
    version : of the program that made the song
    loops : content keys by the loops' names
    """

    file: str
    recipe: str
    version: str
    loops: Mapping[str, str]


def carried_text(plan: Plan, materials: Mapping[str, Material]) -> str:
    """Give what a song is to carry."""
    heard = (part for part in plan.parts if part.layer.name in materials)
    used = {part.fit.card.name: materials[part.layer.name].content_key for part in heard}
    content = {
        "file": plan.recipe.file,
        "recipe": plan.recipe.text,
        "version": __version__,
        "loops": dict(sorted(used.items())),
    }
    return json.dumps(content, ensure_ascii=False)


def read_carried(song: Path) -> Carried:
    """Read what a song carries. Songs come from strangers, so nothing in it is trusted.

    Raises
    ------
    CarriesNothingError
        If it is no song file, or carries nothing of this program.
    OSError
        If it cannot be read.
    """
    try:
        content = json.loads(_found(song) or "")
        file, recipe, version, loops = (content[key] for key in ("file", "recipe", "version", "loops"))
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        raise CarriesNothingError("song-carries-nothing") from error
    if not isinstance(recipe, str) or not isinstance(loops, dict):
        raise CarriesNothingError("song-carries-nothing")
    stem = safe_name(Path(str(file)).stem)
    return Carried(f"{stem}.yaml", recipe, str(version), {str(name): str(key) for name, key in loops.items()})


def _found(song: Path) -> str | None:
    """What stands where a song carries something, by what the file is."""
    with song.open("rb") as stream:
        head = stream.read(4)
        stream.seek(0)
        for mark, read in _READERS.items():
            if head.startswith(mark):
                return read(stream)
    try:
        chunks = read_chunks(song)
    except NotWavError as error:
        raise CarriesNothingError("song-no-sound") from error
    found = next((chunk.content for chunk in chunks if chunk.name == CHUNK and chunk.content), None)
    return found.decode("utf-8") if found else None


_READERS: Mapping[bytes, Callable[[BinaryIO], str | None]] = {
    flac.MARK: flac.read_carried,
    ogg.MARK: ogg.read_carried,
    id3.MARK: id3.read_carried,
    b"\xff\xfb": lambda _: None,  # MP3 without tags
}
