"""Which bars are heard of two versions, so that each change is heard old and then new.

Each change is heard where it comes first; changes of one section that touch are one passage. A bar goes before it,
so that the ear is in the song; of a long passage the first bars are heard.
"""

from __future__ import annotations

from collections.abc import Sequence

from mixer.record import record, replace
from mixer.versions.change import Both, Change, Passage, Stretch
from mixer.versions.changes import Compared

BARS_BEFORE = 1
MOST_BARS = 4
MOST_PASSAGES = 12


@record
class Heard:
    """A passage to be heard.

    Parameters
    ----------
    name : the section's
    bars : first and last bar in each version, counted in the song from 1, with the bar before; None where it has none
    cut : whether it goes on for longer
    again : bars from which the sections begin in which a change of it comes again, which are not heard; counted in the
        new version, of what is gone in the old
    """

    name: str
    bars: Both[tuple[int, int] | None]
    cut: bool
    again: tuple[int, ...] = ()


def heard_passages(compared: Compared) -> tuple[list[Heard], int]:
    """Give the passages to be heard, in the song's order, and how many more there are."""
    found = [(_first(change), change.passages) for change in compared.changes if change.heard and change.passages]
    joined: list[tuple[Passage, tuple[Passage, ...]]] = []
    for passage, all_of_it in found:
        touching = next((n for n, (other, _) in enumerate(joined) if _touch(passage, other)), None)
        if touching is None:
            joined.append((passage, all_of_it))
        else:
            other, known = joined[touching]
            both = Both(_union(other.old, passage.old), _union(other.new, passage.new))
            joined[touching] = both, (*known, *all_of_it)
    ordered = sorted(joined, key=lambda each: _in_song(each[0]))
    told = ordered[:MOST_PASSAGES]
    begins = {_section_bar(passage) for passage, _ in told}
    heard = [_heard(passage, sorted({_section_bar(each) for each in places} - begins)) for passage, places in told]
    return heard, max(0, len(ordered) - MOST_PASSAGES)


def _first(change: Change) -> Passage:
    """Give where a change comes first; in both versions, if there is such a place."""
    first = next((each for each in change.passages if each.old and each.new), change.passages[0])
    if change.kind == "bars" and first.old and first.new:  # where one goes on and the other ends
        shared = min(first.old.last_bar, first.new.last_bar)
        return Both(replace(first.old, first_bar=shared), replace(first.new, first_bar=shared))
    return first


def _in_song(passage: Passage) -> tuple[int, int]:
    here = passage.new or passage.old
    return (here.song_first_bar, here.song_last_bar) if here else (0, 0)


def _section_bar(passage: Passage) -> int:
    here = passage.new or passage.old
    return here.section_bar if here else 0


def _touch(one: Passage, other: Passage) -> bool:
    """Whether they lie in the same section of the same versions and overlap or follow on one another."""
    for mine, yours in ((one.old, other.old), (one.new, other.new)):
        if (mine is None) != (yours is None):
            return False
        if mine and yours:
            apart = mine.first_bar > yours.last_bar + 1 or yours.first_bar > mine.last_bar + 1
            if mine.section != yours.section or apart:
                return False
    return True


def _union(one: Stretch | None, other: Stretch | None) -> Stretch | None:
    if one is None or other is None:
        return one or other
    first, last = min(one.first_bar, other.first_bar), max(one.last_bar, other.last_bar)
    return Stretch(one.section, one.name, one.bars_before, first, last)


def _heard(passage: Passage, again: Sequence[int]) -> Heard:
    here = passage.new or passage.old
    sides = [_song_bars(side) if side else None for side in (passage.old, passage.new)]
    longest = max(side.last_bar - side.first_bar + 1 for side in (passage.old, passage.new) if side)
    return Heard(here.name if here else "", Both(*sides), longest > MOST_BARS, tuple(again))


def _song_bars(stretch: Stretch) -> tuple[int, int]:
    first = stretch.song_first_bar
    return max(1, first - BARS_BEFORE), min(stretch.song_last_bar, first + MOST_BARS - 1)
