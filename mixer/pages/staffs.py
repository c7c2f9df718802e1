"""One system of a chart: its bar lines, its letters and names, and a staff line for each layer."""

from __future__ import annotations

from collections.abc import Iterator

from mixer.pages.chart import Chart, ChartLayer, ChartSection
from mixer.pages.drawing import Anchor, BarPlace, Sheet, Style, Text
from mixer.pages.hatching import Box, fill
from mixer.pages.lettering import room_for, shortened
from mixer.pages.systems import BEFORE_STAFF, ENERGY, FOOT, HEAD, MEANT, NAME_SIZE, ROW, Layout, System
from mixer.record import record
from mixer.words.english import chart as words

# All in points, at scale 1.
_BAR_HIGH = 8.0
_HALF = _BAR_HIGH / 2
_OVER = 7.0  # how far bar lines stand out above the first and below the last layer
_WEDGE = 5.5
_BOX = 15.0
_DOUBLE = 2.6


@record
class SystemPlace:
    """Where a system stands on its sheet: its left edge and its top."""

    x: float
    y: float


class SystemDrawer:
    """Draws one system; knows where its bars and rows are."""

    def __init__(self, sheet: Sheet, chart: Chart, layout: Layout, system: System, place: SystemPlace) -> None:
        self.sheet, self.chart, self.system = sheet, chart, system
        self.scale, self.bar_width = layout.scale, layout.bar_width
        self.left = place.x
        self.staff = place.x + layout.left
        self.names = layout.names
        self.top = place.y + (HEAD + (MEANT if system.meant else 0)) * self.scale
        self.bottom = self.top + (len(chart.layers) - 1) * ROW * self.scale
        self.first = system.first_bar
        self.end = system.first_bar + system.bars  # the bar after the last

    def x(self, bar: float) -> float:
        """Where a bar begins."""
        return self.staff + (bar - self.first) * self.bar_width

    def text(
        self,
        text: str,
        x: float,
        y: float,
        size: float,
        *,
        style: Style = "roman",
        anchor: Anchor = "start",
        room: float | None = None,
    ) -> None:
        """Write a text whose size is given at scale 1, shortened to the room there is."""
        size *= self.scale
        short = text if room is None else shortened(text, room, size, style)
        if short:
            self.sheet.items.append(Text(x, y, short, size, anchor, style, text if short != text else ""))


def draw_system(sheet: Sheet, chart: Chart, layout: Layout, system: System, place: SystemPlace) -> SystemDrawer:
    """Draw one system with its top left corner at a place; give what knows where its bars and rows are."""
    drawer = SystemDrawer(sheet, chart, layout, system, place)
    _bar_lines(drawer)
    _heads(drawer)
    row = 0
    for role, layers in chart.groups:
        _group(drawer, role, row, len(layers))
        for layer in layers:
            _layer(drawer, layer, drawer.top + row * ROW * drawer.scale)
            row += 1
    _last_line(drawer)
    if chart.energy:
        _energy(drawer)
    high = drawer.bottom - drawer.top + 2 * _OVER * drawer.scale
    for bar in range(drawer.first, drawer.end):
        y = drawer.top - _OVER * drawer.scale
        sheet.places.append(BarPlace(bar, drawer.x(bar), y, drawer.bar_width, high))
    return drawer


def _bar_lines(drawer: SystemDrawer) -> None:
    """Thin ones between bars, double ones where a section begins, a thick one at the end of the song."""
    sheet, scale = drawer.sheet, drawer.scale
    top, bottom = drawer.top - _OVER * scale, drawer.bottom + _OVER * scale
    begins = {piece.first_bar for piece in drawer.system.pieces if piece.begins}
    thin = [((drawer.x(bar), top), (drawer.x(bar), bottom)) for bar in range(drawer.first + 1, drawer.end)]
    sheet.strokes(thin, 0.3 * scale)
    sheet.line(drawer.staff, top, drawer.staff, bottom, 1.0 * scale)
    for bar in begins - {drawer.first}:
        x = drawer.x(bar)
        sheet.line(x, top, x, bottom, 1.1 * scale)
        sheet.line(x - _DOUBLE * scale, top, x - _DOUBLE * scale, bottom, 0.6 * scale)


def _last_line(drawer: SystemDrawer) -> None:
    """Drawn over the layers, so that the song's end is seen."""
    sheet, scale = drawer.sheet, drawer.scale
    top, bottom = drawer.top - _OVER * scale, drawer.bottom + _OVER * scale
    end = drawer.x(drawer.end)
    if drawer.end > drawer.chart.bars:
        sheet.line(end - 4.4 * scale, top, end - 4.4 * scale, bottom, 0.6 * scale)
        sheet.line(end - 0.9 * scale, top, end - 0.9 * scale, bottom, 2.6 * scale)  # covers the layers' ends
    else:
        sheet.line(end, top, end, bottom, 0.6 * scale)


