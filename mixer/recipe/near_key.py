"""The key that was almost written: a slip in its mode, another order, or a key as other languages name it.

A class that learns in German, French, Italian or Spanish writes `a-moll`, `la mineur`, `la minore` or `la menor`. Keys
are read in English alone, so that a recipe is the same for everybody, but what was meant can be seen. Common practice,
no source: do to si are C to B in these languages, and in German h is B and b is B flat.
"""

from __future__ import annotations

import re
import unicodedata

from mixer.text.names import nearest

_MODES = {
    **dict.fromkeys(("major", "dur", "majeur", "maggiore", "mayor"), "major"),
    **dict.fromkeys(("minor", "moll", "mineur", "minore", "menor"), "minor"),
}
_GERMAN = ("dur", "moll")
_FIXED = {"do": "C", "ut": "C", "re": "D", "mi": "E", "fa": "F", "sol": "G", "la": "A", "si": "B"}
_SIGNS = {
    **dict.fromkeys(("#", "sharp", "diese", "diesis", "sostenido"), "#"),
    **dict.fromkeys(("flat", "bemol", "bemolle"), "b"),
}
_LONGEST = 40


def near_key(plain: str) -> str | None:
    """Give the key that was almost written, in a text of plain signs; None where it cannot be seen."""
    without_accents = unicodedata.normalize("NFD", plain[:_LONGEST].lower().replace("♯", "#").replace("♭", "b"))
    words = re.findall(r"[a-z]+|#", "".join(sign for sign in without_accents if not unicodedata.combining(sign)))
    exact = next((word for word in words if word in _MODES), None)
    mode = exact or next((word for word in words if len(word) > 3 and nearest(word, tuple(_MODES))), None)
    if mode is None:
        return None
    note, *more = [word for word in words if word is not mode] or [""]
    meant = mode if exact else nearest(mode, tuple(_MODES)) or ""
    tonic = _tonic(note, german=meant in _GERMAN)
    sign = "b" if note in _FIXED and more[:1] == ["b"] else _SIGNS.get(more[0], "") if more else ""
    if any(word in _MODES or _tonic(word, german=False) for word in more[bool(sign) :]):
        return None  # two keys
    return f"{tonic}{sign} {_MODES[meant]}" if tonic and len(f"{tonic}{sign}") < 3 else None


def _tonic(note: str, *, german: bool) -> str:
    if note in _FIXED:
        return _FIXED[note]
    if german and (found := re.fullmatch(r"([a-h])(is|e?s)?", note)):
        letter = {"h": "B", "b": "Bb"}.get(found[1], found[1].upper())
        return letter + {"is": "#", None: ""}.get(found[2], "b")
    found = re.fullmatch(r"([a-g])(b?)", note)
    return found[1].upper() + found[2] if found else ""
