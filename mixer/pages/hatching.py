"""What a layer's staff line is filled with while it sounds: each role has a pattern that a copier keeps apart.

Patterns are drawn as plain lines and not as fills of a file format, so that every kind of file shows the same.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import ceil

from mixer.pages.drawing import Point, Sheet
from mixer.record import record

Line = tuple[Point, ...]


@record
class Box:
    """A rectangle to fill, and the scale of the chart."""

    x: float
    y: float
    width: float
    height: float
    scale: float = 1.0


def fill(sheet: Sheet, role: str, box: Box) -> None:
    """Fill a rectangle with a role's pattern; its edge is drawn by whoever asks."""
    if role == "bass":
        sheet.box(box.x, box.y, box.width, box.height)
        return
    sheet.box(box.x, box.y, box.width, box.height, black=False)
    pattern = _PATTERNS.get(role)
    if pattern is not None:
        lines, width = pattern(box)
        sheet.strokes(lines, width * box.scale)


def _slanted(box: Box) -> tuple[list[Line], float]:
    """Strokes from bottom left to top right, cut at the edges."""
    gap, height = 4.2 * box.scale, box.height
    lines: list[Line] = []
    at = _first(box.x - height, gap)
    while at < box.x + box.width:
        left, right = max(at, box.x), min(at + height, box.x + box.width)
        if right > left:
            lines.append(((left, box.y + height - (left - at)), (right, box.y + height - (right - at))))
        at += gap
    return lines, 1.5


def _first(after: float, gap: float) -> float:
    """Patterns are tied to the sheet, not to the box, so that neighbours fit together."""
    return ceil(after / gap) * gap


def _upright(box: Box) -> tuple[list[Line], float]:
    gap = 3.2 * box.scale
    start = _first(box.x + 0.3 * gap, gap)
    count = max(0, int((box.x + box.width - 0.3 * gap - start) / gap) + 1)
    return [((start + k * gap, box.y), (start + k * gap, box.y + box.height)) for k in range(count)], 0.8


def _level(box: Box) -> tuple[list[Line], float]:
    rows = [box.y + box.height * part for part in (0.25, 0.5, 0.75)]
    return [((box.x, y), (box.x + box.width, y)) for y in rows], 0.9


def _dotted(box: Box) -> tuple[list[Line], float]:
    gap, dot = 3.6 * box.scale, 1.5 * box.scale
    lines: list[Line] = []
    for row, part in enumerate((0.27, 0.73)):
        at = _first(box.x + dot, gap) + (gap / 2 if row else 0)
        while at + dot < box.x + box.width:
            lines.append(((at, box.y + box.height * part), (at + dot, box.y + box.height * part)))
            at += gap
    return lines, 1.5


def _dashed(box: Box) -> tuple[list[Line], float]:
    gap, dash = 9 * box.scale, 5.5 * box.scale
    lines: list[Line] = []
    at = _first(box.x - dash, gap)
    while at < box.x + box.width:
        left, right = max(at, box.x), min(at + dash, box.x + box.width)
        if right > left:
            lines.append(((left, box.y + box.height / 2), (right, box.y + box.height / 2)))
        at += gap
    return lines, 1.4


_PATTERNS: Mapping[str, Callable[[Box], tuple[list[Line], float]]] = {
    "drums": _slanted,
    "melody": _upright,
    "harmony": _level,
    "percussion": _dotted,
    "background": _dashed,
}
"""Bass is black and voice is white."""
