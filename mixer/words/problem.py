"""A problem is data first and words second.

Whoever reads, plans or renders finds problems and hands them on; nobody below the commands prints. A
problem says what kind it is, where it stands and which names and numbers are involved. The sentences are
made from that in one place (`mixer.words.say`), so that a teacher can review them, a test can hold them
and another language can replace them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import field
from types import MappingProxyType
from typing import Any

from mixer.record import record

# Nobody reads more, and a text that is no recipe at all has thousands.
MOST_SHOWN = 300


@record
class Place:
    """Where something stands in a text that a person wrote.

    Parameters
    ----------
    file : the file's name as the person knows it
    line, column : counted from 1, in the file as written
    width : how many signs are meant
    text : the whole line as written
    """

    file: str
    line: int = 1
    column: int = 1
    width: int = 1
    text: str = ""


@record
class Problem:
    """Something to tell: its kind, its place and the facts that its sentences need.

    Whether a kind is a mistake (something had to be left out) or advice (read on, but look) belongs to the
    kind and stands beside its words.
    """

    kind: str
    place: Place
    facts: Mapping[str, Any] = field(default_factory=dict)

    def __post_init__(self) -> None:
        object.__setattr__(self, "facts", MappingProxyType(dict(self.facts)))


class Problems(list[Problem]):
    """Problems as they are found, in any order."""

    def __init__(self, problems: Iterable[Problem] = ()) -> None:
        super().__init__(problems)
        # What was told where: looking through all problems each time would take minutes on a text full of them.
        self._told: dict[tuple[str, Place], list[Problem]] = {}
        for problem in self:
            self._told.setdefault((problem.kind, problem.place), []).append(problem)

    def tell(self, kind: str, place: Place, **facts: Any) -> None:  # noqa: ANN401 - facts are names and numbers of any kind
        """Add a problem; one that was told already is not told twice."""
        problem = Problem(kind, place, facts)
        here = self._told.setdefault((kind, place), [])
        if problem not in here:
            here.append(problem)
            self.append(problem)

    def in_order(self) -> list[Problem]:
        """Give the problems in the order of the lines; of very many the first, and how many more there are."""
        ordered = sorted(self, key=lambda problem: (problem.place.file, problem.place.line, problem.place.column))
        more = len(ordered) - MOST_SHOWN
        if more <= 1:
            return ordered
        return [*ordered[:MOST_SHOWN], Problem("many-problems", ordered[MOST_SHOWN].place, {"more": more})]
