"""How a layer's name stands in a sentence. Names are the writer's own, so nothing certain is known of them."""

from __future__ import annotations

import re
from collections.abc import Iterable

from mixer.words.speech import series

_NOUN = re.compile(r"[a-z]+(?: [a-z]+)*")
_WITH_ARTICLE = re.compile(r"(?:the|a|an|my|our|his|her|no) ")


def layer(name: str) -> str:
    """Give `the bass`; names that are no plain English noun stay as they are."""
    return f"the {name}" if _NOUN.fullmatch(name) and not _WITH_ARTICLE.match(name) else name


def layers(names: Iterable[str], last: str = "and") -> str:
    """Give `the drums, the bass and Anna`."""
    return series(map(layer, names), last)


def is_are(*names: str) -> str:
    """Give `is` or `are`: the drums are, the bass is."""
    return "are" if many(*names) else "is"


def many(*names: str) -> bool:
    """Whether a verb beside these names is one for several."""
    last = names[0] if names else ""
    plural = last.endswith("s") and not last.endswith(("ss", "us", "is"))
    return len(names) > 1 or plural


def start(text: str) -> str:
    """Begin a sentence."""
    return text[:1].upper() + text[1:]


def starting(*names: str) -> str:
    """Begin a sentence with layers: `The bass`; what stands there without an article stays as its writer has it."""
    text = layers(names)
    return start(text) if text.startswith("the ") else text


def span(bars: tuple[int, int]) -> str:
    """Give `bars 5 to 8`, `bars 5 and 6` or `bar 5`."""
    first, last = bars
    if first == last:
        return f"bar {first}"
    return f"bars {first} and {last}" if last == first + 1 else f"bars {first} to {last}"


def quoted(text: str, most: int = 90) -> str:
    """Give a maker's own words between quote marks, cut where they are very long."""
    return f'"{text if len(text) <= most else text[: most - 1].rstrip() + "…"}"'
