"""File names that are safe on every system, made from names that people choose."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from pathlib import Path

_LONGEST_BYTES = 120
# Devices of Windows, with any ending or none (Microsoft, "Naming Files, Paths, and Namespaces").
_RESERVED = {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in "0123456789¹²³")}


def safe_name(text: str, otherwise: str = "song") -> str:
    """Give a file name (without an ending) in any script, without signs that some system refuses.

    Parameters
    ----------
    text : a title or the name of a file
    otherwise : what to use where nothing of the text is left
    """
    normal = unicodedata.normalize("NFC", text)
    kept = "".join(sign if sign.isalnum() or sign in "-_. ()" or _joins(sign) else " " for sign in normal)
    # Commands take a name that begins with "-" for an option.
    name = " ".join(kept.split()).lstrip("-. ").rstrip(". ")
    while len(name.encode("utf-8")) > _LONGEST_BYTES:
        name = name[:-1].rstrip(". ")
    if not name:
        return otherwise
    first, dot, rest = name.partition(".")
    return f"{first.rstrip()}_{dot}{rest}" if first.rstrip().lower() in _RESERVED else name


def _joins(sign: str) -> bool:
    """Whether a sign belongs to the letter before it, as accents and vowel signs do."""
    return unicodedata.category(sign) in ("Mn", "Mc")


def distinct_places(places: Iterable[Path]) -> list[Path]:
    """Give places with safe names, no two of them the same on a system that knows no capitals."""
    found: list[Path] = []
    taken: set[str] = set()
    for place in places:
        name = safe_name(place.name)
        number, free = 2, name
        while _as_one(place.with_name(free)) in taken:
            free = f"{name} ({number})"
            number += 1
        taken.add(_as_one(place.with_name(free)))
        found.append(place.with_name(free))
    return found


def _as_one(place: Path) -> str:
    return unicodedata.normalize("NFC", str(place)).casefold()
