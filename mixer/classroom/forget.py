"""Everything in some folders that bears a person's name: found, told, and erased on yes.

A name is looked for as a word, in any case and however its accents are stored: in the names of files and folders, in
texts, and in what song files say about themselves (their tags, and the recipe inside). What is this person's own is
erased; files about several people are written anew without this one; what only mentions the name is told, for a person
to look at. Files are erased as the system erases them: what a disk or a backup keeps beyond that is not reached.
"""

from __future__ import annotations

import csv
import io
import json
import os
import re
import unicodedata
from collections.abc import Iterable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Literal

import soundfile

from mixer.classroom.comments import MARK
from mixer.record import record
from mixer.song.carried import CarriesNothingError, read_carried
from mixer.store.whole import write_text
from mixer.text.source import decode

MOST_FILES = 50_000
LARGEST_TEXT_BYTES = 5_000_000
_TEXTS = (".yaml", ".yml", ".txt", ".json", ".html", ".htm", ".md", ".csv", ".svg")
_SOUNDS = (".wav", ".flac", ".ogg", ".mp3")
What = Literal["erase", "rewrite", "look"]


@record
class Bearing:
    """A file that bears the name, and what is to be done with it."""

    path: Path
    what: What


class Name:
    """A name to look for.

    Raises
    ------
    ValueError
        If it has fewer than two letters: that would find everything.
    """

    def __init__(self, name: str) -> None:
        plain = _plain(name).strip()
        if sum(sign.isalnum() for sign in plain) < 2:
            raise ValueError(name)
        # "_" and "-" stand for spaces in names of files; a word ends where no letter or digit follows.
        words = [re.escape(word) for word in re.split(r"[\s_-]+", plain)]
        joined = r"[\s_-]+".join(words)
        self._found = re.compile(rf"(?<![^\W_]){joined}(?![^\W_])")

    def is_in(self, text: str) -> bool:
        """Whether a text has the name in it."""
        return self._found.search(_plain(text)) is not None


def _plain(text: str) -> str:
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", text).casefold())


def find(name: Name, folders: Iterable[Path]) -> list[Bearing]:
    """Find every file below some folders that bears a name; links are not followed."""
    found: dict[Path, What] = {}
    for folder in folders:
        for path in _files(folder):
            relative = str(path.relative_to(folder))
            what: What | None = "erase" if name.is_in(relative) else _in_content(path, name)
            if what is not None:
                found.setdefault(path, what)
    return [Bearing(path, what) for path, what in sorted(found.items())]


def _files(folder: Path) -> Iterator[Path]:
    count = 0
    for place, _, names in os.walk(folder):
        for each in sorted(names):
            path = Path(place) / each
            count += 1
            if count <= MOST_FILES and path.is_file() and not path.is_symlink():
                yield path


def _in_content(path: Path, name: Name) -> What | None:
    ending = path.suffix.lower()
    with suppress(OSError):
        if ending in _SOUNDS:
            return _in_sound(path, name)
        if ending in _TEXTS and path.stat().st_size <= LARGEST_TEXT_BYTES:
            text, _ = decode(path.read_bytes())
            return _in_text(ending, text, name)
    return None


def _in_text(ending: str, text: str, name: Name) -> What | None:
    if ending == ".json" and isinstance(content := _json(text), dict):
        if MARK in content:
            return "rewrite" if name.is_in(json.dumps(content, ensure_ascii=False)) else None
        own = any(name.is_in(str(content.get(key, ""))) for key in ("name", "title", "by"))
        return "erase" if own else "look" if name.is_in(json.dumps(content, ensure_ascii=False)) else None
    if not name.is_in(text):
        return None
    if ending == ".csv":
        return "rewrite"
    if ending == ".md":  # a sheet begins with its song and whose it is
        return "erase" if name.is_in(text[:1000].partition("## ")[0]) else "look"
    if ending in (".yaml", ".yml", ".txt"):
        maker = re.search(r"^\s*by\s*:(.*)$", text, re.IGNORECASE | re.MULTILINE)
        credit = re.match(r".*, by (.*)", text)
        return "erase" if any(found and name.is_in(found[1]) for found in (maker, credit)) else "look"
    return "erase" if 'http-equiv="Content-Security-Policy"' in text or ending == ".svg" else "look"


def _in_sound(path: Path, name: Name) -> What | None:
    """Look at what a song file says about itself, not at its sound, in which any few letters stand somewhere."""
    tags: dict[str, str] = {}
    with suppress(soundfile.LibsndfileError, RuntimeError), soundfile.SoundFile(path) as sound:
        tags = sound.copy_metadata()
    if any(name.is_in(tags.get(key, "")) for key in ("title", "artist")):
        return "erase"
    with suppress(CarriesNothingError, ValueError):
        carried = read_carried(path)
        return "erase" if name.is_in(carried.file) else _in_text(".yaml", carried.recipe, name)
    return "look" if name.is_in("\n".join(tags.values())) else None


def erase(bearings: Iterable[Bearing], name: Name) -> list[Path]:
    """Erase what is this person's, and take the name out of files about several people.

    Returns
    -------
    files that could not be erased or written
    """
    return [bearing.path for bearing in bearings if not _erased(bearing, name)]


def _erased(bearing: Bearing, name: Name) -> bool:
    try:
        if bearing.what == "erase":
            bearing.path.unlink()
            _drop_empty(bearing.path.parent, name)
        elif bearing.what == "rewrite":
            _rewrite(bearing.path, name)
    except OSError:
        return False
    return True


def _drop_empty(folder: Path, name: Name) -> None:
    """Take a folder away that bears the name and has nothing in it any more."""
    while name.is_in(folder.name) and not any(folder.iterdir()):
        folder.rmdir()
        folder = folder.parent


def _rewrite(path: Path, name: Name) -> None:
    text, _ = decode(path.read_bytes())
    if path.suffix.lower() == ".csv":
        rows = [row for row in csv.reader(io.StringIO(text.removeprefix("\ufeff"))) if not name.is_in(" | ".join(row))]
        out = io.StringIO()
        csv.writer(out).writerows(rows)
        write_text(path, "\ufeff" + out.getvalue())
        return
    content = json.loads(text)
    songs = content.get("songs") if isinstance(content.get("songs"), dict) else {}
    told = {key: f"{key}\n{json.dumps(song, ensure_ascii=False)}" for key, song in songs.items()}
    content["songs"] = {key: song for key, song in songs.items() if not name.is_in(told[key])}
    write_text(path, json.dumps(content, ensure_ascii=False, indent=1))


def _json(text: str) -> object:
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        return None
