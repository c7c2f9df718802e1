"""Right recipes in any spelling are read as they were meant; wrong ones are told about, and nothing breaks."""

from __future__ import annotations

import os

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from mixer.loops.library import open_library
from mixer.recipe.reader import read
from mixer.song.outline import outline
from mixer.song.plan import plan
from mixer.text.source import decode
from mixer.words.say import all_in_full
from tests.recipe.cases import FOLDER, KNOWN_LOOPS, read_case
from tests.recipe.written import DrawnSong, long, short, songs

# The same examples on every run where changes are taken; new ones each time elsewhere.
STEADY = settings(
    derandomize="CI" in os.environ,
    deadline=None,
    max_examples=150,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
RIGHT = [decode(path.read_bytes())[0] for path in sorted((FOLDER / "right").glob("*.yaml"))]
WRONG = [decode(read_case(path).raw)[0] for path in sorted((FOLDER / "mistakes").glob("*.md"))]


@pytest.fixture(scope="module")
def library():
    return open_library(None)


def _expected(song: DrawnSong):
    return [(section.name, section.bars, section.meant, dict(section.heard)) for section in song.sections]


def _said_back(recipe, library):
    return [
        (section.name, section.bars, section.meant, {entry.layer: entry.spans for entry in section.entries})
        for section in outline(plan(recipe, library)).sections
    ]


@STEADY
@given(song=songs())
def test_a_right_recipe_is_read_as_it_was_meant(library, song):
    assume(len({layer for section in song.sections for layer in section.heard}) == len(song.layers))
    for text in (short(song), long(song)):
        result = read(text, library.names())
        assert result.problems == (), all_in_full(result.problems)
        assert _merged(_said_back(result.recipe, library)) == _merged(_expected(song))
        assert result.recipe.title == song.title


def _merged(sections):
    """Spans that meet are one."""
    found = []
    for name, bars, meant, heard in sections:
        each = {}
        for layer, pairs in heard.items():
            inside = sorted({bar for a, b in pairs for bar in range(a, b + 1)})
            each[layer] = inside if pairs and len(inside) < bars else []
        found.append((name, bars, meant, each))
    return found


@STEADY
@given(song=songs())
def test_both_spellings_are_one_recipe(song):
    assert read(short(song), KNOWN_LOOPS).recipe == read(long(song), KNOWN_LOOPS).recipe


SIGNS = st.sampled_from(
    [*":-#\"'{}[],&*!|>%@`\t \n", "\u00a0", "\u3000", "\uff1a", "\u200b", "\x1b", "like ", "5-8", "a"]
)
EDITS = st.lists(
    st.tuples(st.sampled_from(["put", "take", "double", "drop", "swap", "move"]), st.integers(0, 10_000), SIGNS),
    min_size=1,
    max_size=6,
)


def edited(text: str, edits) -> str:
    for what, where, sign in edits:
        at = where % (len(text) + 1)
        lines = text.split("\n")
        line, other = where % len(lines), (where // 7) % len(lines)
        if what == "put":
            text = text[:at] + sign + text[at:]
        elif what == "take":
            text = text[:at] + text[at + 1 + where % 3 :]
        elif what == "double":
            text = "\n".join([*lines[: line + 1], *lines[line:]])
        elif what == "drop":
            text = "\n".join(lines[:line] + lines[line + 1 :])
        elif what == "swap":
            lines[line], lines[other] = lines[other], lines[line]
            text = "\n".join(lines)
        else:
            lines[line] = " " * (where % 7) + lines[line].lstrip()
            text = "\n".join(lines)
    return text


@STEADY
@given(text=st.sampled_from(RIGHT + WRONG), edits=EDITS)
def test_no_edit_breaks_the_reader_and_what_is_told_has_a_line(library, text, edits):
    written = edited(text, edits)
    result = read(written, library.names())
    count = len(written.replace("\r\n", "\n").replace("\r", "\n").split("\n"))
    assert all(1 <= problem.place.line <= count for problem in result.problems)
    assert "\x1b" not in all_in_full(result.problems)
    if result.recipe is None:
        assert result.problems
    else:
        plan(result.recipe, library)


@STEADY
@given(raw=st.binary(max_size=400))
def test_any_bytes_can_be_read(raw):
    result = read(decode(raw)[0], KNOWN_LOOPS)
    assert result.problems
    assert all_in_full(result.problems)


@STEADY
@given(text=st.text(max_size=200))
def test_any_text_can_be_read(text):
    assert read(text, KNOWN_LOOPS).problems
