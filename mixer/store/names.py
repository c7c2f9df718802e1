"""File names that are safe on every system, made from names that people choose."""

from __future__ import annotations

import unicodedata

_LONGEST_BYTES = 120
_RESERVED = {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(10))}


def safe_name(text: str, otherwise: str = "song") -> str:
    """Give a file name (without an ending) in any script, without signs that some system refuses.

    Parameters
    ----------
    text : a title or the name of a file
    otherwise : what to use where nothing of the text is left
    """
    normal = unicodedata.normalize("NFC", text)
    kept = "".join(sign if sign.isalnum() or sign in "-_. ()" or _joins(sign) else " " for sign in normal)
    name = " ".join(kept.split()).strip(". ")
    while len(name.encode("utf-8")) > _LONGEST_BYTES:
        name = name[:-1].rstrip(". ")
    if not name:
        return otherwise
    return f"{name}_" if name.split(".")[0].lower() in _RESERVED else name


def _joins(sign: str) -> bool:
    """Whether a sign belongs to the letter before it, as accents and vowel signs do."""
    return unicodedata.category(sign) in ("Mn", "Mc")
