"""Notes drawn as shapes, since few fonts hold them: the tempo mark of a chart."""

from __future__ import annotations

from math import cos, pi, sin

from mixer.pages.chart import Beat
from mixer.pages.drawing import Point, Sheet, Text
from mixer.pages.lettering import room_for

_TILT = -0.35
_CORNERS = 20


def draw_tempo(sheet: Sheet, beat: Beat, tempo: str, x: float, y: float, size: float) -> None:
    """Draw `(note) = 96` with its baseline at y."""
    _note(sheet, beat, x, y, size)
    sheet.items.append(Text(x + 1.1 * size, y, f"= {tempo}", size))


def tempo_width(tempo: str, size: float) -> float:
    """How much room the tempo mark takes, with some space after it."""
    return 1.1 * size + room_for(f"= {tempo}", size) + 1.6 * size


def _note(sheet: Sheet, beat: Beat, x: float, y: float, size: float) -> None:
    """A half, quarter, eighth or sixteenth note with its stem up; the dot where it is dotted."""
    wide, high = 0.29 * size, 0.2 * size
    middle = (x + wide, y - high)
    sheet.shape(*_ellipse(middle, wide, high))
    if beat.unit <= 2:
        sheet.shape(*_ellipse(middle, wide * 0.72, high * 0.45), black=False)
    stem, top = x + 2 * wide - 0.05 * size, y - 1.15 * size
    sheet.line(stem, y - high * 1.2, stem, top, 0.08 * size)
    for flag in range({8: 1, 16: 2}.get(beat.unit, 0)):
        at = top + flag * 0.22 * size
        sheet.shape(
            (stem, at),
            (stem + 0.3 * size, at + 0.42 * size),
            (stem + 0.22 * size, at + 0.5 * size),
            (stem, at + 0.2 * size),
        )
    if beat.dotted:
        sheet.shape(*_ellipse((x + 2 * wide + 0.17 * size, y - high), 0.07 * size, 0.07 * size))


def _ellipse(middle: Point, wide: float, high: float) -> list[Point]:
    """An ellipse tilted as a note's head is."""
    points = []
    for corner in range(_CORNERS):
        along = 2 * pi * corner / _CORNERS
        right, down = wide * cos(along), high * sin(along)
        points.append(
            (middle[0] + right * cos(_TILT) - down * sin(_TILT), middle[1] + right * sin(_TILT) + down * cos(_TILT))
        )
    return points
