"""How wide a text is where every sign takes one place or two: on a terminal, and in lists that line up."""

from __future__ import annotations

import unicodedata


def columns(text: str) -> int:
    """How many columns of a terminal a text takes (Unicode Standard Annex 11)."""
    return sum(map(_sign_columns, text))


def _sign_columns(sign: str) -> int:
    if unicodedata.category(sign) in ("Mn", "Me", "Cf"):
        return 0
    return 2 if unicodedata.east_asian_width(sign) in "WF" else 1
