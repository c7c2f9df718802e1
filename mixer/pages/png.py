"""A drawing as PNG, by Pillow: the one kind of file that needs a library, which is loaded only when it is asked for.

Lines are drawn three times as large and made smaller, so that they are smooth. Letters are those of the machine's own
fonts, or Pillow's own where there is none of them; a sign that the font does not hold is shown as a box (`missing`).
"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from contextlib import suppress
from functools import cache
from io import BytesIO
from typing import TYPE_CHECKING

from mixer.pages.drawing import Item, Shape, Sheet, Strokes, Style, Text

if TYPE_CHECKING:
    from PIL.ImageDraw import ImageDraw
    from PIL.ImageFont import FreeTypeFont

DOTS_PER_INCH = 150
_SMOOTH = 3
_NO_SIGN = "\U0010ffff"
_ANCHORS = {"start": "ls", "middle": "ms", "end": "rs"}
_FONTS: dict[Style, tuple[str, ...]] = {
    "roman": ("times.ttf", "Times New Roman.ttf", "LiberationSerif-Regular.ttf", "DejaVuSerif.ttf"),
    "italic": ("timesi.ttf", "Times New Roman Italic.ttf", "LiberationSerif-Italic.ttf", "DejaVuSerif-Italic.ttf"),
    "bold": ("timesbd.ttf", "Times New Roman Bold.ttf", "LiberationSerif-Bold.ttf", "DejaVuSerif-Bold.ttf"),
    "bold italic": (
        "timesbi.ttf",
        "Times New Roman Bold Italic.ttf",
        "LiberationSerif-BoldItalic.ttf",
        "DejaVuSerif-BoldItalic.ttf",
    ),
}


class NoPillowError(Exception):
    """Pillow is not installed, so no PNG can be made."""


def as_png(sheets: Sequence[Sheet]) -> bytes:
    """Give sheets as one PNG, one below the other, 150 dots an inch.

    Raises
    ------
    NoPillowError
        If Pillow is not installed.
    """
    try:
        from PIL import Image, ImageDraw  # noqa: PLC0415 - only who wants a PNG needs it
    except ImportError as error:
        raise NoPillowError from error
    dots = DOTS_PER_INCH / 72
    width, height = round(sheets[0].width * dots), round(sum(sheet.height for sheet in sheets) * dots)
    whole = Image.new("L", (width, height), 255)
    down = 0.0
    for sheet in sheets:
        size = (round(sheet.width * dots * _SMOOTH), round(sheet.height * dots * _SMOOTH))
        large = Image.new("L", size, 255)
        pen = ImageDraw.Draw(large)
        for item in sheet.items:
            _draw(pen, item, dots * _SMOOTH)
        whole.paste(large.reduce(_SMOOTH), (0, round(down * dots)))
        down += sheet.height
    out = BytesIO()
    whole.save(out, "PNG", optimize=True, dpi=(DOTS_PER_INCH, DOTS_PER_INCH))
    return out.getvalue()


def missing(sheets: Sequence[Sheet]) -> str:
    """The signs that this machine's font does not hold, each once.

    Raises
    ------
    NoPillowError
        If Pillow has no letters of any size.
    """
    texts = (item for sheet in sheets for item in sheet.items if isinstance(item, Text))
    signs = dict.fromkeys((sign, item.style) for item in texts for sign in item.text if not sign.isascii())
    return "".join(dict.fromkeys(sign for sign, style in signs if not _held(sign, style)))


def _held(sign: str, style: Style) -> bool:
    """Whether a font shows something else for a sign than for one that does not exist; what takes no room is held."""
    if unicodedata.category(sign) in ("Mn", "Me", "Cf"):
        return True
    font = _font(style, 40)
    return bytes(font.getmask(sign)) != bytes(font.getmask(_NO_SIGN))


def _draw(pen: ImageDraw, item: Item, scale: float) -> None:
    if isinstance(item, Strokes):
        for line in item.lines:
            points = [(x * scale, y * scale) for x, y in line]
            pen.line(points, 0, max(1, round(item.width * scale)), joint="curve")
    elif isinstance(item, Shape):
        pen.polygon([(x * scale, y * scale) for x, y in item.points], 0 if item.black else 255)
    else:
        _write(pen, item, scale)


def _write(pen: ImageDraw, item: Text, scale: float) -> None:
    font = _font(item.style, round(item.size * scale))
    pen.text((item.x * scale, item.y * scale), item.text, 0, font, _ANCHORS[item.anchor])


@cache
def _font(style: Style, size: int) -> FreeTypeFont:
    from PIL import ImageFont  # noqa: PLC0415 - see above

    for name in _FONTS[style]:
        with suppress(OSError):
            return ImageFont.truetype(name, size)
    found = ImageFont.load_default(size)
    if not isinstance(found, ImageFont.FreeTypeFont):
        raise NoPillowError  # a Pillow without letters of any size
    return found
