"""What one slip caused is told once: what only follows from it falls silent, and the same slip on many lines is one.

The rooms that read tell what they see, each for itself. Whoever wrote the text wants to know what to do.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable

from mixer.words.problem import Problem

# A slip, and what is told in the same line only because of it.
_FOLLOWS = {
    "anchor": {"no-loop", "no-value", "empty-value", "unknown-key", "plays-nobody"},
    "bars-after-colon": {"other-colon"},
    "layer-twice": {"comma-missing"},
}
# Slips whose words may name further lines, and the facts that must agree.
_ALIKE: dict[str, tuple[str, ...]] = {
    "other-dash": ("sign",),
    "space-after-dash": (),
    "space-after-colon": (),
    "indent": ("spaces", "dash"),
    "section-dash": (),
}
# Two lines are shown one by one: each can be copied as it should be.
_FEW = 2


def settled(problems: Iterable[Problem]) -> list[Problem]:
    """Give the problems of one text, in the order of its lines, without those that follow from others."""
    told = list(problems)
    kinds: dict[int, set[str]] = {}
    for problem in told:
        kinds.setdefault(problem.place.line, set()).update(_FOLLOWS.get(problem.kind, ()))
    return _merged([problem for problem in told if problem.kind not in kinds[problem.place.line]])


def _merged(told: list[Problem]) -> list[Problem]:
    alike: dict[Hashable, list[Problem]] = {}
    for problem in told:
        if problem.kind in _ALIKE:
            alike.setdefault(_form(problem), []).append(problem)
    merged: list[Problem] = []
    for problem in told:
        same = alike.get(_form(problem), []) if problem.kind in _ALIKE else []
        if len(same) <= _FEW:
            merged.append(problem)
        elif same[0] is problem:
            lines = tuple(dict.fromkeys(other.place.line for other in same))[1:]
            merged.append(Problem(problem.kind, problem.place, {**problem.facts, "lines": lines}))
    return merged


def _form(problem: Problem) -> Hashable:
    return problem.kind, tuple(problem.facts[fact] for fact in _ALIKE[problem.kind])
