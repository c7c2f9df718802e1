"""Songs one below the other: bars of one width, what differs boxed with its number, a thick line at the margin."""

from __future__ import annotations

from mixer.pages.chart import Beat, Chart, ChartLayer, ChartSection
from mixer.pages.drawing import Strokes, Text
from mixer.pages.engrave import MARGIN
from mixer.pages.together import WIDTH, Revision, engrave_together


def _chart(*bars: int, names=("bass", "a very long name")) -> Chart:
    sections, first = [], 1
    for number, count in enumerate(bars):
        sections.append(ChartSection(chr(65 + number), f"part {number}", first, count))
        first += count
    layers = tuple(
        ChartLayer(name, role, ((1, first - 1),)) for name, role in zip(names, ("bass", "drums"), strict=False)
    )
    return Chart("Song", "", "96", "", "4/4", Beat(), 4, 2.5, "1:00", tuple(sections), layers)


def _numbers(sheet):
    return [item.text for item in sheet.items if isinstance(item, Text) and item.style == "bold" and item.size == 8.5]


def _change_bars(sheet):
    return [i for i in sheet.items if isinstance(i, Strokes) and all(x < MARGIN for line in i.lines for x, _ in line)]


def test_bars_are_equally_wide_in_all_and_all_of_them_are_there():
    charts = [_chart(4, 8), _chart(8, 16, 40, 8, names=("b", "d"))]
    sheets = engrave_together(charts, [(), ()])
    assert len({round(place.width, 6) for sheet in sheets for place in sheet.places}) == 1
    assert [[place.bar for place in sheet.places] for sheet in sheets] == [list(range(1, 13)), list(range(1, 73))]
    for sheet in sheets:
        assert all(place.x + place.width <= WIDTH - MARGIN + 0.01 for place in sheet.places)
        assert all(0 < place.y < place.y + place.height < sheet.height for place in sheet.places)
        assert not _change_bars(sheet)


def test_what_differs_is_boxed_where_it_is():
    revisions = [Revision(1, 5, 6, "bass"), Revision(3, 5, 6, "bass"), Revision(2, 1, 4)]
    sheet, plain = engrave_together([_chart(4, 8), _chart(4, 8)], [revisions, [Revision(4, 1, 2, "not here")]])
    assert _numbers(sheet) == ["1, 3", "2"]
    assert len(_change_bars(sheet)) == 1
    assert not _numbers(plain)
    assert not _change_bars(plain)
    (numbered,) = [item for item in sheet.items if isinstance(item, Text) and item.text == "1, 3"]
    bar_6 = sheet.places[5]
    assert bar_6.x < numbered.x <= bar_6.x + bar_6.width


def test_a_box_over_the_end_of_a_line_goes_on_in_the_next():
    (sheet,) = engrave_together([_chart(*[16] * 8)], [[Revision(7, 1, 128, "bass")]])
    lines = {round(place.y) for place in sheet.places}
    assert len(lines) > 1
    assert _numbers(sheet) == ["7"] * len(lines)
    assert len(_change_bars(sheet)) == len(lines)
