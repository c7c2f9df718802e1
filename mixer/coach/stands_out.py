"""What stands out in a song: noticed, with its bars, neither praised nor blamed."""

from __future__ import annotations

from itertools import pairwise

from mixer.coach.energy import Energy
from mixer.coach.sections import Layers
from mixer.record import record
from mixer.song.plan import Plan

LEAST_CHANGE = 0.15
"""Share of the fullest bar by which a change has to differ before it is told as the largest (no source)."""


@record
class Change:
    """From one bar to the next: who joins, who leaves, and how the energy moves."""

    bar: int
    joins: tuple[str, ...]
    leaves: tuple[str, ...]
    difference: float


@record
class StandsOut:
    """What is noticed.

    Parameters
    ----------
    fullest : first and last bar of the fullest stretch that stays as it is; None for silence
    largest : the largest change from bar to bar; None where none is clear
    returns : where that change is a fall, a layer that stops there and is heard again, with the bar at which it is
    silent : stretches in which nothing is heard, first and last bar
    always : layers heard in every bar, in songs with more than one layer
    """

    fullest: tuple[int, int] | None
    largest: Change | None
    returns: tuple[str, int] | None
    silent: tuple[tuple[int, int], ...]
    always: tuple[str, ...]


def changes(layers: Layers, energy: Energy) -> tuple[Change, ...]:
    """Every bar at which someone joins or leaves."""
    found = []
    for before, bar in pairwise(range(1, layers.count + 1)):
        then, now = layers.at(before), layers.at(bar)
        if then != now:
            difference = energy.bars[bar - 1] - energy.bars[before - 1]
            found.append(Change(bar, layers.in_order(now - then), layers.in_order(then - now), difference))
    return tuple(found)


def stands_out(plan: Plan, layers: Layers, energy: Energy) -> StandsOut:
    """Notice what stands out."""
    largest = max(changes(layers, energy), key=lambda each: abs(each.difference), default=None)
    most = max(energy.bars, default=0.0)
    if largest is not None and abs(largest.difference) < LEAST_CHANGE * most:
        largest = None
    heard = [name for name, bars in layers.bars.items() if bars]
    return StandsOut(
        fullest=_fullest(layers, energy),
        largest=largest,
        returns=_return(largest, layers) if largest is not None and largest.difference < 0 else None,
        silent=stretches([bar for bar in range(1, plan.recipe.bars + 1) if not layers.at(bar)]),
        always=tuple(name for name in heard if len(layers.bars[name]) == layers.count) if len(heard) > 1 else (),
    )


def _fullest(layers: Layers, energy: Energy) -> tuple[int, int] | None:
    """The fullest bar and its neighbours with the same layers."""
    bar = energy.fullest_bar
    if bar == 0:
        return None
    who, first, last = layers.at(bar), bar, bar
    while first > 1 and layers.at(first - 1) == who:
        first -= 1
    while last < layers.count and layers.at(last + 1) == who:
        last += 1
    return first, last


def _return(change: Change, layers: Layers) -> tuple[str, int] | None:
    back = [(min(later), name) for name in change.leaves if (later := _after(layers.bars[name], change.bar))]
    if not back:
        return None
    bar, name = min(back)
    return name, bar


def _after(bars: frozenset[int], bar: int) -> list[int]:
    return [each for each in bars if each > bar]


def stretches(bars: list[int]) -> tuple[tuple[int, int], ...]:
    """Bars that follow on one another, as first and last."""
    found: list[tuple[int, int]] = []
    for bar in bars:
        if found and found[-1][1] == bar - 1:
            found[-1] = (found[-1][0], bar)
        else:
            found.append((bar, bar))
    return tuple(found)
