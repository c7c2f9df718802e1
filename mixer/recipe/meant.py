"""What was meant where no layer of that name is known: the name and its bars in another order, a level, a near name."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

from mixer.pattern import pattern
from mixer.recipe.model import Layer
from mixer.text.names import nearest, plain_signs, same_name
from mixer.text.nodes import Text
from mixer.words.problem import Problems

_EVERYTHING = ("all", "everyone", "everybody", "all of them", "all layers", "everythin", "evrything", "every thing")
_NOTHING = ("none", "silence", "rest", "nobody", "no one", "nothin")
_ALL_BUT = pattern(r"(?:everything|everyone|all)\s*,?\s*(?:but|except|without|minus)\s+(?:the\s+)?(.+)", re.IGNORECASE)
_LONGEST = 240
_SPAN = r"\d{1,3}(?:\s*-\s*\d{0,3})?"
_SPAN_FIRST = pattern(rf"({_SPAN})\s+(\D.*)")
_TWO_SPANS = pattern(rf"(.*?\D)\s+({_SPAN})\s+({_SPAN})")
_LEVEL_LAST = pattern(rf"(.*?\D)(?:\s+{_SPAN})?\s+([+-]\d{{1,2}})")


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
    if len(plain) > _LONGEST:
        plain = ""  # too long for a name and its bars, and long to look through
    if (found := _SPAN_FIRST.fullmatch(plain)) and known(found[2]):
        problems.tell("layer-order", part.place(), name=found[2], spans=found[1])
        return
    if (found := _LEVEL_LAST.fullmatch(plain)) and known(found[1]):
        at = part.place(found.start(2), found.end(2))
        problems.tell("level-in-list", at, name=found[1], level=found[2])
        return
    if (found := _TWO_SPANS.fullmatch(plain)) and known(found[1]):
        problems.tell("layer-order", part.place(), name=found[1], spans=f"{found[2]}, {found[3]}")
        return
    value = part.value[:end].strip()
    form = same_name(value)
    instead, guess = "", None
    if form in _EVERYTHING:
        guess = "everything"
    elif form in _NOTHING:
        guess = "nothing"
    elif found := _ALL_BUT.fullmatch(value):
        instead = f"everything, without {found[1]}"
    else:
        by_loop = (layer.name for layer in layers.values() if same_name(layer.source.loop) == form)
        guess = next(by_loop, None) or nearest(value, (*names, "everything"))
    problems.tell("unknown-layer", part.place(0, end), name=value, layers=names, guess=guess, instead_of=instead)
