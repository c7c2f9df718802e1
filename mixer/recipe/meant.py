"""What was meant by a name and its bars: in figures, in words, in another order; a level, a near name."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

from mixer.pattern import pattern
from mixer.recipe.model import Layer
from mixer.recipe.values import LONGEST_NAME
from mixer.text.names import nearest, plain_signs, same_name
from mixer.text.nodes import Text
from mixer.words.problem import Problems

_EVERYTHING = ("all", "everyone", "everybody", "all of them", "all layers", "everythin", "evrything", "every thing")
_NOTHING = ("none", "silence", "rest", "nobody", "no one", "nothin")
_ALL_BUT = pattern(r"(?:everything|everyone|all)\s*,?\s*(?:but|except|without|minus)\s+(?:the\s+)?(.+)", re.IGNORECASE)
_NOT = pattern(r"(?:no|not|minus)\s+(?:the\s+)?(.+)", re.IGNORECASE)
# What is longer holds no name and bars; looking for them would take long.
LONGEST_PART = 4 * LONGEST_NAME
_NAME_AND_SPAN = pattern(r"(.*?\D)\s*\(?((?:bars? )?\d{1,4}\s*(?:(?:--?|to\b)\s*\d*)?|-\s*\d+)\)?\s*$", re.IGNORECASE)
# The same with the bars in words, as `mixer check` says them: `bass from bar 5`, `shaker up to bar 4`.
_NAME_AND_WORDS = pattern(
    r"(.*?\S)\s+\(?((?:(?:in\s+)?bars?\s+|(?:from|up\s+to)\s+(?:bars?\s+)?)?\d{1,4}\s*"
    r"(?:(?:--?|to\b|\.{2,3}|\u2026)\s*(?:bars?\s+)?(?:\d*|(?:the\s+)?end)|on(?:wards?)?|alone)?)\)?\s*$",
    re.IGNORECASE,
)
# `piano 1-2 and 5`
SPAN_AND_SPANS = pattern(
    r"(.*?\D)\s+(\d{1,4}(?:\s*-\s*\d*)?(?:(?:\s+and\s+|\s*&\s*)\d{1,4}(?:\s*-\s*\d*)?)+)", re.IGNORECASE
)
_SPAN = r"\d{1,3}(?:\s*-\s*\d{0,3})?"
_SPAN_FIRST = pattern(rf"({_SPAN})\s+(\D.*)")
_TWO_SPANS = pattern(rf"(.*?\D)\s+({_SPAN})(?:\s+|\s*/\s*)({_SPAN})")
_UNTIL = pattern(r"(.*?\S)\s+(?:un)?till?\s+(?:bars?\s+)?(\d{1,3})", re.IGNORECASE)
_LEVEL_LAST = pattern(rf"(.*?\D)(?:\s+{_SPAN})?\s+([+-]\d{{1,2}})")


def name_and_bars(text: str, known: Callable[[str], str | None]) -> re.Match[str] | None:
    """See a name (group 1) and its bars (group 2); bars in words only where the name without them is known."""
    if len(text) > LONGEST_PART:
        return None
    figures = _NAME_AND_SPAN.fullmatch(text)
    if figures and known(figures[1]) is not None:
        return figures
    words = _NAME_AND_WORDS.fullmatch(text)
    return words if words and known(words[1]) is not None else figures


def tell_unknown(
    part: Text,
    end: int,
    layers: Mapping[str, Layer],
    lost: Mapping[str, str],
    known: Callable[[str], str | None],
    problems: Problems,
) -> None:
    """Tell that a part of a list names no layer, with what would be right where that can be seen.

    Parameters
    ----------
    part : the part between two commas
    end : where the name in it ends
    layers : the song's layers by the form in which their names are compared
    lost : the names of layers that could not be read; they are the writer's all the same
    known : gives the layer that a text names, or nothing
    problems : grows
    """
    names = [*(layer.name for layer in layers.values()), *lost.values()]
    plain = plain_signs(part.value)
    if len(plain) > LONGEST_PART:
        plain = ""  # too long for a name and its bars, and long to look through
    if _tell_bars(part, plain, known, problems):
        return
    value = part.value[:end].strip()
    form = same_name(value)
    instead, guess = "", None
    if form in _EVERYTHING:
        guess = "everything"
    elif form in _NOTHING:
        guess = "nothing"
    elif plain and (found := _ALL_BUT.fullmatch(value)):
        instead = f"everything, without {found[1]}"
    else:
        by_loop = (layer.name for layer in layers.values() if same_name(layer.source.loop) == form)
        guess = next(by_loop, None) or nearest(value, (*names, "everything"))
        after = _after_name(plain, known)
        if after and guess in (None, name := known(plain[:after])):
            words = part.part(after, len(plain))
            problems.tell("span-unknown", words.place(), value=words.value, name=name)
            return
    problems.tell("unknown-layer", part.place(0, end), name=value, layers=names, guess=guess, instead_of=instead)


def _tell_bars(part: Text, plain: str, known: Callable[[str], str | None], problems: Problems) -> bool:
    """Tell that a known name has bars, a level or a `no` where none is read; False where it has not."""
    if (found := _SPAN_FIRST.fullmatch(plain)) and known(found[2]):
        problems.tell("layer-order", part.place(), name=found[2], spans=found[1])
    elif (found := _LEVEL_LAST.fullmatch(plain)) and known(found[1]):
        at = part.place(found.start(2), found.end(2))
        problems.tell("level-in-list", at, name=found[1], level=found[2])
    elif (found := _TWO_SPANS.fullmatch(plain)) and known(found[1]):
        problems.tell("layer-order", part.place(), name=found[1], spans=f"{found[2]}, {found[3]}")
    elif (found := _UNTIL.fullmatch(plain)) and known(found[1]):  # with that bar or without it, nobody can see
        problems.tell("layer-order", part.place(), name=found[1], spans=f"1-{found[2]}")
    elif (found := _NOT.fullmatch(plain)) and (name := known(found[1]) or _known_with_bars(found[1], known)):
        problems.tell("layer-not", part.place(), text=part.value, name=name)
    else:
        return False
    return True


def _known_with_bars(text: str, known: Callable[[str], str | None]) -> str | None:
    found = name_and_bars(text, known)
    return found and known(found[1])


def _after_name(plain: str, known: Callable[[str], str | None]) -> int:
    """Where the longest known name ends with which a text begins and goes on in words; 0 if it begins with none."""
    ends = [found.start() for found in re.finditer(r"\s+", plain)]
    return next((end for end in reversed(ends) if known(plain[:end])), 0)