def _heads(drawer: SystemDrawer) -> None:
    scale = drawer.scale
    base = drawer.top - 33 * scale - (MEANT * scale if drawer.system.meant else 0)
    for piece in drawer.system.pieces:
        x, room = drawer.x(piece.first_bar), piece.bars * drawer.bar_width
        if piece.begins:
            _letter(drawer, piece.section, x, base, room)
            _meant(drawer, piece.section, x, base + 14 * scale)
        step = 4 if 4 * drawer.bar_width >= 22 * scale else 8
        for bar in range(piece.first_bar, piece.first_bar + piece.bars, step):
            if bar == piece.first_bar or piece.first_bar + piece.bars - bar > 1:
                drawer.text(str(bar), drawer.x(bar) + 1.5 * scale, drawer.top - 14 * scale, 7.5, style="italic")


def _letter(drawer: SystemDrawer, section: ChartSection, x: float, base: float, room: float) -> None:
    """The boxed letter with the section's name."""
    scale = drawer.scale
    wide = max(_BOX, room_for(section.letter, 11, "bold") + 6) * scale
    drawer.sheet.frame(x, base - 11.2 * scale, wide, _BOX * scale, 1.2 * scale)
    drawer.text(section.letter, x + wide / 2, base, 11, style="bold", anchor="middle")
    drawer.text(section.name, x + wide + 4 * scale, base, 11, room=room - wide - 8 * scale)


def _meant(drawer: SystemDrawer, section: ChartSection, x: float, y: float) -> None:
    """What is meant, in its maker's words; it may go on above sections of which nothing is said."""
    if section.meant:
        sections = [piece.section for piece in drawer.system.pieces if piece.begins and piece.section.meant]
        after = [drawer.x(other.first_bar) for other in sections if other.first_bar > section.first_bar]
        room = min([*after, drawer.x(drawer.end)]) - x - 6 * drawer.scale
        drawer.text(words.meant(section.meant), x + 1.5 * drawer.scale, y, 8, style="italic", room=room)


def _group(drawer: SystemDrawer, role: str, row: int, count: int) -> None:
    """The role's short name, and a bracket that holds its layers together."""
    scale = drawer.scale
    top = drawer.top + row * ROW * scale
    bottom = top + (count - 1) * ROW * scale
    drawer.text(words.ROLE_SHORT[role], drawer.left, (top + bottom) / 2 + 3 * scale, 8.5, style="italic")
    if count > 1:
        x, out = drawer.left + 28 * scale, 5 * scale
        hooked = ((x + 3 * scale, top - out), (x, top - out), (x, bottom + out), (x + 3 * scale, bottom + out))
        drawer.sheet.strokes([hooked], 1.1 * scale)


def _layer(drawer: SystemDrawer, layer: ChartLayer, y: float) -> None:
    scale = drawer.scale
    drawer.text(
        layer.name,
        drawer.staff - BEFORE_STAFF * scale * 0.75,
        y + 3.4 * scale,
        NAME_SIZE,
        anchor="end",
        room=drawer.names + 0.5,
    )
    drawer.sheet.line(drawer.staff, y, drawer.x(drawer.end), y, 0.5 * scale)
    for first, last, sounding in _stretches(drawer, layer):
        if sounding:
            _sounding(drawer, layer, first, last, y)
        else:
            _rest(drawer, first, last, y, comes_in=layer.sounds(last + 1))
    _hairpins(drawer, layer, y)
    for bar, level in layer.levels:
        if drawer.first <= bar < drawer.end:
            drawer.text(level, drawer.x(bar) + 1.5 * scale, y + 12.5 * scale, 9.5, style="bold italic")


def _stretches(drawer: SystemDrawer, layer: ChartLayer) -> Iterator[tuple[int, int, bool]]:
    """Bars that sound or rest together; rests end where a section begins, as in a printed part."""
    breaks = {piece.first_bar for piece in drawer.system.pieces}
    first = drawer.first
    for bar in range(drawer.first, drawer.end):
        sounds = layer.sounds(bar)
        after = bar + 1
        if after == drawer.end or layer.sounds(after) != sounds or (not sounds and after in breaks):
            yield first, bar, sounds
            first = after


def _sounding(drawer: SystemDrawer, layer: ChartLayer, first: int, last: int, y: float) -> None:
    scale, sheet = drawer.scale, drawer.sheet
    half = _HALF * scale
    left, right = drawer.x(first), drawer.x(last + 1)
    fill(sheet, layer.role, Box(left, y - half, right - left, 2 * half, scale))
    sheet.frame(left, y - half, right - left, 2 * half, 0.8 * scale)
    if first > 1 and not layer.sounds(first - 1):
        _wedge(sheet, left, y, scale)
    if last < drawer.chart.bars and not layer.sounds(last + 1):
        _cap(sheet, right, y, scale)


def _wedge(sheet: Sheet, x: float, y: float, scale: float) -> None:
    """A layer comes in here."""
    sheet.shape((x - _WEDGE * scale, y - 5.2 * scale), (x - _WEDGE * scale, y + 5.2 * scale), (x, y))


def _cap(sheet: Sheet, x: float, y: float, scale: float) -> None:
    """A layer stops here."""
    sheet.line(x, y - 6.2 * scale, x, y + 6.2 * scale, 2.2 * scale)


