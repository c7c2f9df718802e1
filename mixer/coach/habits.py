"""Habits of a style, asked about only when the recipe or the brief names the style. Common practice, no source.

They belong to places and times; none is the default.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from mixer.coach.own import Own
from mixer.coach.questions import Candidate, bars_of, half_of, last_bar, mark_at, with_layer, without
from mixer.coach.sections import mean_energy
from mixer.coach.stands_out import changes
from mixer.song.plan import Mark

NEW_EVERY_BARS = 8
UNITS = {"verse and chorus": 4, "dance": 8}
NOT_ASKED = {"rounds and cycles": frozenset({"repeats", "long", "always"})}
"""What is the point of a style is no question in it."""


def habits(own: Own, style: str) -> Iterator[Candidate]:
    """Give what can be asked by the habits of a style; nothing for styles that are not known."""
    if style == "verse and chorus":
        yield from _chorus_over_verse(own)
        yield from _begins_and_ends(own, style)
    if style == "dance":
        yield from _breakdown(own)
    if style in UNITS:
        yield from _lengths(own, style)
        yield from _something_new(own, style)
    if style == "rounds and cycles":
        yield from _one_by_one(own)


def _named(own: Own, name: str) -> list[Mark]:
    return [mark for mark in own.plan.marks if mark.name.casefold().startswith(name) and own.layers.within(mark)]


def _chorus_over_verse(own: Own) -> Iterator[Candidate]:
    verses, choruses = _named(own, "verse"), _named(own, "chorus")
    if not verses or not choruses:
        return
    verse, chorus = verses[0], choruses[0]
    if mean_energy(own.energy, chorus) > 1.05 * mean_energy(own.energy, verse):
        return
    missing = [name for name in own.layers.within(verse) if name not in own.layers.within(chorus)]
    if missing:
        name = max(missing, key=lambda each: own.share(each, verse))
        tried = with_layer(own.plan, chorus, name, own.layers, *bars_of(chorus))
    else:
        name = own.most(verse)
        tried = without(own.plan, verse, [name], *bars_of(verse))
    facts = {"verse": bars_of(verse), "chorus": bars_of(chorus), "name": name, "comes": bool(missing)}
    yield Candidate("habit_chorus", 1.2, [name], bars_of(chorus), tried, facts)


def _begins_and_ends(own: Own, style: str) -> Iterator[Candidate]:
    sounding = [mark for mark in own.plan.marks if own.layers.within(mark)]
    if len(sounding) < 2:
        return
    first, last = sounding[0], sounding[-1]
    fullest = max(mean_energy(own.energy, mark) for mark in sounding)
    if mean_energy(own.energy, first) > 0.95 * fullest:
        tried = without(own.plan, first, [own.most(first)], *bars_of(first))
        facts = {"bars": bars_of(first), "style": style, "most": own.most(first)}
        yield Candidate("habit_begins", 1.0, [own.most(first)], bars_of(first), tried, facts)
    if mean_energy(own.energy, last) > 0.95 * fullest and own.plan.recipe.ending == "stop":
        tried = without(own.plan, last, [own.most(last)], half_of(last) + 1, last_bar(last))
        facts = {"bars": bars_of(last), "style": style}
        yield Candidate("habit_ends", 0.95, [own.most(last)], bars_of(last), tried, facts)


def _lengths(own: Own, style: str) -> Iterator[Candidate]:
    unit = UNITS[style]
    for mark in own.plan.marks:
        over = mark.bars % unit
        who = own.layers.within(mark)
        if mark.bars > unit and over and len(who) > 1:
            first = last_bar(mark) - over + 1
            others = [name for name, bars in who.items() if name != own.most(mark) and max(bars) >= first]
            if others:
                tried = without(own.plan, mark, others, first, last_bar(mark))
                facts = {"name": mark.name, "bars": bars_of(mark), "unit": unit, "style": style, "over": over}
                yield Candidate("habit_length", 0.9, (), bars_of(mark), tried, facts)


def _something_new(own: Own, style: str) -> Iterator[Candidate]:
    turns = [1, *(change.bar for change in changes(own.layers, own.energy)), own.layers.count + 1]
    for first, after in pairwise(turns):
        if after - first <= NEW_EVERY_BARS or not own.layers.at(first):
            continue
        bar = first + NEW_EVERY_BARS
        mark = mark_at(own.plan, bar)
        tried = without(own.plan, mark, [own.most(mark)], bar, min(last_bar(mark), bar + 1))
        facts = {"bars": (first, after - 1), "bar": bar, "style": style}
        yield Candidate("habit_new", 1.1, (), (first, after - 1), tried, facts)


def _breakdown(own: Own) -> Iterator[Candidate]:
    drums = [name for name in own.heard if own.roles[name] == "drums"]
    inner = [mark for mark in own.plan.marks[1:-1] if own.layers.within(mark)]
    if not drums or not inner:
        return
    if any(not set(drums) & own.layers.within(mark).keys() for mark in inner):
        return
    mark = min(inner, key=lambda mark: mean_energy(own.energy, mark))
    there = [name for name in drums if name in own.layers.within(mark)]
    bars = max(mark.first_bar, last_bar(mark) - 7), last_bar(mark)
    tried = without(own.plan, mark, there, *bars)
    facts = {"drums": there, "bars": bars}
    yield Candidate("habit_breakdown", 1.05, there, bars, tried, facts)


def _one_by_one(own: Own) -> Iterator[Candidate]:
    arrivals: dict[int, list[str]] = {}
    for name in own.heard:
        arrivals.setdefault(min(own.layers.bars[name]), []).append(name)
    for bar, names in arrivals.items():
        mark = mark_at(own.plan, bar)
        if len(names) > 1 and last_bar(mark) > bar:
            tried = without(own.plan, mark, [names[-1]], bar, max(bar, half_of(mark)))
            facts = {"bar": bar, "names": tuple(names), "late": names[-1]}
            yield Candidate("habit_one_by_one", 1.1, names, (bar, last_bar(mark)), tried, facts)
