"""What each section does, told by comparing it with the one before, and where the song changes most.

What joins and what leaves is read from the plan; fuller, brighter and busier from the energy of the bars. Only words
go out: "a little", "much". From which ratio on a word is used is common practice, no source, tuned on the demo loops.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from mixer.coach.energy import BarEnergy, Energy
from mixer.record import record
from mixer.song.plan import Mark, Plan

FULLER = (1.07, 1.25, 1.6)
"""Ratio of mean energy from which a section is told to be a little fuller, fuller, much fuller."""
BUSIER = (1.2, 1.6, 2.4)
"""Ratio of onsets a bar."""
BRIGHTER = (0.5, 1.0, 2.0)
"""Difference of the middle of the spectrum, in critical bands."""


@record
class Layers:
    """Who is heard in which bars of the song (counted from 1), by the layer's name in the recipe's order."""

    bars: dict[str, frozenset[int]]
    count: int

    def at(self, bar: int) -> frozenset[str]:
        """Names of those who are heard in a bar."""
        return frozenset(name for name, bars in self.bars.items() if bar in bars)

    def within(self, mark: Mark) -> dict[str, list[int]]:
        """Who is heard in a section, and in which bars of the song."""
        there = range(mark.first_bar, mark.first_bar + mark.bars)
        heard = {name: [bar for bar in there if bar in bars] for name, bars in self.bars.items()}
        return {name: bars for name, bars in heard.items() if bars}

    def in_order(self, names: frozenset[str]) -> tuple[str, ...]:
        """Names in the recipe's order."""
        return tuple(name for name in self.bars if name in names)


@record
class Step:
    """A section beside the one before it.

    Parameters
    ----------
    mark : the section
    before : the section before; None for the first
    same_as : the earlier section that sounds just so; None if there is none
    joins : who was not heard before, each with the first bar of the song in which it is
    leaves : who was heard before and is no more
    fuller, brighter, busier : -3 (much less) to 3 (much more)
    inside : how much fuller its second half is than its first, -3 to 3
    """

    mark: Mark
    before: Mark | None
    same_as: Mark | None
    joins: tuple[tuple[str, int], ...]
    leaves: tuple[str, ...]
    fuller: int
    brighter: int
    busier: int
    inside: int


def layers_of(plan: Plan) -> Layers:
    """Who is heard in which bars."""
    bars = {
        part.layer.name: frozenset(bar for cue in part.cues for bar in range(cue.enter_bar, cue.exit_bar + 1))
        for part in plan.parts
    }
    return Layers(bars, plan.recipe.bars)


def steps(plan: Plan, layers: Layers, energy: Energy) -> tuple[Step, ...]:
    """Compare each section with the one before."""
    earlier: dict[str, Mark] = {}
    found = []
    for before, mark in pairwise((None, *plan.marks)):
        assert mark is not None  # noqa: S101 - only the first of all is none
        now, then = layers.within(mark), layers.within(before) if before else {}
        here, there = _bars(energy, mark), _bars(energy, before) if before else ()
        half = len(here) // 2
        found.append(
            Step(
                mark=mark,
                before=before,
                same_as=earlier.get(mark.letter),
                joins=tuple((name, bars[0]) for name, bars in now.items() if name not in then),
                leaves=tuple(name for name in then if name not in now),
                fuller=_by_ratio(_mean_energy(here), _mean_energy(there), FULLER),
                brighter=_brighter(here, there),
                busier=_by_ratio(_mean_onsets(here), _mean_onsets(there), BUSIER),
                inside=_by_ratio(_mean_energy(here[half:]), _mean_energy(here[:half]), FULLER) if half else 0,
            )
        )
        earlier.setdefault(mark.letter, mark)
    return tuple(found)


def _bars(energy: Energy, mark: Mark) -> Sequence[BarEnergy]:
    return energy.detail[mark.first_bar - 1 : mark.first_bar - 1 + mark.bars]


def mean_energy(energy: Energy, mark: Mark) -> float:
    """Mean energy of a section's bars."""
    return _mean_energy(_bars(energy, mark))


def _mean_energy(bars: Sequence[BarEnergy]) -> float:
    return sum(bar.energy for bar in bars) / len(bars) if bars else 0.0


def _mean_onsets(bars: Sequence[BarEnergy]) -> float:
    return sum(bar.onsets for bar in bars) / len(bars) if bars else 0.0


def _brighter(here: Sequence[BarEnergy], there: Sequence[BarEnergy]) -> int:
    means = []
    for bars in (here, there):
        heard = [bar.brightness for bar in bars if bar.energy > 0]
        if not heard:
            return 0
        means.append(sum(heard) / len(heard))
    difference = means[0] - means[1]
    size = sum(abs(difference) >= least for least in BRIGHTER)
    return size if difference > 0 else -size


def _by_ratio(now: float, then: float, limits: Sequence[float]) -> int:
    """How much more there is, in three sizes; 0 where nothing can be compared."""
    if now <= 0 or then <= 0:
        return 0
    size = sum(max(now / then, then / now) >= least for least in limits)
    return size if now > then else -size