def _rest(drawer: SystemDrawer, first: int, last: int, y: float, *, comes_in: bool) -> None:
    """One bar: a whole rest hanging from the line. Several: a beam between two serifs, and how many above it.

    The wedge of a layer that comes in after it is kept clear.
    """
    scale, sheet, bars = drawer.scale, drawer.sheet, last - first + 1
    left, right = drawer.x(first), drawer.x(last + 1)
    middle = (left + right) / 2
    if bars == 1:
        middle -= _WEDGE * scale / 2 if comes_in else 0
        sheet.box(middle - 3.2 * scale, y, 6.4 * scale, 3 * scale)
        return
    inset = min(0.22 * drawer.bar_width, 9 * scale) + 2 * scale
    _beam(sheet, left + inset, right - max(inset, _WEDGE * scale * 1.6 if comes_in else 0), y, scale)
    drawer.text(str(bars), middle, y - 4.6 * scale, 8.5, style="bold", anchor="middle")


def _beam(sheet: Sheet, left: float, right: float, y: float, scale: float) -> None:
    sheet.line(left, y, right, y, 2.8 * scale)
    for x in (left, right):
        sheet.line(x, y - 4 * scale, x, y + 4 * scale, 0.9 * scale)


def _hairpins(drawer: SystemDrawer, layer: ChartLayer, y: float) -> None:
    """Fades, as wedges of two lines; one that goes over the end of a system is drawn in both."""
    scale = drawer.scale
    for pin in layer.hairpins:
        start, end = max(pin.start, drawer.first), min(pin.end, drawer.end)
        if start >= end:
            continue
        level = any(bar == int(start) and start == bar for bar, _ in layer.levels)
        left, right = drawer.x(start) + (16 if level else 2) * scale, drawer.x(end) - 2 * scale
        opened = [((at - pin.start) / (pin.end - pin.start)) for at in (start, end)]
        wide = [3.4 * scale * (part if pin.up else 1 - part) for part in opened]
        below = y + 9.6 * scale
        lines = [((left, below + side * wide[0]), (right, below + side * wide[1])) for side in (-1, 1)]
        drawer.sheet.strokes(lines, 0.8 * scale)


def _energy(drawer: SystemDrawer) -> None:
    """A line that steps from bar to bar, above a dotted one."""
    scale, sheet, energy = drawer.scale, drawer.sheet, drawer.chart.energy
    base = drawer.bottom + (FOOT + ENERGY - 14) * scale
    high = 22 * scale
    right = drawer.x(drawer.end)
    dots = int((right - drawer.staff) / (3 * scale))
    sheet.strokes(
        [
            ((drawer.staff + k * 3 * scale, base), (drawer.staff + k * 3 * scale + 0.8 * scale, base))
            for k in range(dots + 1)
        ],
        0.6 * scale,
    )
    drawer.text(
        words.ENERGY, drawer.staff - BEFORE_STAFF * scale * 0.75, base - 7 * scale, 9, style="italic", anchor="end"
    )
    points = []
    for bar in range(drawer.first, min(drawer.end, len(energy) + 1)):
        y = base - 1.5 * scale - high * min(1.0, max(0.0, energy[bar - 1]))
        points += [(drawer.x(bar) + 0.12 * drawer.bar_width, y), (drawer.x(bar + 1) - 0.12 * drawer.bar_width, y)]
    sheet.strokes([points], 1.5 * scale, round_ends=True)
    fullest = max(range(len(energy)), key=lambda at: energy[at]) + 1
    if drawer.first <= fullest < drawer.end and max(energy) > min(energy):
        x, y = drawer.x(fullest) + 0.12 * drawer.bar_width, base - high + 8 * scale
        if x + room_for(words.FULLEST, 8, "italic") * scale > right:
            drawer.text(words.FULLEST, right, y, 8, style="italic", anchor="end")
        else:
            drawer.text(words.FULLEST, x, y, 8, style="italic")


def draw_swatch(sheet: Sheet, kind: str, x: float, y: float, scale: float) -> None:
    """A small example of a role's pattern or of a mark, 18 points wide at scale 1, its middle at y."""
    right = x + 18 * scale
    if kind in words.ROLE_SHORT:
        fill(sheet, kind, Box(x, y - 3 * scale, 18 * scale, 6 * scale, scale))
        sheet.frame(x, y - 3 * scale, 18 * scale, 6 * scale, 0.7 * scale)
    elif kind == "rests":
        _beam(sheet, x + 2 * scale, right - 2 * scale, y, scale * 0.8)
    elif kind in ("louder", "softer"):
        point, mouth = (x, right) if kind == "louder" else (right, x)
        sheet.strokes([((mouth, y - 3 * scale), (point, y), (mouth, y + 3 * scale))], 0.8 * scale)
    else:
        half = 9 * scale
        box = (x + half, right) if kind == "enters" else (x, x + half)
        sheet.frame(box[0], y - 3 * scale, box[1] - box[0], 6 * scale, 0.7 * scale)
        (_wedge if kind == "enters" else _cap)(sheet, x + half, y, scale * 0.75)
