"""Every slip of one sign in a recipe is told or makes no difference: nothing is read otherwise in silence."""

from __future__ import annotations

import pytest

from mixer.recipe.reader import read
from tests.recipe.cases import KNOWN_LOOPS

# Without notes and free texts, in which any sign is as good as another; names are told from the rest by the brackets.
MARKED = """\
tempo: 96
key: A minor
layers:
  «drums»: tin-roof
  «bass»: slow-tide
  «left piano»: paper-lantern
  «shaker»:
    loop: rice-jar
    level: -2
    pan: left 20
sections:
  - «intro», 4 bars: «left piano»
  - «verse», 8 bars: «left piano», «drums», «bass» 5-8
  - «chorus», 8 bars: everything
  - «verse 2», like «verse»: «shaker» 1-4, 7, without «bass»
  - «chorus»
  - name: «outro»
    bars: 4
    play:
      «left piano»:
        in bars: 1-4
        fade out: 2 bars
      «drums»: 1-2
      «bass»:
ending: last hit
"""
RIGHT = MARKED.replace("«", "").replace("»", "")
# Where one sign may stand for another without being told, since what comes out is as good a recipe.
OTHER_RECIPES = {
    "1-,4": "a span to the end, and bar 4 of it once more",
    "5-,8": "the same",
    "1-,2": "the same",
    "7-": "a span to the end",
}


def _in_names():
    """Where signs of names stand."""
    found, inside, at = set(), False, 0
    for sign in MARKED:
        if sign in "«»":
            inside = sign == "«"
            continue
        if inside:
            found.add(at)
        at += 1
    return found


IN_NAMES = _in_names()


def _slips(kind):
    for at, sign in enumerate(RIGHT):
        if sign.isalnum() or at in IN_NAMES:
            continue
        if kind == "missing":
            yield RIGHT[:at] + RIGHT[at + 1 :]
        elif kind == "double":
            yield RIGHT[:at] + sign + RIGHT[at:]
    for at in range(len(RIGHT)):
        # At the start of a name a sign becomes a part of it.
        if len(kind) == 1 and at not in IN_NAMES and at - 1 not in IN_NAMES:
            yield RIGHT[:at] + kind + RIGHT[at:]


@pytest.mark.parametrize("kind", ["missing", "double", *":,;-\"'\t\n=|&*!{[/"])
def test_a_slip_of_one_sign_is_told_or_makes_no_difference(kind):
    meant = read(RIGHT, KNOWN_LOOPS)
    assert meant.problems == ()
    silent = []
    for text in _slips(kind):
        result = read(text, KNOWN_LOOPS)
        assert all(1 <= problem.place.line <= text.count("\n") + 1 for problem in result.problems)
        if not result.problems and result.recipe != meant.recipe:
            silent.append(next(a for a, b in zip(text.split("\n"), RIGHT.split("\n"), strict=False) if a != b))
    assert [line for line in silent if not any(other in line for other in OTHER_RECIPES)] == []


@pytest.mark.parametrize("what", ["missing", "double", "swapped", "one space further in", "at the edge"])
def test_a_slip_of_one_line_is_told_or_is_another_recipe(what):
    """Lines may come and go, but what is left unread is told: as many entries are read as there are in the lines."""
    lines = RIGHT.split("\n")[:-1]
    for at in range(len(lines)):
        changed = list(lines)
        if what == "missing":
            del changed[at]
        elif what == "double":
            changed.insert(at, lines[at])
        elif what == "swapped":
            changed[at - 1], changed[at] = changed[at], changed[at - 1]
        else:
            changed[at] = f" {lines[at]}" if what == "one space further in" else lines[at].lstrip()
        result = read("\n".join([*changed, ""]), KNOWN_LOOPS)
        assert all(1 <= problem.place.line <= len(changed) for problem in result.problems)
        if what in ("one space further in", "at the edge") and changed != lines:
            assert result.problems or result.recipe == read(RIGHT, KNOWN_LOOPS).recipe, changed[at]
        if not result.problems:
            assert _counted(result.recipe) == _counted_in("\n".join(changed)), changed[at]


def _counted(recipe):
    return len(recipe.layers), len(recipe.sections)


def _counted_in(text):
    layers, sections = text.split("sections:\n")
    names = [line for line in layers.split("\n") if line.startswith("  ") and not line.startswith("   ")]
    return len(names), sum(line.startswith("  - ") for line in sections.split("\n"))
