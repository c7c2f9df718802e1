"""A chart drawn as music is printed: sheets of lines, shapes and texts from a song's form.

Boxed rehearsal letters with the sections' names, bar numbers at the bar line, a staff line for each layer that is
filled while it sounds and has counted rests while it does not, wedges where a layer comes in and caps where it stops,
hairpins for fades, p to f for levels, and under each system the line of the song's energy.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from mixer.pages.chart import Chart
from mixer.pages.drawing import Anchor, Sheet, Style, Text
from mixer.pages.lettering import clean, room_for, shortened
from mixer.pages.notes import draw_tempo, tempo_width
from mixer.pages.staffs import SystemPlace, draw_swatch, draw_system
from mixer.pages.systems import LARGE_PRINT, Layout, best_layout, large_layout, system_height
from mixer.record import record, replace
from mixer.words.english import chart as words

Paper = Literal["a4", "letter", "wall"]
_PAPERS: dict[Paper, tuple[float, float]] = {"a4": (595.28, 841.89), "letter": (612.0, 792.0), "wall": (330.0, 700.0)}
"""Upright, in points: ISO 216 A4 (210 mm x 297 mm) and US Letter (8.5 in x 11 in); and what a screen has room for below
a song's title, which is never upright."""
MARGIN = 36.0
"""Half an inch: what every printer can print (common practice, no source)."""
TITLE = 58.0
LATER_TITLE = 28.0
LEGEND = 14.0
_SWATCH, _LEGEND_SIZE, _LEGEND_GAP = 18.0, 7.5, 10.0
_MOST_SPREAD = 34.0
Legend = tuple[tuple[tuple[str, str], ...], ...]
"""Lines of what is drawn and what it means."""
_APART = (" " * 6, " " * 3, "  ")


def engrave(chart: Chart, paper: Paper = "a4", *, large: bool = False) -> list[Sheet]:
    """Draw a song's chart.

    Parameters
    ----------
    chart : the song
    paper : what it is to be printed on, or the wall
    large : in large print, on as many sheets as that takes; otherwise on one sheet

    Returns
    -------
    the sheets, upright or lying, whichever allows the larger letters
    """
    chart = cleaned(chart)
    upright = _PAPERS[paper]
    ways = (upright[::-1], *(() if paper == "wall" else (upright,)))
    pages = [_page(chart, width, height, LARGE_PRINT if large else 1.0) for width, height in ways]
    laid = [(page, _lay_out(chart, page, large=large)) for page in pages]
    page, layout = max(laid, key=lambda each: _fitness(each[1]))
    return [_sheet(chart, page, layout, number) for number in range(len(layout.sheets))]


@record
class _Page:
    """A sheet's size, and how large what stands around the systems is."""

    width: float
    height: float
    scale: float
    legend: Legend

    @property
    def top(self) -> float:
        """Where the legend begins."""
        return self.height - MARGIN - (LEGEND * len(self.legend) + 4) * self.scale

    @property
    def room(self) -> tuple[float, float]:
        """What is left for systems."""
        return self.width - 2 * MARGIN, self.top - MARGIN - TITLE * self.scale


def _page(chart: Chart, width: float, height: float, scale: float) -> _Page:
    """A sheet, with the legend broken into as many lines as it takes."""
    return _Page(width, height, scale, legend_of(chart, (width - 2 * MARGIN) / scale))


def legend_of(chart: Chart, width: float) -> Legend:
    """Break what the patterns and marks mean into lines of at most so much room at scale 1."""
    lines: list[list[tuple[str, str]]] = [[]]
    for entry in (*((role, role) for role, _ in chart.groups), *words.MARKS.items()):
        if _legend_width([*lines[-1], entry]) > width:
            lines.append([])
        lines[-1].append(entry)
    return tuple(map(tuple, lines))


def _legend_width(entries: Sequence[tuple[str, str]]) -> float:
    return sum(_SWATCH + 4 + room_for(name, _LEGEND_SIZE) + _LEGEND_GAP for _, name in entries) - _LEGEND_GAP


def _fitness(layout: Layout) -> tuple[float, int, float]:
    """Letters large enough come first, then few sheets, then letters as large as can be."""
    return min(round(layout.scale, 2), LARGE_PRINT), -len(layout.sheets), round(layout.scale, 2)


