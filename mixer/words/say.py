"""A problem's words: one sentence that says what is wrong and one or two that say what would be right.

The sentences stand in `mixer.words.english`, one function for each kind of problem. Another language is
another package with the same functions.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass

from mixer.words.problem import Place, Problem
from mixer.words.speech import SENTENCES


@dataclass(frozen=True)
class Said:
    """A problem in words.

    Parameters
    ----------
    message : what is wrong
    hint : what would be right; may be empty
    advice : whether all was read; otherwise something had to be left out
    """

    message: str
    hint: str
    advice: bool


def say(problem: Problem) -> Said:
    """Put a problem into words."""
    import mixer.words.english  # noqa: F401, PLC0415 - fills the table; loaded only when there is something to say

    sentence = SENTENCES[problem.kind]
    message, hint = sentence.words(**problem.facts)
    return Said(message, hint, sentence.advice)


def is_mistake(problem: Problem) -> bool:
    """Whether something had to be left out because of it."""
    return not say(problem).advice


def in_full(problem: Problem) -> str:
    """Give a problem as the terminal shows it: where, what is wrong, the line with a mark, what to do."""
    said, place = say(problem), problem.place
    where = f"{printable(place.file)}, line {place.line}: " if place.text else f"{printable(place.file)}: "
    lines = [f"{where}{printable(said.message)}"]
    if place.text.strip():
        lines += ["", *_marked(place)]
    if said.hint:
        lines.append(printable(said.hint))
    return "\n".join(lines)


def _marked(place: Place) -> list[str]:
    shown = printable(place.text.rstrip(), tabs="⇥")
    before = _columns(shown[: place.column - 1])
    width = max(1, _columns(shown[place.column - 1 : place.column - 1 + place.width]))
    return [f"{place.line:5} | {shown}", " " * (8 + before) + "^" * width]


def _columns(text: str) -> int:
    """How many columns of a terminal a text takes."""
    return sum(
        0 if unicodedata.combining(sign) else 2 if unicodedata.east_asian_width(sign) in "WF" else 1 for sign in text
    )


def printable(text: str, *, tabs: str = " ") -> str:
    """Give a text without signs that could steer a terminal; sign for sign."""
    return "".join(
        sign
        if sign.isprintable() or sign in "\n\u200c\u200d"
        else tabs
        if sign == "\t"
        else "\N{REPLACEMENT CHARACTER}"
        if not sign.isspace()
        else " "
        for sign in text
    )


def all_in_full(problems: Iterable[Problem]) -> str:
    """Give several problems, one below the other."""
    return "\n\n".join(in_full(problem) for problem in problems)
