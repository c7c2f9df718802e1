"""In which order a class hears its songs: by name, by a number, or as a teacher wrote it down; by nothing measured."""

from __future__ import annotations

import random
import re
from collections.abc import Iterable, Sequence
from pathlib import Path

from mixer.classroom.tasks import Done
from mixer.text.names import same_name
from mixer.text.source import decode

LARGEST_BYTES = 100_000
_NUMBER = re.compile(r"^\d{1,4}[.)]\s+")


def in_order(songs: Sequence[Done], shuffle: int | None, lines: Sequence[str] = ()) -> list[Done]:
    """Give songs in the order of their names, or in one that a number decides: the same number, the same order.

    Those that lines call by name, title or maker come first, in the order of the lines.
    """
    ordered = sorted(songs, key=lambda done: done.name)
    if shuffle is not None:
        random.Random(shuffle).shuffle(ordered)  # noqa: S311 - an order for a lesson is no secret
    first = [done for line in lines for done in _meant(line, ordered)]
    return list({done.name: done for done in (*first, *ordered)}.values())


def read_order(path: Path) -> list[str]:
    """Read an order: one song on a line, with or without a number; what follows a "#" is a note.

    Raises
    ------
    OSError
        If it cannot be read.
    """
    with path.open("rb") as stream:
        text, _ = decode(stream.read(LARGEST_BYTES))
    lines = (re.sub(r"(^|\s)#.*", "", line).strip() for line in text.lstrip("\ufeff").splitlines())
    return [line for line in lines if line]


def unknown(lines: Iterable[str], songs: Sequence[Done]) -> list[str]:
    """Give the lines that call no song."""
    return [line for line in lines if not _meant(line, songs)]


def _meant(line: str, songs: Sequence[Done]) -> list[Done]:
    """The songs that a line calls: by name if one is called so, else by title, else by maker."""
    for wanted in dict.fromkeys((same_name(line), same_name(_NUMBER.sub("", line)))):
        for called in ("name", "title", "by"):
            if found := [done for done in songs if same_name(getattr(done, called)) == wanted]:
                return found
    return []