def _lay_out(chart: Chart, page: _Page, *, large: bool) -> Layout:
    return large_layout(chart, *page.room) if large else best_layout(chart, *page.room)


def cleaned(chart: Chart) -> Chart:
    """Give the chart with all texts of strangers made harmless."""
    return replace(
        chart,
        title=clean(chart.title),
        by=clean(chart.by),
        sections=tuple(
            replace(section, name=clean(section.name), meant=clean(section.meant)) for section in chart.sections
        ),
        layers=tuple(replace(layer, name=clean(layer.name)) for layer in chart.layers),
    )


def _sheet(chart: Chart, page: _Page, layout: Layout, number: int) -> Sheet:
    sheet = Sheet(page.width, page.height)
    systems = layout.sheets[number]
    if number:
        name = words.sheet_of(chart.title, number + 1, len(layout.sheets))
        _centred(sheet, name, MARGIN + 12 * page.scale, 11 * page.scale)
        top = MARGIN + LATER_TITLE * page.scale
    else:
        _title(sheet, chart, page.scale)
        top = MARGIN + TITLE * page.scale
    heights = [system_height(system, chart) * layout.scale for system in systems]
    spare = page.top - top - sum(heights)
    gap = min(_MOST_SPREAD * layout.scale, spare / len(systems))
    for system, height in zip(systems, heights, strict=True):
        draw_system(sheet, chart, layout, system, SystemPlace(MARGIN, top))
        top += height + gap
    draw_legend(sheet, page.legend, page.top, page.scale)
    return sheet


def _title(sheet: Sheet, chart: Chart, scale: float) -> None:
    """Title in the middle, tempo on the left and the maker on the right, as on a printed part."""
    _centred(sheet, chart.title, MARGIN + 20 * scale, 22 * scale)
    y, size = MARGIN + 42 * scale, 10.5 * scale
    left, right, room = MARGIN, sheet.width - MARGIN, sheet.width - 2 * MARGIN
    draw_tempo(sheet, chart.beat, chart.tempo, left, y, size)
    facts = [*([chart.key] if chart.key else []), chart.time, words.bars_and_length(chart.bars, chart.length)]
    left += tempo_width(chart.tempo, size)
    maker = min(room_for(chart.by, size), room * 0.3) + 1.6 * size if chart.by else 0
    _facts(sheet, facts, left, y, size, room=right - maker - left)
    _text(sheet, chart.by, right, y, size, anchor="end", room=room * 0.3)


def _facts(sheet: Sheet, facts: list[str], x: float, y: float, size: float, *, room: float) -> None:
    """Key, time and length, closer together where there is little room."""
    apart = next((gap for gap in _APART if room_for(gap.join(facts), size, "italic") <= room), _APART[-1])
    _text(sheet, apart.join(facts), x, y, size, style="italic", room=room)


def _centred(sheet: Sheet, text: str, y: float, size: float) -> None:
    _text(sheet, text, sheet.width / 2, y, size, anchor="middle", room=sheet.width - 2 * MARGIN)


def _text(  # noqa: PLR0913 - a text and all there is to say of its place
    sheet: Sheet,
    text: str,
    x: float,
    y: float,
    size: float,
    *,
    room: float,
    anchor: Anchor = "start",
    style: Style = "roman",
) -> None:
    """Write a text, shortened to the room there is."""
    short = shortened(text, room, size, style)
    if short:
        sheet.items.append(Text(x, y, short, size, anchor, style, text if short != text else ""))


def draw_legend(sheet: Sheet, legend: Legend, top: float, scale: float) -> None:
    """Draw what the patterns and marks mean, below a place."""
    for number, entries in enumerate(legend, start=1):
        x, y = (sheet.width - _legend_width(entries) * scale) / 2, top + (LEGEND * number + 1) * scale
        for kind, name in entries:
            draw_swatch(sheet, kind, x, y - 2.6 * scale, scale)
            sheet.items.append(Text(x + (_SWATCH + 4) * scale, y, name, _LEGEND_SIZE * scale))
            x += (_SWATCH + 4 + room_for(name, _LEGEND_SIZE) + _LEGEND_GAP) * scale
