"""Names and numbers as people type them, in any script.

Names are compared without regard to case, to how accents are stored (Unicode NFC) and to odd spaces.
Digits of any script, the dashes that editors put in by themselves, and full-width signs are read as the
ordinary ones. Every function keeps the number of signs, so that places in the text stay right.
"""

from __future__ import annotations

import difflib
import functools
import unicodedata
from collections.abc import Iterable

DASHES = "-\u301c\uff5e\u2010\u2011\u2012\u2013\u2014\u2015\u2212\ufe58\ufe63\uff0d"
COMMAS = ",\u060c\u3001\ufe50\ufe51\uff0c"
COLONS = ":\ufe55\uff1a"
SEMICOLONS = ";\uff1b\u061b"
HASHES = "#\uff03"
# Each opening quote mark with the marks that may close it.
QUOTES = {
    '"': '"',
    "'": "'",
    "\u201c": "\u201d\u201c",
    "\u201d": "\u201d",
    "\u201e": "\u201c\u201d",
    "\u2018": "\u2019\u2018",
    "\u2019": "\u2019",
    "\u201a": "\u2018\u2019",
    "\u00ab": "\u00bb",
    "\u00bb": "\u00ab",
    "\u300c": "\u300d",
}
_PLAIN = {
    **{0xFF01 + i: chr(0x21 + i) for i in range(94)},  # full-width forms of the ASCII signs
    **dict.fromkeys(map(ord, DASHES), "-"),
    **dict.fromkeys(map(ord, COMMAS), ","),
    **dict.fromkeys(map(ord, COLONS), ":"),
    0x066B: ".",  # Arabic decimal separator
}


def plain_signs(text: str) -> str:
    """Give the text with ordinary digits, dashes, commas, colons and spaces; sign for sign."""
    return text.replace("\t", " ") if text.isascii() else "".join(_plain_sign(sign) for sign in text)


def _plain_sign(sign: str) -> str:
    if sign.isascii():
        return " " if sign == "\t" else sign
    if ord(sign) in _PLAIN:
        return _PLAIN[ord(sign)]
    digit = unicodedata.digit(sign, None)
    if digit is not None and sign.isdecimal():
        return str(digit)
    return " " if sign.isspace() else sign


def visible(text: str) -> str:
    """Give a text as it is seen: without marks that only steer direction and breaks, one space for spaces and controls.

    The two joiners of Persian, Hindi and emoji change what is seen, so they stay.
    """
    if text.isascii() and text.isprintable():
        return " ".join(text.split())
    seen = ("" if _is_unseen(sign) else " " if is_control(sign) else sign for sign in text)
    return " ".join("".join(seen).split())


def _is_unseen(sign: str) -> bool:
    return unicodedata.category(sign) == "Cf" and sign not in "\u200c\u200d"


def is_control(sign: str) -> bool:
    """Whether a sign is one that cannot be shown and stands for no space."""
    return not (sign.isprintable() or sign.isspace() or unicodedata.category(sign) == "Cf")


def same_name(text: str) -> str:
    """Give the form in which names are compared."""
    text = visible(text)
    if text.isascii():
        return text.lower()
    dashed = "".join("-" if sign in DASHES else sign for sign in text)
    return " ".join(unicodedata.normalize("NFC", unicodedata.normalize("NFC", dashed).casefold()).split())


# A catalog says the same dozen key words of each loop.
@functools.lru_cache(maxsize=1024)
def same_word(text: str) -> str:
    """Give the form in which key words are compared: `fade in`, `fade-in` and `Fade_In` are one."""
    return same_name(plain_signs(text).replace("-", " ").replace("_", " "))


def nearest(name: str, known: Iterable[str]) -> str | None:
    """Give the known name that is spelt almost like this one, if one is close."""
    by_form = {same_name(other): other for other in known}
    close = difflib.get_close_matches(same_name(name), list(by_form), n=1, cutoff=0.55)
    return by_form[close[0]] if close else None
