"""At most three questions about a song, each about named bars and with the smallest change that would try it.

A song is compared with itself and with its maker's words (`own`); habits of a style count only when someone names the
style (`habits`). Of all that could be asked, the most telling comes first, and the next ones are about other layers
and other bars, so that two songs do not get the same list. How telling a thing is, is a weight (no source: set by
reading the questions of ten different songs side by side); it orders questions, never songs.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import field
from typing import Any

from mixer.coach.sections import Layers
from mixer.recipe.change import read_change
from mixer.record import record
from mixer.song.plan import Mark, Plan
from mixer.text.names import same_name
from mixer.words.english import questions as words

MOST = 3
SAME_LAYERS, SAME_BARS = 0.75, 0.85
"""How much less telling a question is that speaks of the same layers, or the same bars, as one before it."""


@record
class Question:
    """A question about a song.

    Parameters
    ----------
    text : the question
    try_text : a change for `mixer try` that would let one hear an answer
    bars : the first and last bar of the song that it is about
    """

    text: str
    try_text: str
    bars: tuple[int, int]


@record
class Candidate:
    """Something that could be asked.

    Parameters
    ----------
    kind : its sentence
    weight : how telling it is
    layers : whom it is about
    bars : first and last bar that it is about
    try_text : the change that would try it
    facts : what its sentence needs
    """

    kind: str
    weight: float
    layers: Collection[str]
    bars: tuple[int, int]
    try_text: str
    facts: dict[str, Any] = field(default_factory=dict)


def choose(candidates: Iterable[Candidate], plan: Plan, most: int = MOST) -> tuple[Question, ...]:
    """Choose the most telling questions that can be tried, about different things."""
    left = [each for each in candidates if can_be_tried(each.try_text, plan)]
    chosen: list[Candidate] = []
    while left and len(chosen) < most:
        best = max(left, key=lambda each: (_telling(each, chosen), -each.bars[0]))
        chosen.append(best)
        left = [each for each in left if each.kind != best.kind]
    return tuple(Question(words.SENTENCES[each.kind](**each.facts), each.try_text, each.bars) for each in chosen)


def _telling(candidate: Candidate, chosen: Iterable[Candidate]) -> float:
    weight = candidate.weight
    for other in chosen:
        weight *= SAME_LAYERS if set(candidate.layers) & set(other.layers) else 1
        weight *= SAME_BARS if candidate.try_text.split(":")[0] == other.try_text.split(":")[0] else 1
    return weight


def can_be_tried(try_text: str, plan: Plan) -> bool:
    """Whether a change is read without anything to tell, and changes something."""
    change = read_change(try_text, plan.recipe)
    return change.recipe is not None and not change.problems and change.recipe.sections != plan.recipe.sections


def place(plan: Plan, mark: Mark) -> str:
    """How a section is named in a change: by its name, or with its bars where an earlier one has the name."""
    first = next(each for each in plan.marks if same_name(each.name) == same_name(mark.name))
    return mark.name if first is mark else f"{mark.name} bars {mark.first_bar}-{last_bar(mark)}"


def last_bar(mark: Mark) -> int:
    """The last bar of a section."""
    return mark.first_bar + mark.bars - 1


def bars_of(mark: Mark) -> tuple[int, int]:
    """First and last bar of a section."""
    return mark.first_bar, last_bar(mark)


def mark_at(plan: Plan, bar: int) -> Mark:
    """The section in which a bar lies."""
    return next(mark for mark in reversed(plan.marks) if mark.first_bar <= bar)


def span(mark: Mark, first: int, last: int) -> str:
    """Bars of the song as bars of a section, for a change; nothing for all of it."""
    low, high = max(first, mark.first_bar) - mark.first_bar + 1, min(last, last_bar(mark)) - mark.first_bar + 1
    if (low, high) == (1, mark.bars):
        return ""
    return f" {low}-{high}" if low < high else f" {low}"


def without(plan: Plan, mark: Mark, names: Iterable[str], first: int, last: int) -> str:
    """A change that takes layers out in some bars of the song."""
    return f"{place(plan, mark)}: without {', '.join(f'{name}{span(mark, first, last)}' for name in names)}"


def with_layer(plan: Plan, mark: Mark, name: str, layers: Layers, first: int, last: int) -> str:
    """A change that lets a layer in in some bars, and leaves it in those in which it is."""
    bars = sorted({*layers.within(mark).get(name, ()), *range(first, last + 1)})
    spans: list[str] = []
    start = bars[0]
    for at, bar in enumerate(bars):
        if at + 1 == len(bars) or bars[at + 1] != bar + 1:
            spans.append(span(mark, start, bar).strip())
            start = bars[at + 1] if at + 1 < len(bars) else start
    return f"{place(plan, mark)}: {name} {', '.join(spans)}".rstrip()


def half_of(mark: Mark) -> int:
    """The last bar of a section's first half, at most four bars from its start."""
    return mark.first_bar - 1 + max(1, min(4, mark.bars // 2))
