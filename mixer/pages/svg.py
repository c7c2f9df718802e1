"""A drawing as SVG, for every screen and printer; several sheets stand one below the other.

Plain SVG 1.1: paths and texts, with presentation attributes alone (a page that allows no foreign styles shows them).
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from mixer.pages.drawing import BarPlace, Item, Point, Shape, Sheet, Strokes, Style, Text
from mixer.pages.lettering import clean

FONTS = "'Times New Roman', Times, 'Liberation Serif', Tinos, 'DejaVu Serif', serif"
_STYLES: dict[Style, str] = {
    "roman": "",
    "italic": ' font-style="italic"',
    "bold": ' font-weight="bold"',
    "bold italic": ' font-style="italic" font-weight="bold"',
}


def as_svg(sheets: Sequence[Sheet], title: str, description: str = "", *, places: bool = False) -> str:
    """Give sheets as one SVG file.

    Parameters
    ----------
    sheets : at least one
    title : what the picture is called, any text
    description : what is to be seen, any text, for who cannot see it
    places : whether each bar also has a rectangle that is not seen, with its number as `data-bar`, for pages on which a
        bar can be clicked
    """
    width, height = sheets[0].width, sum(sheet.height for sheet in sheets)
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_n(width)}pt" height="{_n(height)}pt" '
        f'viewBox="0 0 {_n(width)} {_n(height)}" font-family="{FONTS}" fill="#000" role="img">',
        f"<title>{escape(clean(title))}</title>",
        *([f"<desc>{escape(clean(description))}</desc>"] if description else []),
        f'<rect width="{_n(width)}" height="{_n(height)}" fill="#fff"/>',
    ]
    down = 0.0
    for sheet in sheets:
        drawn = [_element(item) for item in sheet.items]
        if places:
            drawn += [_place(place) for place in sheet.places]
        out += [f'<g transform="translate(0 {_n(down)})">', *drawn, "</g>"] if down else drawn
        down += sheet.height
    return "\n".join([*out, "</svg>", ""])


def _place(place: BarPlace) -> str:
    size = f'x="{_n(place.x)}" y="{_n(place.y)}" width="{_n(place.width)}" height="{_n(place.height)}"'
    return f'<rect data-bar="{place.bar}" {size} fill-opacity="0"/>'


def _element(item: Item) -> str:
    if isinstance(item, Strokes):
        lines = "".join(_path(line) for line in item.lines)
        ends = ' stroke-linecap="round" stroke-linejoin="round"' if item.round_ends else ""
        return f'<path d="{lines}" fill="none" stroke="#000" stroke-width="{_n(item.width)}"{ends}/>'
    if isinstance(item, Shape):
        return f'<path d="{_path(item.points)}Z"{"" if item.black else _WHITE}/>'
    return _text(item)


_WHITE = ' fill="#fff"'


def _text(item: Text) -> str:
    anchor = "" if item.anchor == "start" else f' text-anchor="{item.anchor}"'
    whole = f"<title>{escape(item.full)}</title>" if item.full else ""
    place = f'x="{_n(item.x)}" y="{_n(item.y)}" font-size="{_n(item.size)}"'
    return f'<text {place}{anchor}{_STYLES[item.style]} xml:space="preserve">{whole}{escape(item.text)}</text>'


def _path(points: Sequence[Point]) -> str:
    return "M" + "L".join(f"{_n(x)} {_n(y)}" for x, y in points)


def _n(value: float) -> str:
    """A hundredth of a point is finer than any printer."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
