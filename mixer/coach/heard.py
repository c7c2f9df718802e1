"""A brief's limits held against the layers that are heard, in the whole song and in each bar.

A loop counts as what its card says, whatever role the recipe gives the layer, and a layer that never sounds does not
count. Two layers of the same loop are two.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from mixer.coach.asked import KEPT, Asked, Outcome, bars_of, heard_parts, spans_of
from mixer.loops.card import Card
from mixer.recipe.brief import ALL, Brief
from mixer.song.plan import Part, Plan
from mixer.text.names import nearest, same_name, same_word
from mixer.words.problem import Place, Problem

AUDIBLE_DB = 1.0
"""Less than this is hardly heard as a change of level (common practice, no source)."""
AUDIBLE_PAN = 0.1


def layers(asked: Asked) -> Outcome:
    """Whether so many layers of a role are heard."""
    limit = asked.brief.layers[asked.role]
    parts = [part for part in heard_parts(asked.plan) if asked.role in (ALL, part.fit.card.role)]
    if len(parts) in limit:
        return KEPT
    if limit.is_over(len(parts)):
        extra = parts[int(limit.most or 0)]
        facts = {"role": asked.role, "names": _names(parts)}
        return asked.told("limit-many-layers", asked.at_layer(extra), **facts), spans_of(bars_of(extra))
    place = asked.at_layer(parts[-1]) if parts else asked.at("layers")
    return asked.told("limit-few-layers", place, names=_names(parts)), ()


def at_once(asked: Asked) -> Outcome:
    """Whether so many layers are heard in each bar."""
    plan, limit = asked.plan, asked.brief.at_once
    bars = {id(part): bars_of(part) for part in plan.parts}
    heard = {bar: [part for part in plan.parts if bar in bars[id(part)]] for bar in range(1, plan.recipe.bars + 1)}
    other = {bar for bar, parts in heard.items() if limit is not None and len(parts) not in limit}
    if limit is None or not other:
        return KEPT
    over = {bar for bar in other if limit.is_over(len(heard[bar]))}
    first = min(over or other)
    # All bars where the same layers are heard are one thing to look at.
    alike = {bar for bar in other if heard[bar] == heard[first]}
    kind = "limit-many-at-once" if over else "limit-few-at-once"
    place = asked.at_section(asked.section_at(first))
    return asked.told(kind, place, spans=spans_of(alike), names=_names(heard[first])), spans_of(other)


def loops(asked: Asked) -> Outcome:
    """Whether only these loops are heard."""
    allowed = {_loop_form(name) for name in asked.brief.loops}
    other = [part for part in heard_parts(asked.plan) if _loop_form(part.fit.card.name) not in allowed]
    return _elsewhere(asked, "limit-loops", other)


def loops_from(asked: Asked) -> Outcome:
    """Whether only loops of these sets are heard."""
    allowed = {same_word(name) for name in asked.brief.loops_from}
    other = [part for part in heard_parts(asked.plan) if same_word(part.fit.card.set) not in allowed]
    return _elsewhere(asked, "limit-loops-from", other)


def strangers(brief: Brief, cards: Iterable[Card]) -> list[Problem]:
    """Tell of loops and sets that a brief names and nobody here knows: with a slip in it, a limit cannot be kept."""
    cards = list(cards)
    loops_here, sets_here = {card.name for card in cards}, {card.set for card in cards if card.set}
    told = []
    for kind, asked_for, here, form in (
        ("brief-loop-unknown", brief.loops, loops_here, _loop_form),
        ("brief-set-unknown", brief.loops_from, sets_here, same_word),
    ):
        known = {form(name) for name in here}
        missing = [name for name in asked_for if form(name) not in known]
        facts = [{"name": name, "guess": nearest(name, sorted(here))} for name in missing]
        told += [Problem(kind, Place(brief.file), each) for each in facts]
    return told


def _elsewhere(asked: Asked, kind: str, other: Sequence[Part]) -> Outcome:
    if not other:
        return KEPT
    names = list(dict.fromkeys(part.fit.card.name for part in other))
    return asked.told(kind, asked.at_layer(other[0], "loop"), names=names), spans_of(bars_of(*other))


def _loop_form(name: str) -> str:
    return same_name(name).replace(" ", "-")


def _names(parts: Sequence[Part]) -> list[str]:
    return [part.layer.name for part in parts]


def must_use(asked: Asked) -> Outcome:
    """Whether all these are used; what is written for a layer that is not heard there does not count."""
    used = set(_used(asked.plan))
    missing = [word for word in asked.brief.must_use if word not in used]
    if not missing:
        return KEPT
    return asked.told("limit-must-use", Place(asked.plan.recipe.file), words=missing), ()


def _used(plan: Plan) -> Iterator[str]:
    layers = {part.layer.name: part.layer for part in heard_parts(plan)}
    for section in plan.recipe.sections:
        for entry in section.entries:
            layer = layers.get(entry.layer)
            if layer is None or not entry.bars(section.bars):
                continue
            if abs(layer.level_db + entry.level_db) >= AUDIBLE_DB:
                yield "level"
            if abs(layer.pan if entry.pan is None else entry.pan) >= AUDIBLE_PAN:
                yield "pan"
            if entry.fade_in_bars or section.fade_in_bars:
                yield "fade in"
            if entry.fade_out_bars or section.fade_out_bars:
                yield "fade out"
