"""Charts to draw: a whole song, a small one in compound time, and one whose texts are meant to do harm."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from mixer.pages.chart import Beat, Chart, ChartLayer, ChartSection, Hairpin
from mixer.pages.engrave import engrave
from mixer.pages.svg import as_svg
from mixer.song.charted import chart_of
from mixer.song.opened import open_recipe

APPROVED = Path(__file__).parent / "approved"
RECIPES = Path(__file__).parents[2] / "recipes"
EVIL = "</text><script>alert(1)</script>&\"'\x00\x1b[31m\u202e"
FAMILY = "\U0001f469\u200d\U0001f469\u200d\U0001f467"
LONG = "an endless name " * 13


def ferry() -> Chart:
    sections = (
        ChartSection("A", "intro", 1, 4, "nobody is there yet"),
        ChartSection("B", "verse", 5, 8),
        ChartSection("C", "chorus", 13, 8, "the ferry is at the quay"),
        ChartSection("D", "verse 2", 21, 8),
        ChartSection("C", "chorus", 29, 8),
        ChartSection("E", "outro", 37, 4),
    )
    layers = (
        ChartLayer("rain", "background", ((1, 8), (37, 40)), (), ((1, "p"),)),
        ChartLayer("piano", "harmony", ((1, 40),), (Hairpin(39, 41, up=False),), ((1, "mp"), (13, "f"))),
        ChartLayer("drums", "drums", ((5, 12), (14, 28)), (), ((5, "mf"),)),
        ChartLayer("big drums", "drums", ((13, 20), (29, 36)), (), ((13, "ff"),)),
        ChartLayer("bass", "bass", ((9, 20), (29, 36)), (), ((9, "mf"),)),
        ChartLayer("shaker", "percussion", ((13, 20), (25, 36)), (Hairpin(25, 27, up=True),), ((13, "p"),)),
        ChartLayer("gulls", "melody", ((13, 20), (29, 38)), (), ((13, "mf"),)),
        ChartLayer("Mara", "voice", ((29, 36),), (), ((29, "mf"),)),
    )
    energy = (*[0.1] * 4, *[0.35] * 4, *[0.45] * 4, *[0.9] * 8, *[0.4] * 8, *[1.0] * 8, 0.2, 0.2, 0.1, 0.0)
    return Chart("Harbour Lights", "Table 2", "96", "A minor", "4/4", Beat(), 4, 2.5, "1:40", sections, layers, energy)


def jig() -> Chart:
    sections = (ChartSection("A", "round", 1, 6), ChartSection("A", "round", 7, 6))
    layers = (ChartLayer("fiddle", "melody", ((1, 12),)), ChartLayer("drum", "percussion", ((2, 5), (7, 12))))
    return Chart("Jig", "", "110", "", "6/8", Beat(4, dotted=True), 2, 1.09, "0:13", sections, layers)


def hostile() -> Chart:
    sections = (
        ChartSection("A", EVIL, 1, 2, EVIL),
        ChartSection("AA", FAMILY * 9, 3, 1, "مرحبا بالعالم " * 12),
        ChartSection("B", LONG, 4, 3, LONG),
    )
    layers = (
        ChartLayer(EVIL, "drums", ((1, 2),)),
        ChartLayer("فانوس " * 9, "harmony", ((2, 3),)),
        ChartLayer(FAMILY * 8, "voice", ((1, 6),)),
        ChartLayer(LONG, "bass", ()),
    )
    return Chart(LONG + EVIL, EVIL + FAMILY, "96", "A minor", "4/4", Beat(), 4, 2.5, "0:15", sections, layers)


@cache
def of_recipe(name: str) -> Chart:
    """One of the recipes that come with the program, without its energy: that needs the loops' sound."""
    plan = open_recipe(RECIPES / f"{name}.yaml").plan
    assert plan is not None
    return chart_of(plan)


DRAWN = {
    "ferry.svg": lambda: as_svg(engrave(ferry()), "Harbour Lights"),
    "ferry-large-letter.svg": lambda: as_svg(engrave(ferry(), "letter", large=True), "Harbour Lights", places=True),
    "jig.svg": lambda: as_svg(engrave(jig()), "Jig"),
    "hostile.svg": lambda: as_svg(engrave(hostile()), hostile().title, EVIL),
    "all-there-is.svg": lambda: as_svg(engrave(of_recipe("all-there-is")), "All There Is"),
    "nuits-du-port.svg": lambda: as_svg(engrave(of_recipe("nuits-du-port"), "letter"), "Nuits du port"),
}


if __name__ == "__main__":
    # After a change: run as `python -m tests.pages.charts`, and look at every picture.
    APPROVED.mkdir(exist_ok=True)
    for name, draw in DRAWN.items():
        (APPROVED / name).write_text(draw(), encoding="utf-8", newline="\n")
