"""What can be seen in a song of the things that a brief asks people to find out.

Only how energy goes from one section to another is looked at, and told in words with the bars; all else is for people.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from mixer.record import record
from mixer.song.plan import Mark, Plan
from mixer.text.names import same_name
from mixer.words.english import limits as words

if TYPE_CHECKING:
    from mixer.coach.energy import Energy

_ENERGY = re.compile(
    r"(?:the )?energy (?:rises|falls|grows|drops) from (?:the )?(.+?) to (?:the )?(.+?)[.?]?", re.IGNORECASE
)


@record
class FindOut:
    """Something to look at.

    Parameters
    ----------
    question : as the brief says
    answer : what can be seen in the song, and where; empty where only people can tell
    bars : the bars of the song that the answer is about, first and last
    way : 1 where more goes on in the second section, -1 where less, 0 where as much; None where it is not told
    """

    question: str
    answer: str = ""
    bars: tuple[tuple[int, int], ...] = ()
    way: int | None = None


def find_out(question: str, plan: Plan, energy: Energy | None) -> FindOut:
    """Look at one thing in a song, as far as a program can.

    Parameters
    ----------
    question : as the brief says
    plan : the song
    energy : bar by bar; None where the sound was not looked at
    """
    asked = _ENERGY.fullmatch(" ".join(question.split()))
    if asked is None:
        return FindOut(question)
    pair = _sections(plan, asked[1], asked[2])
    if isinstance(pair, str):
        return FindOut(question, words.no_such_section(pair))
    if energy is None:
        return FindOut(question)
    from mixer.coach.sections import FULLER, mean_energy  # noqa: PLC0415 - loads numpy

    before, after = pair
    then, now = mean_energy(energy, before), mean_energy(energy, after)
    more = now > then * FULLER[0] or (now > 0 and then <= 0)
    less = then > now * FULLER[0] or (then > 0 and now <= 0)
    way = 1 if more else -1 if less else 0
    told = words.energy_goes(before.name, _bars(before), after.name, _bars(after), way)
    return FindOut(question, told, (_bars(before), _bars(after)), way)


def _sections(plan: Plan, first: str, second: str) -> tuple[Mark, Mark] | str:
    """Give the first section of the one name and the next of the other; the name that there is none of."""
    before = _called(plan, first)
    after = _called(plan, second)
    if not before or not after:
        return second if before else first
    later = [mark for mark in after if mark.first_bar > before[0].first_bar]
    return before[0], (later or after)[0]


def _called(plan: Plan, name: str) -> list[Mark]:
    form = same_name(name)
    return [mark for mark in plan.marks if same_name(mark.name).startswith(form)]


def _bars(mark: Mark) -> tuple[int, int]:
    return mark.first_bar, mark.first_bar + mark.bars - 1
