"""The same musical place in two versions: section and bar, whatever their tempo and form.

Sections go with one another as `pairing` says. Where a section goes on longer than its partner, the place is the
partner's last bar; where it has no partner, the place is that of the nearest bar that has one.
"""

from __future__ import annotations

from typing import Literal

from mixer.record import record
from mixer.versions.change import Both
from mixer.versions.changes import Compared


@record
class There:
    """Where a bar of one version is in the other.

    Parameters
    ----------
    bar : counted in the song from 1
    why : "same" bar of the same section; "shorter": the section ends before that bar there; "alone": there is no such
        section there
    """

    bar: int
    why: Literal["same", "shorter", "alone"] = "same"


def places(compared: Compared) -> Both[tuple[There, ...]]:
    """Give for each bar of either version where it is in the other one."""
    pairs = [(slot.old, slot.new) for slot in compared.slots if slot.old and slot.new]
    there: dict[int, There] = {}
    back: dict[int, There] = {}
    for old, new in pairs:
        _pair(old.bars_before, old.section.bars, new.bars_before, new.section.bars, there)
        _pair(new.bars_before, new.section.bars, old.bars_before, old.section.bars, back)
    old_bars, new_bars = compared.old.recipe.bars, compared.new.recipe.bars
    return Both(_all(there, old_bars, new_bars), _all(back, new_bars, old_bars))


def _pair(before: int, bars: int, other_before: int, other_bars: int, found: dict[int, There]) -> None:
    for bar in range(1, bars + 1):
        found[before + bar] = There(other_before + min(bar, other_bars), "same" if bar <= other_bars else "shorter")


def _all(found: dict[int, There], bars: int, other_bars: int) -> tuple[There, ...]:
    """Fill in the bars of sections that have no partner; the earlier bar where two are as near."""
    told = []
    for bar in range(1, bars + 1):
        near = min(found, key=lambda other: (abs(other - bar), other), default=None)
        alone = There(min(bar, other_bars) if near is None else found[near].bar, "alone")
        told.append(found.get(bar, alone))
    return tuple(told)
