"""Every kind of problem that is told has its sentence, and every sentence is told somewhere and sounds right."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import mixer
import mixer.words.english.sentences
from mixer.words.problem import Place, Problem
from mixer.words.say import in_full, printable
from mixer.words.speech import SENTENCES, series

ROOT = Path(mixer.__file__).parent
SOURCES = "".join(path.read_text(encoding="utf-8") for path in ROOT.rglob("*.py") if "english" not in path.parts)
TOLD = set(re.findall(r'"([a-z]+(?:-[a-z]+)+|prose|tab|indent|anchor|gap)"', SOURCES))
CASES = [path.read_text(encoding="utf-8") for path in (ROOT.parent / "tests" / "cases" / "mistakes").glob("*.md")]
SAID = "\n".join(case.partition("## Words")[2] for case in CASES)


@pytest.mark.parametrize("kind", sorted(SENTENCES))
def test_every_sentence_is_told_somewhere(kind):
    assert kind in TOLD


def test_every_kind_that_is_told_has_a_sentence():
    told = set(re.findall(r'(?:tell|Error|refused)\(\s*"([a-z-]+)"', SOURCES))
    assert {kind for kind in told if not kind.startswith("-")} <= set(SENTENCES)


WORDS = "".join(path.read_text(encoding="utf-8") for path in (ROOT / "words" / "english").glob("*.py"))


@pytest.mark.parametrize(
    "word",
    ["mapping", "scalar", "token", "node", "parse", "syntax", "illegal", "invalid", "Traceback", "stupid", "wrongly"],
)
def test_no_sentence_has_a_word_of_the_trade_of_programmers(word):
    assert not re.search(rf"\b{word}", re.sub(r'^""".*?"""', "", WORDS, flags=re.DOTALL))
    assert not re.search(rf"\b{word}\b", SAID)


def test_no_sentence_shouts():
    assert re.findall(r"^(?!\s+\d+ \|)[^\"]*!$", SAID, re.MULTILINE) == []


def test_a_mark_stands_below_what_it_marks():
    place = Place("song.yaml", 3, 9, 4, "  太鼓: drum, x")
    lines = in_full(Problem("no-value", place, {"key": "x"})).splitlines()
    # Two wide letters take four columns, so the mark moves two to the right.
    assert lines[3] == " " * (8 + 8 + 2) + "^^^^"


def test_nothing_steers_a_terminal():
    assert (
        printable("a\x1b[31mb\x07\u202ec") == "a\N{REPLACEMENT CHARACTER}[31mb" + 2 * "\N{REPLACEMENT CHARACTER}" + "c"
    )


def test_lists_are_read_aloud():
    assert (series([]), series("a"), series("ab"), series("abc")) == ("", "a", "a and b", "a, b and c")
