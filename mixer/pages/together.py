"""Songs drawn one below the other, with what differs marked: as a corrected sheet of music is.

All have bars of one width, so that they can be compared by eye. What differs stands in a dashed box with the number of
its change in the list beside it, and a thick line at the margin says in which lines of music there is something to see.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from mixer.pages.chart import Chart
from mixer.pages.drawing import Point, Sheet, Text
from mixer.pages.engrave import LEGEND, MARGIN, cleaned, draw_legend, legend_of
from mixer.pages.lettering import clean, room_for
from mixer.pages.staffs import SystemDrawer, SystemPlace, draw_system
from mixer.pages.systems import ROW, Layout, layouts_together, system_height
from mixer.record import record

WIDTH = 841.89
"""That of a lying sheet of A4, in points (ISO 216)."""
_TOP = 8.0
_CHANGE_BAR = 3.0
_NUMBER = 8.5
_DASH, _GAP = 3.5, 2.2


@record
class Revision:
    """Bars that differ.

    Parameters
    ----------
    number : of the change, as in the list beside the chart
    first_bar, last_bar : counted in the song from 1
    layer : whose; empty where it is about all of them
    """

    number: int
    first_bar: int
    last_bar: int
    layer: str = ""


def engrave_together(charts: Sequence[Chart], revisions: Sequence[Sequence[Revision]]) -> list[Sheet]:
    """Draw songs that are compared, without titles.

    Parameters
    ----------
    charts : the songs
    revisions : for each of them the bars that differ

    Returns
    -------
    for each a sheet, as high as it takes
    """
    charts = [cleaned(chart) for chart in charts]
    layouts = layouts_together(charts, WIDTH - 2 * MARGIN)
    return [_sheet(*each) for each in zip(charts, layouts, revisions, strict=True)]


def _sheet(chart: Chart, layout: Layout, revisions: Sequence[Revision]) -> Sheet:
    systems = layout.sheets[0]
    legend = legend_of(chart, WIDTH - 2 * MARGIN)
    foot = _TOP + sum(system_height(system, chart) for system in systems)
    sheet = Sheet(WIDTH, foot + LEGEND * len(legend) + _TOP)
    top = _TOP
    for system in systems:
        drawer = draw_system(sheet, chart, layout, system, SystemPlace(MARGIN, top))
        _mark(drawer, revisions)
        top += system_height(system, chart)
    draw_legend(sheet, legend, foot, 1.0)
    return sheet


def _mark(drawer: SystemDrawer, revisions: Sequence[Revision]) -> None:
    """Draw the boxes in one system; those around the same bars are one, with all their numbers."""
    rows = {layer.name: row for row, layer in enumerate(drawer.chart.in_score_order)}
    boxes: dict[tuple[int, int, str], list[int]] = {}
    for each in revisions:
        first, last = max(each.first_bar, drawer.first), min(each.last_bar, drawer.end - 1)
        layer = clean(each.layer)
        if first <= last and (not layer or layer in rows):
            boxes.setdefault((first, last, layer), []).append(each.number)
    for (first, last, layer), numbers in boxes.items():
        top, bottom = drawer.top - 12.0, drawer.bottom + 17.0
        if layer:
            middle = drawer.top + rows[layer] * ROW
            top, bottom = middle - 8.6, middle + 9.0
        inset = 1.5 if layer else -1.0
        _box(drawer.sheet, drawer.x(first) + inset, top, drawer.x(last + 1) - inset, bottom)
        _numbers(drawer.sheet, numbers, drawer.x(last + 1) - inset - 3, top)
    if boxes:
        x = MARGIN - 12.0
        drawer.sheet.line(x, drawer.top - 12.0, x, drawer.bottom + 17.0, _CHANGE_BAR)


def _box(sheet: Sheet, left: float, top: float, right: float, bottom: float) -> None:
    corners = [(left, top), (right, top), (right, bottom), (left, bottom), (left, top)]
    sheet.strokes([dash for start, end in pairwise(corners) for dash in _dashes(start, end)], 1.0)


def _dashes(start: Point, end: Point) -> list[tuple[Point, Point]]:
    """Break a line along one of the axes into dashes."""
    length = abs(end[0] - start[0]) + abs(end[1] - start[1])
    along = ((end[0] - start[0]) / length, (end[1] - start[1]) / length) if length else (0.0, 0.0)
    count = int(length / (_DASH + _GAP)) + 1
    places = [(k * (_DASH + _GAP), min(length, k * (_DASH + _GAP) + _DASH)) for k in range(count)]
    return [
        ((start[0] + a * along[0], start[1] + a * along[1]), (start[0] + b * along[0], start[1] + b * along[1]))
        for a, b in places
    ]


def _numbers(sheet: Sheet, numbers: Sequence[int], right: float, top: float) -> None:
    """Write the numbers of the changes into the upper edge of a box."""
    text = ", ".join(map(str, numbers))
    wide = room_for(text, _NUMBER, "bold") + 3
    sheet.box(right - wide, top - 4.5, wide, 9.0, black=False)
    sheet.items.append(Text(right - 1.5, top + 3.0, text, _NUMBER, "end", "bold"))
