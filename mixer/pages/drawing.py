"""A drawing as a short list of lines, shapes and texts, black on white, which `svg`, `pdf` and `png` write down.

Places are points (1/72 inch) from a sheet's top left corner, y downwards; a text stands on its baseline. Three kinds
are enough for a chart, so that a new kind of file is a small thing and all kinds show the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

from mixer.record import record

Style = Literal["roman", "italic", "bold", "bold italic"]
Anchor = Literal["start", "middle", "end"]
Point = tuple[float, float]


@record
class Strokes:
    """Lines of one width, each from point to point; `round_ends` for those that are a curve rather than an edge."""

    lines: tuple[tuple[Point, ...], ...]
    width: float
    round_ends: bool = False


@record
class Shape:
    """A closed shape, filled with black or with white."""

    points: tuple[Point, ...]
    black: bool = True


@record
class Text:
    """A line of text; `full` is the whole of one that had to be shortened."""

    x: float
    y: float
    text: str
    size: float
    anchor: Anchor = "start"
    style: Style = "roman"
    full: str = ""


Item = Strokes | Shape | Text


@record
class BarPlace:
    """Where a bar is on a sheet, from its top layer to its bottom one."""

    bar: int
    x: float
    y: float
    width: float
    height: float


@dataclass
class Sheet:
    """One sheet of paper."""

    width: float
    height: float
    items: list[Item] = field(default_factory=list)
    places: list[BarPlace] = field(default_factory=list)

    def line(self, x1: float, y1: float, x2: float, y2: float, width: float) -> None:
        """Draw one straight line."""
        self.items.append(Strokes((((x1, y1), (x2, y2)),), width))

    def strokes(self, lines: Sequence[Sequence[Point]], width: float, *, round_ends: bool = False) -> None:
        """Draw several lines of one width."""
        kept = tuple(tuple(line) for line in lines if len(line) > 1)
        if kept:
            self.items.append(Strokes(kept, width, round_ends))

    def box(self, x: float, y: float, width: float, height: float, *, black: bool = True) -> None:
        """Fill a rectangle."""
        corners = ((x, y), (x + width, y), (x + width, y + height), (x, y + height))
        self.items.append(Shape(corners, black))

    def frame(self, x: float, y: float, width: float, height: float, stroke: float) -> None:
        """Draw a rectangle's edge."""
        corners = ((x, y), (x + width, y), (x + width, y + height), (x, y + height))
        self.items.append(Strokes(((*corners, corners[0], corners[1]),), stroke))

    def shape(self, *points: Point, black: bool = True) -> None:
        """Fill a polygon."""
        self.items.append(Shape(points, black))
