"""The chart: whole, harmless, on its paper, and as a person has looked at it."""

from __future__ import annotations

import random
from xml.etree import ElementTree as ET

import pytest

from mixer.pages.chart import Beat, Chart, ChartLayer, ChartSection
from mixer.pages.drawing import Shape, Strokes, Text
from mixer.pages.engrave import MARGIN, engrave
from mixer.pages.lettering import clean, clusters, room_for, shortened, width_of
from mixer.pages.svg import as_svg
from mixer.pages.systems import broken
from tests.pages.charts import APPROVED, DRAWN, EVIL, FAMILY, LONG, ferry, hostile, jig

SVG = "{http://www.w3.org/2000/svg}"


def any_chart(layers, sections, bars, name="a name"):
    choice = random.Random(layers * 1000 + sections * 10 + bars)  # noqa: S311 - any bars will do, the same each time
    roles = ("drums", "bass", "harmony", "melody", "percussion", "voice", "background")
    parts = tuple(ChartSection(chr(65 + at % 26), name, 1 + at * bars, bars, name) for at in range(sections))
    last = sections * bars
    voices = []
    for number in range(layers):
        first = choice.randint(1, last)
        voices.append(ChartLayer(f"{name} {number}", choice.choice(roles), ((first, choice.randint(first, last)),)))
    energy = tuple(choice.random() for _ in range(last))
    return Chart(name, name, "96", "A minor", "4/4", Beat(), 4, 2.5, "1:00", parts, tuple(voices), energy)


@pytest.mark.parametrize("name", DRAWN)
def test_charts_are_as_a_person_has_looked_at_them(name):
    """After a change: `python -m tests.pages.charts`, then look at every picture."""
    assert DRAWN[name]() == (APPROVED / name).read_text(encoding="utf-8")


@pytest.mark.parametrize("draw", DRAWN.values(), ids=DRAWN)
def test_every_svg_is_well_formed_and_holds_nothing_but_a_picture(draw):
    root = ET.fromstring(draw())  # noqa: S314 - our own text
    assert {each.tag.removeprefix(SVG) for each in root.iter()} <= {"svg", "g", "path", "rect", "text", "title", "desc"}
    names = {name for each in root.iter() for name in each.attrib}
    assert not any(name.startswith("on") or "href" in name or name == "style" for name in names)


def test_strangers_texts_are_whole_and_only_text():
    root = ET.fromstring(as_svg(engrave(hostile()), hostile().title, EVIL))  # noqa: S314 - our own text
    assert root.findtext(f"{SVG}desc") == clean(EVIL)
    told = {text for each in root.iter() for text in each.itertext()}
    for whole in (clean(EVIL), clean(LONG), FAMILY * 8, FAMILY * 9, clean("فانوس " * 9)):
        assert any(whole in text for text in told), whole
    assert clean(EVIL) == "</text><script>alert(1)</script>&\"'[31m"
    assert clean(" two\n\t words\u2028") == "two words"


def test_emoji_are_not_cut_in_two():
    assert clusters(FAMILY + "\U0001f469\U0001f3fd\U0001f1eb\U0001f1f7e\u0301") == [
        FAMILY,
        "\U0001f469\U0001f3fd",
        "\U0001f1eb\U0001f1f7",
        "e\u0301",
    ]
    short = shortened(FAMILY * 8, 60, 10)
    assert short.endswith("…")
    assert set(clusters(short[:-1])) == {FAMILY}


@pytest.mark.parametrize("text", ["short", LONG, FAMILY * 20, "港の夜" * 30])
def test_what_is_shortened_has_room(text):
    for room in (0, 5, 40, 400):
        assert room_for(shortened(text, room, 11), 11) <= room


@pytest.mark.parametrize(
    ("layers", "sections", "bars"), [(1, 1, 1), (1, 40, 16), (40, 3, 8), (12, 9, 5), (3, 2, 64), (60, 60, 8), (5, 1, 7)]
)
@pytest.mark.parametrize("large", [False, True])
def test_all_stands_on_the_paper(layers, sections, bars, large):
    sheets = engrave(any_chart(layers, sections, bars, "a rather long name"), large=large)
    assert large or len(sheets) == 1
    bars_shown = [place.bar for sheet in sheets for place in sheet.places]
    assert bars_shown == list(range(1, sections * bars + 1))
    for sheet in sheets:
        # A4 is 210 mm x 297 mm (ISO 216).
        assert sorted((sheet.width, sheet.height)) == pytest.approx([210 / 25.4 * 72, 297 / 25.4 * 72], abs=0.01)
        for x, y in _corners(sheet):
            assert MARGIN / 2 <= x <= sheet.width - MARGIN / 2
            assert MARGIN / 2 <= y <= sheet.height - MARGIN / 2


