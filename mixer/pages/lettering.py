"""Text made fit for a page: harmless, whole where there is room, shortened where there is none.

Widths are those of Times. A machine that has no Times shows another font of its kind, at most a quarter wider (DejaVu
Serif is the widest in use), so room is reckoned with that quarter.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping

from mixer.pages.drawing import Style
from mixer.pages.times_widths import BOLD, ITALIC, ROMAN

WIDER = 1.25
ELLIPSIS = "…"
_WIDTHS: Mapping[Style, tuple[int, ...]] = {"roman": ROMAN, "bold": BOLD, "italic": ITALIC, "bold italic": BOLD}
_OTHER = 650
_WIDE = 1100
_JOINER = "\u200d"
# Signs without a form of their own that names need: joiners, marks of direction, and the tags of flags.
_NEEDED = {"\u200c", _JOINER, "\u200e", "\u200f", *map(chr, range(0xE0020, 0xE0080))}


def clean(text: str) -> str:
    """The text in one line, without signs that could steer a page or that no page can hold."""
    kept = "".join(" " if sign.isspace() else sign for sign in text if _harmless(sign))
    return " ".join(kept.split())


def _harmless(sign: str) -> bool:
    return sign.isspace() or sign in _NEEDED or unicodedata.category(sign) not in ("Cc", "Cf", "Cs", "Cn", "Co", "Zl")


def width_of(text: str, size: float, style: Style = "roman") -> float:
    """How wide a text is in Times, in points; other scripts than Latin are estimated."""
    return sum(_sign_width(sign, style) for sign in text) * size / 1000


def _sign_width(sign: str, style: Style) -> int:
    code = sign.encode("cp1252", "ignore")
    if code and code[0] >= 32:
        return _WIDTHS[style][code[0] - 32]
    if unicodedata.category(sign) in ("Mn", "Me", "Cf"):
        return 0
    return _WIDE if unicodedata.east_asian_width(sign) in "WF" else _OTHER


def room_for(text: str, size: float, style: Style = "roman") -> float:
    """How much room a text may take on any machine, in points."""
    return width_of(text, size, style) * WIDER


def shortened(text: str, room: float, size: float, style: Style = "roman") -> str:
    """As much of a text as there is room for, with an ellipsis for what is left out; empty for no room at all."""
    if room_for(text, size, style) <= room:
        return text
    left = room - room_for(ELLIPSIS, size, style)
    kept = ""
    for cluster in clusters(text):
        left -= room_for(cluster, size, style)
        if left < 0:
            break
        kept += cluster
    return f"{kept.rstrip()}{ELLIPSIS}" if room_for(ELLIPSIS, size, style) <= room else ""


def clusters(text: str) -> list[str]:
    """Signs with what belongs to them: accents, skin tones, and pictures that are joined into one."""
    found: list[str] = []
    for sign in text:
        if found and (_belongs(sign) or found[-1].endswith(_JOINER) or _second_of_flag(found[-1], sign)):
            found[-1] += sign
        else:
            found.append(sign)
    return found


def _belongs(sign: str) -> bool:
    return unicodedata.category(sign) in ("Mn", "Mc", "Me") or sign in _NEEDED or "\U0001f3fb" <= sign <= "\U0001f3ff"


def _second_of_flag(before: str, sign: str) -> bool:
    """Two regional letters are one flag."""
    return len(before) == 1 and all("\U0001f1e6" <= each <= "\U0001f1ff" for each in (before, sign))
