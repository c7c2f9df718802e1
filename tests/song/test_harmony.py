"""Where chords of layers clash, against chords written down by hand."""

from __future__ import annotations

import pytest

from mixer.loops.library import open_library
from mixer.recipe.reader import read
from mixer.song.harmony import clashes
from mixer.song.plan import plan
from tests.sounds import Made, loop_folder

CHORDS = {"piano": "Am | F | C | G", "guitar": "Am | F | F | G", "high": "Cm | Ab | Ab | Bb"}


@pytest.fixture(scope="module")
def library(tmp_path_factory):
    folder = loop_folder(
        tmp_path_factory.mktemp("harmony") / "loops",
        Made("piano", role="harmony", key="A minor"),
        Made("guitar", role="harmony", key="A minor"),
        Made("high", role="melody", key="C minor"),
        Made("ticks"),
    )
    catalog = folder / "loops.yaml"
    text = catalog.read_text(encoding="utf-8")
    for name, chords in CHORDS.items():
        text = text.replace(f"  file: {name}.wav\n", f"  file: {name}.wav\n  chords: {chords}\n")
    catalog.write_text(text, encoding="utf-8")
    return open_library(folder.parent)


def found(library, sections, layers="piano, guitar"):
    lines = "".join(f"  {name}: {name}\n" for name in layers.split(", "))
    text = f"tempo: 96\nkey: A minor\nlayers:\n{lines}sections:\n{sections}"
    recipe = read(text, library.names()).recipe
    return [(one.new.layer.name, one.there, one.section, one.bars, one.pairs) for one in clashes(plan(recipe, library))]


@pytest.mark.parametrize(
    ("sections", "told"),
    [
        ("  - verse, 4 bars: everything\n", [((3,), ("F over C",))]),
        ("  - verse, 8 bars: everything\n", [((3, 7), ("F over C",))]),
        ("  - verse, 8 bars: piano, guitar 5-8\n", [((7,), ("F over C",))]),
        ("  - verse, 4 bars: piano, guitar 1-2\n", []),
        ("  - verse, 2 bars: everything\n", []),
        ("  - verse, 4 bars: everything\n  - verse, 4 bars: everything\n", [((3,), ("F over C",))]),
    ],
    ids=["once", "twice", "from bar 5", "not there", "too short", "said once"],
)
def test_clashes_are_found_in_the_bars_in_which_both_are_heard(library, sections, told):
    assert [(bars, pairs) for _, _, _, bars, pairs in found(library, sections)] == told


def test_what_clashes_with_two_in_the_same_way_is_told_once(library):
    section = "  - verse, 4 bars: everything\n"
    # guitar and high (moved down three semitones) both have F where the piano has C
    assert found(library, section, "guitar, high, piano") == [
        ("piano", ("guitar", "high"), "verse", (3,), ("C over F",))
    ]


def test_what_has_no_chords_clashes_with_nothing(library):
    assert found(library, "  - verse, 4 bars: everything\n", "piano, ticks") == []
