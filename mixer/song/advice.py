"""What is right as it stands but perhaps not meant: told, never changed.

How far a loop may be stretched and moved stands on its card (`mixer.loops.limits`).
"""

from __future__ import annotations

from collections import defaultdict
from fractions import Fraction

from mixer.loops.catalog import VOICE
from mixer.loops.library import Library
from mixer.recipe.model import Recipe
from mixer.song.harmony import clashes
from mixer.song.plan import Part, Plan
from mixer.words.problem import Place, Problems


def advise(plan: Plan, problems: Problems) -> None:
    """Tell what is doubtful in a song that was laid out."""
    _far_from_home(plan, problems)
    _cut_short(plan, problems)
    for clash in clashes(plan):
        place = _place(clash.new, plan, "loop")
        facts = {"section": clash.section, "bars": clash.bars, "pairs": clash.pairs}
        problems.tell("chords-clash", place, layer=clash.new.layer.name, there=clash.there, **facts)
    if plan.frame.key is None:
        _keys(plan, problems)


def without_other_meters(recipe: Recipe, library: Library, problems: Problems) -> frozenset[str]:
    """Tell loops that are counted otherwise than the song, and give the names of their layers."""
    other = set()
    bar = recipe.meter.bar_seconds(Fraction(60))
    for layer in recipe.layers:
        card = library.find(layer.source.loop)
        if card is not None and card.meter.bar_seconds(Fraction(60)) != bar:
            place = layer.at.get("loop", Place(recipe.file))
            fitting = [each for each in library.cards.values() if each.meter.bar_seconds(Fraction(60)) == bar]
            alike = [each for each in fitting if each.role == card.role] or fitting
            facts = {"own": str(card.meter), "song": str(recipe.meter), "such_as": alike[0].name if alike else ""}
            problems.tell("other-meter", place, name=card.name, **facts)
            other.add(layer.name)
    return frozenset(other)


def _place(part: Part, plan: Plan, key: str = "name") -> Place:
    return part.layer.at.get(key, Place(plan.recipe.file))


def _far_from_home(plan: Plan, problems: Problems) -> None:
    for part in plan.parts:
        fit, place = part.fit, _place(part, plan, "loop")
        if not part.cues:
            continue
        card, limits = fit.card, fit.card.limits
        if part.layer.speed == "nearest" and limits.stretched_beyond(fit.stretch):
            song = plan.frame.tempo_bpm
            counted = song * fit.stretch  # the loop's own tempo, or half or twice that
            well = limits.tempos_bpm(counted)
            problems.tell(
                "stretched-far",
                place,
                name=card.name,
                own=float(card.tempo_bpm),
                counted=float(counted),
                song=float(song),
                slower=fit.stretch > 1,
                well=well and (float(well[0]), float(well[1])),
            )
        if limits.moved_beyond(fit.semitones) and part.layer.pitch == 0:
            problems.tell(
                "moved-far",
                place,
                name=card.name,
                own=str(card.key),
                song=str(plan.frame.key),
                semitones=fit.semitones,
                voice=VOICE in (fit.role, card.role),
                well=limits.semitones(),
            )


def _cut_short(plan: Plan, problems: Problems) -> None:
    """Tell sections that are shorter than a loop played in them from its start."""
    told = set()
    for section in plan.recipe.sections:
        longer = [
            part
            for part in plan.parts
            if part.fit.bars > section.bars and any(entry.layer == part.layer.name for entry in section.entries)
        ]
        names = tuple(part.layer.name for part in longer)
        if longer and (section.name, names) not in told:
            told.add((section.name, names))
            bars = max(part.fit.bars for part in longer)
            place = section.at.get("name", Place(plan.recipe.file))
            problems.tell(
                "loop-cut",
                place,
                section=section.name,
                bars=section.bars,
                layers=names,
                loop_bars=float(bars),
            )


def _keys(plan: Plan, problems: Problems) -> None:
    """Tell pitched loops whose keys do not hold the same notes, where the song names no key."""
    by_scale: dict[int, list[Part]] = defaultdict(list)
    for part in plan.parts:
        if part.cues and part.fit.card.key is not None and part.layer.pitch == 0:
            by_scale[part.fit.card.key.scale_root].append(part)
    if len(by_scale) > 1:
        parts = [parts[0] for parts in by_scale.values()]
        keys = {part.layer.name: str(part.fit.card.key) for part in parts}
        problems.tell("keys-differ", _place(parts[1], plan, "loop"), keys=keys)
