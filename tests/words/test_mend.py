"""A line that is shown mended is right: whoever copies it is not told the same again."""

from __future__ import annotations

import pytest

from mixer.recipe.reader import read
from mixer.text.source import decode
from mixer.words.mend import (
    Edit,
    after,
    at_end,
    before_colon,
    dashed,
    indented,
    instead,
    mended,
    named,
    new_line,
    spaced,
)
from mixer.words.problem import Place, Problem
from mixer.words.say import all_in_full, in_full, say
from tests.recipe.cases import FOLDER, KNOWN_LOOPS, read_case

PATHS = sorted((FOLDER / "mistakes").glob("*.md"))


def _reading(text):
    return read(text, KNOWN_LOOPS, "song.yaml").problems


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_what_is_copied_is_not_told_again(path):
    text = decode(read_case(path).raw)[0].replace("\r\n", "\n").replace("\r", "\n").replace("\ufeff", "")
    lines = text.split("\n")
    edits: dict[int, list[Edit]] = {}
    kinds: dict[int, set[str]] = {}
    for problem in _reading(text):
        if edit := say(problem).edit:
            edits.setdefault(problem.place.line, []).append(edit)
            kinds.setdefault(problem.place.line, set()).add(problem.kind)
    copied = {number: mended(lines[number - 1], found) for number, found in edits.items()}
    new = "\n".join(copied.get(number, line) for number, line in enumerate(lines, 1))
    told = {(problem.kind, problem.place.text.rstrip()) for problem in _reading(new)}
    for number, line in copied.items():
        for each in line.split("\n"):
            assert not {(kind, each) for kind in kinds[number]} & told


def _place(text, marked):
    return Place("song.yaml", 4, text.index(marked) + 1, len(marked), text)


@pytest.mark.parametrize(
    ("text", "marked", "mend", "right"),
    [
        ("  drums: tin-rof", "tin-rof", instead("tin-roof"), "  drums: tin-roof"),
        ("tempo = 96", "=", spaced(": "), "tempo: 96"),
        ("sections;", ";", spaced(": "), "sections:"),
        ("tempo 96", "tempo", after(":"), "tempo: 96"),
        ("  x: {loop: y  # note", "{", at_end("}"), "  x: {loop: y}  # note"),
        ("   bars: 8", "bars", indented(4), "    bars: 8"),
        ("  intro, 4 bars: x", "intro", dashed(), "  - intro, 4 bars: x"),
        ("    chorus, 4 bars: x", "chorus", dashed(), "  - chorus, 4 bars: x"),
        ("title: A by: B", "by", new_line(""), "title: A\nby: B"),
        ("  - bridge", "bridge", before_colon(", 8 bars: x"), "  - bridge, 8 bars: x"),
        ("  - bridge, 4 bars:", "bridge", before_colon(": x"), "  - bridge, 4 bars: x"),
        ("  - bridge, 4 bars,", "bridge", before_colon(": x"), "  - bridge, 4 bars: x"),
        ("  - bars: 8", "bars", named("chorus"), "  - name: chorus\n    bars: 8"),
    ],
)
def test_an_edit_changes_what_it_says(text, marked, mend, right):
    assert mended(text, [mend(_place(text, marked))]) == right


def test_of_two_edits_that_meet_the_later_counts():
    assert mended("abcd", [Edit(0, 2, "x"), Edit(1, 3, "y")]) == "ayd"


def test_a_line_with_two_slips_is_shown_mended_once():
    text = "  -intro,4 bars:piano"
    dash = Problem("space-after-dash", Place("s", 4, 3, 1, text), {"line": "intro,4 bars:piano"})
    colon = Problem("space-after-colon", Place("s", 4, 16, 1, text), {"key": "intro,4 bars"})
    told = all_in_full([dash, colon])
    assert told.count("Write it like this:") == 1
    assert told.endswith("\n    4 |   - intro,4 bars: piano")
    assert in_full(dash).endswith("\n    4 |   - intro,4 bars:piano")
