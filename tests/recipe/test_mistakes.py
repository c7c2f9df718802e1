"""Every recipe in `tests/cases/mistakes` is told about as its file says: in the right lines, wholly, and once.

The cases were written from the language alone, before the reader. Where what is told was decided later, the file
says so (`decided:`). The exact words stand in each file under `## Words`; to approve new words, run
`python -m tests.recipe.approve` and read what it changes.
"""

from __future__ import annotations

import re
from collections import Counter
from fractions import Fraction

import pytest

from mixer.recipe.model import Recipe
from mixer.recipe.reader import Reading, read
from mixer.text.names import same_name
from mixer.text.source import decode
from mixer.words.say import all_in_full, is_mistake
from tests.recipe.cases import FOLDER, KNOWN_LOOPS, Case, read_case

PATHS = sorted((FOLDER / "mistakes").glob("*.md"))


def reading(case: Case) -> Reading:
    text, guessed = decode(case.raw)
    return read(text, KNOWN_LOOPS, "song.yaml", guessed=guessed)


def test_there_are_enough_cases():
    assert len(PATHS) >= 120


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_everything_is_told_once_in_its_line(path):
    case = read_case(path)
    result = reading(case)
    told = {(problem.place.line, _severity(problem)) for problem in result.problems}
    # One message may name further lines with the same slip.
    also = {(line, _severity(problem)) for problem in result.problems for line in problem.facts.get("lines", ())}
    assert told <= case.told
    assert case.told <= told | also
    # One slip is told once: no line has more to tell than the case names, and nothing is told twice.
    assert Counter(problem.place.line for problem in result.problems) <= case.times
    assert len({(p.kind, p.place) for p in result.problems}) == len(result.problems)


def _severity(problem):
    return "mistake" if is_mistake(problem) else "advice"


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_the_rest_is_read(path):
    case = read_case(path)
    recipe = reading(case).recipe
    can_be_heard = case.read_on if case.draft is None else case.draft
    assert (recipe is not None) == can_be_heard
    for where, what in case.meant if recipe is not None else ():
        assert _found(recipe, where.split(".")) == what, where


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_the_words_are_those_that_were_approved(path):
    case = read_case(path)
    assert all_in_full(reading(case).problems).strip() == _approved(case)


def _approved(case: Case) -> str:
    found = re.search(r"^(`{3,})text\n(.*?)^\1$", case.words, re.DOTALL | re.MULTILINE)
    return found[2].strip() if found else ""


def _found(recipe: Recipe, path: list[str]) -> str:
    """What the recipe has at a place such as `sections.2.heard.bass`, as text."""
    if path[0] == "sections":
        return str(len(recipe.sections)) if len(path) == 1 else _in_section(recipe, path)
    if path[0] == "layers":
        layer = next(each for each in recipe.layers if same_name(each.name) == same_name(".".join(path[1:-1])))
        return _layer_value(layer, path[-1])
    value = {"tempo": recipe.tempo_bpm, "time": recipe.meter}.get(path[0])
    value = getattr(recipe, path[0].replace(" ", "_")) if value is None else value
    return _number(value) if isinstance(value, Fraction) else str(value)


def _in_section(recipe, path):
    section = recipe.sections[int(path[1]) - 1]
    if path[2] == "heard":
        entry = next((each for each in section.entries if same_name(each.layer) == same_name(path[3])), None)
        return _spans(entry.bars(section.bars)) if entry else "none"
    if path[2] in ("fade out", "fade in"):
        return _number(getattr(section, path[2].replace(" ", "_") + "_bars")) + " bars"
    return str(getattr(section, path[2]))


def _layer_value(layer, key):
    if key == "loop":
        return layer.source.loop
    if key == "level":
        return f"{layer.level_db:+g}" if layer.level_db else "0"
    if key == "pan":
        side = "left" if layer.pan < 0 else "right"
        return f"{side} {abs(layer.pan) * 100:g}" if layer.pan else "centre"
    return str(getattr(layer, key))


def _number(value):
    return f"{float(value):g}"


def _spans(bars):
    spans = []
    for bar in bars:
        if spans and spans[-1][1] == bar - 1:
            spans[-1][1] = bar
        else:
            spans.append([bar, bar])
    return ", ".join(f"{a}-{b}" if a != b else f"{a}" for a, b in spans)
