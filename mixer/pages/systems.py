"""A song broken into systems (lines of music) and these onto sheets, as large as one sheet allows.

A bar is as wide in every system, so that lengths can be compared by eye. Systems begin where sections begin; only a
section that is longer than a line is broken, after a number of bars that can be counted (4, 8, 12, ...).
"""

from __future__ import annotations

from collections.abc import Sequence

from mixer.pages.chart import Chart, ChartSection
from mixer.pages.lettering import room_for
from mixer.record import record

# All in points, at scale 1.
NAME_SIZE = 10.5
HEAD = 43.0  # rehearsal letters and bar numbers above the first layer
MEANT = 12.0  # a line for what sections are meant to be
ROW = 24.0  # from one layer to the next
FOOT = 20.0  # below the last layer
ENERGY = 40.0
MOST_NAME = 92.0
ROLE_COLUMN = 32.0
BEFORE_STAFF = 16.0
LEAST_BAR = 11.0
MOST_FOR_NAMES = 17.0
"""Bars get wider than the least for the sake of sections' names, but not beyond this."""
BESIDE_NAME = 24.0
WIDEST_BAR = 56.0
COMFORTABLE_BAR = 30.0
LARGEST = 1.55
LARGE_PRINT = 1.6
"""Names in 17 points and the smallest words in 12: large print begins at 16 points (common practice, no source)."""


@record
class Piece:
    """A section in one system; `begins` is False where it goes on from the system before."""

    section: ChartSection
    first_bar: int
    bars: int
    begins: bool


@record
class System:
    """One line of music."""

    pieces: tuple[Piece, ...]

    @property
    def first_bar(self) -> int:
        """Its first bar."""
        return self.pieces[0].first_bar

    @property
    def bars(self) -> int:
        """How many bars it has."""
        return sum(piece.bars for piece in self.pieces)

    @property
    def meant(self) -> bool:
        """Whether it needs a line for what its sections are meant to be."""
        return any(piece.begins and piece.section.meant for piece in self.pieces)


@record
class Layout:
    """A song's systems on sheets, and all measures that are the same on each.

    Parameters
    ----------
    sheets : systems of each
    scale : of all lines and letters; 1 has names in 10.5 points
    names : room for the layers' names
    left : where staffs begin, from the left margin
    bar_width : of every bar
    """

    sheets: tuple[tuple[System, ...], ...]
    scale: float
    names: float
    left: float
    bar_width: float

    @property
    def longest(self) -> int:
        """Bars of the longest system."""
        return max(system.bars for sheet in self.sheets for system in sheet)


def broken(sections: tuple[ChartSection, ...], most_bars: int) -> tuple[System, ...]:
    """Break a song into systems of at most so many bars."""
    systems: list[list[Piece]] = [[]]
    room = most_bars
    for section in sections:
        if section.bars > room and systems[-1]:
            systems.append([])
            room = most_bars
        done = 0
        while done < section.bars:
            if room <= 0:
                systems.append([])
                room = most_bars
            count = min(section.bars - done, _countable(room))
            systems[-1].append(Piece(section, section.first_bar + done, count, done == 0))
            done, room = done + count, room - count if done + count == section.bars else 0
    return tuple(System(tuple(pieces)) for pieces in systems if pieces)


def _countable(room: int) -> int:
    """The largest multiple of four bars that there is room for."""
    return room - room % 4 if room >= 4 else room


def system_height(system: System, chart: Chart) -> float:
    """How high a system is at scale 1, with the room below it."""
    rows = (len(chart.layers) - 1) * ROW
    return HEAD + (MEANT if system.meant else 0) + rows + FOOT + (ENERGY if chart.energy else 0)


def best_layout(chart: Chart, width: float, height: float) -> Layout:
    """The layout with the largest letters on one sheet of so much room, in points."""
    return max((_on_one_sheet(chart, each, width, height) for each in _ways(chart)), key=_fitness)


def layouts_together(charts: Sequence[Chart], width: float) -> list[Layout]:
    """The layouts of songs that stand one below the other: bars as wide in all, and as few systems as that takes."""
    names, least = max(map(_names, charts)), max(map(_least_bar, charts))
    left = ROLE_COLUMN + names + BEFORE_STAFF
    most = max(4, int((width - left) / least))
    broken_up = [
        min((broken(chart.sections, bars) for bars in range(4, most + 1)), key=lambda each: (len(each), _longest(each)))
        for chart in charts
    ]
    bar_width = min(WIDEST_BAR, (width - left) / max(map(_longest, broken_up)))
    return [Layout((systems,), 1.0, names, left, bar_width) for systems in broken_up]


def _longest(systems: Sequence[System]) -> int:
    return max(system.bars for system in systems)


def large_layout(chart: Chart, width: float, height: float) -> Layout:
    """The layout in large print, on as many sheets as that takes."""
    on_one = best_layout(chart, width, height)
    if on_one.scale >= LARGE_PRINT:
        return on_one
    highest = max(system_height(system, chart) for system in broken(chart.sections, 4))
    scale = min(LARGE_PRINT, height / highest, width / (_left(chart) + 4 * _least_bar(chart)))
    room = int((width - _left(chart) * scale) / (_least_bar(chart) * scale))
    return _on_sheets(chart, broken(chart.sections, max(4, room - room % 4)), scale, width, height)


def _ways(chart: Chart) -> list[tuple[System, ...]]:
    """All ways to break a song that differ."""
    ways = {broken(chart.sections, most) for most in range(4, max(8, min(chart.bars, 128)) + 1)}
    return sorted(ways, key=len)


def _on_one_sheet(chart: Chart, systems: tuple[System, ...], width: float, height: float) -> Layout:
    longest = max(system.bars for system in systems)
    needed = sum(system_height(system, chart) for system in systems)
    scale = min(LARGEST, height / needed, width / (_left(chart) + longest * _least_bar(chart)))
    return _measured(chart, (systems,), scale, width)


def _on_sheets(chart: Chart, systems: tuple[System, ...], scale: float, width: float, height: float) -> Layout:
    sheets: list[list[System]] = [[]]
    used = 0.0
    for system in systems:
        needed = system_height(system, chart) * scale
        if sheets[-1] and used + needed > height + 0.01:
            sheets.append([])
            used = 0.0
        sheets[-1].append(system)
        used += needed
    return _measured(chart, tuple(map(tuple, sheets)), scale, width)


def _measured(chart: Chart, sheets: tuple[tuple[System, ...], ...], scale: float, width: float) -> Layout:
    longest = max(system.bars for sheet in sheets for system in sheet)
    left = _left(chart) * scale
    bar_width = min(WIDEST_BAR * scale, (width - left) / longest)
    return Layout(sheets, scale, _names(chart) * scale, left, bar_width)


def _fitness(layout: Layout) -> tuple[float, float]:
    """Large letters first, but not at the price of a last line with hardly anything on it."""
    shortest = min(system.bars for sheet in layout.sheets for system in sheet)
    even = 0.8 + 0.2 * shortest / layout.longest
    return round(layout.scale * even, 2), -abs(layout.bar_width / layout.scale - COMFORTABLE_BAR)


def _names(chart: Chart) -> float:
    return min(MOST_NAME, max((room_for(layer.name, NAME_SIZE) for layer in chart.layers), default=0.0))


def _left(chart: Chart) -> float:
    return ROLE_COLUMN + _names(chart) + BEFORE_STAFF


def _least_bar(chart: Chart) -> float:
    needed = [(room_for(each.name, 11) + BESIDE_NAME) / each.bars for each in chart.sections]
    return min(MOST_FOR_NAMES, max([LEAST_BAR, *needed]))