def _corners(sheet):
    for item in sheet.items:
        if isinstance(item, Strokes):
            yield from (point for line in item.lines for point in line)
        elif isinstance(item, Shape):
            yield from item.points
        else:
            wide = width_of(item.text, item.size, item.style)
            left = item.x - {"start": 0, "middle": wide / 2, "end": wide}[item.anchor]
            yield from ((left, item.y - item.size * 0.7), (left + wide, item.y))


def test_letter_is_letter():
    (sheet,) = engrave(ferry(), "letter")
    assert sorted((sheet.width, sheet.height)) == [8.5 * 72, 11 * 72]


def test_rests_are_counted_and_end_where_a_section_begins():
    """Bars that rest and bars that sound are all the bars there are; rests break at rehearsal letters (common
    practice in printed parts, no source)."""
    (sheet,) = engrave(ferry())
    counts = [item for item in sheet.items if isinstance(item, Text) and item.style == "bold" and item.text.isdigit()]
    rows = sorted({round(item.y, 1) for item in counts})
    voice = [int(item.text) for item in counts if round(item.y, 1) == rows[0]]
    assert voice == [4, 8, 8]  # in the first system: intro, verse and chorus, each by itself
    assert sum(int(item.text) for item in counts) == _resting(ferry()) - 1  # one bar alone is a whole rest, uncounted


def _resting(chart):
    return sum(not layer.sounds(bar) for layer in chart.layers for bar in range(1, chart.bars + 1))


@pytest.mark.parametrize("most", [4, 5, 8, 13, 64])
def test_no_bar_is_lost_where_systems_break(most):
    sections = tuple(ChartSection("A", "x", first, bars) for first, bars in ((1, 3), (4, 17), (21, 1), (22, 40)))
    systems = broken(sections, most)
    bars = [piece.first_bar + at for system in systems for piece in system.pieces for at in range(piece.bars)]
    assert bars == list(range(1, 62))
    assert max(system.bars for system in systems) <= most
    assert sum(piece.begins for system in systems for piece in system.pieces) == 4


def test_layers_are_grouped_by_role_in_the_order_of_a_score():
    assert [role for role, _ in ferry().groups] == [
        "voice",
        "melody",
        "harmony",
        "background",
        "bass",
        "percussion",
        "drums",
    ]


@pytest.mark.parametrize("chart", [ferry(), jig(), any_chart(12, 8, 8)], ids=["ferry", "jig", "twelve layers"])
def test_large_print_is_large(chart):
    """Names of layers and sections in at least 16 points (large print, common practice, no source)."""
    sheets = engrave(chart, large=True)
    names = {layer.name for layer in chart.layers} | {section.name for section in chart.sections}
    names -= {role for role, _ in chart.groups}  # which stand in the legend too
    sizes = [item.size for sheet in sheets for item in sheet.items if isinstance(item, Text) and item.text in names]
    assert min(sizes) >= 16
    assert min(item.size for sheet in sheets for item in sheet.items if isinstance(item, Text)) >= 11


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("large", [False, True])
def test_key_time_and_length_are_whole(paper, large):
    told = " ".join(item.text for item in engrave(ferry(), paper, large=large)[0].items if isinstance(item, Text))
    assert all(fact in told for fact in ("= 96", "A minor", "4/4", "40 bars, 1:40", "Table 2"))


def test_the_line_of_energy_is_higher_where_there_is_more():
    (sheet,) = engrave(ferry())
    lines = [item.lines[0] for item in sheet.items if isinstance(item, Strokes) and item.round_ends]
    assert len(lines) == 2
    heights = [line[2 * at][1] for line in lines for at in range(len(line) // 2)]
    first = heights[:20]
    assert sorted(range(20), key=lambda at: -first[at]) == sorted(range(20), key=lambda at: ferry().energy[at])
    assert not any(isinstance(item, Strokes) and item.round_ends for sheet in engrave(jig()) for item in sheet.items)
