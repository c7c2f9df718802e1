"""Single edits of a song, each with the change that must be found (none where nothing sounds different).

Everything goes by a seed, so it is the same everywhere.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction
from random import Random

from mixer.music.keys import Key
from mixer.music.meter import Meter
from mixer.recipe.model import Entry, Layer, LoopSource, Recipe, Section, Span
from tests.versions.chance_songs import LIBRARY, some_section


@dataclass(frozen=True)
class Edit:
    """An edited recipe and what must be found: kind, value, layer's new name, and the bars of the new version (of the
    old one, where the new has none) at which each of its places begins and ends. Several, if any of them is right."""

    recipe: Recipe
    one_of: tuple[tuple[object, ...], ...]


Editor = Callable[[Random, Recipe], "Edit | None"]


def _starts(recipe: Recipe) -> list[int]:
    return [sum(section.bars for section in recipe.sections[:n]) for n in range(len(recipe.sections))]


def _with_section(recipe: Recipe, number: int, **what: object) -> Recipe:
    sections = list(recipe.sections)
    sections[number] = replace(sections[number], **what)
    return replace(recipe, sections=tuple(sections))


def _with_entry(recipe: Recipe, number: int, layer: str, **what: object) -> Recipe:
    entries = tuple(replace(e, **what) if e.layer == layer else e for e in recipe.sections[number].entries)
    return _with_section(recipe, number, entries=entries)


def _with_layer(recipe: Recipe, name: str, **what: object) -> Recipe:
    layers = tuple(replace(each, **what) if each.name == name else each for each in recipe.layers)
    return replace(recipe, layers=layers)


def _heard(recipe: Recipe, layer: str) -> tuple[tuple[int, int], ...]:
    """First and last bar of a layer in each section, counted in the song."""
    found = []
    for start, section in zip(_starts(recipe), recipe.sections, strict=True):
        for entry in section.entries:
            if entry.layer == layer:
                bars = entry.bars(section.bars)
                found.append((start + bars[0], start + bars[-1]))
    return tuple(found)


def _whole(recipe: Recipe) -> tuple[tuple[int, int], ...]:
    starts = _starts(recipe)
    return tuple((start + 1, start + each.bars) for start, each in zip(starts, recipe.sections, strict=True))


def _pick_entry(chance: Random, recipe: Recipe) -> tuple[int, int, Section, Entry]:
    number = chance.randrange(len(recipe.sections))
    section = recipe.sections[number]
    return number, _starts(recipe)[number], section, chance.choice(section.entries)


def tempo(chance: Random, recipe: Recipe) -> Edit:
    new = Fraction(chance.choice((84, 90, 104, 112)))
    return Edit(replace(recipe, tempo_bpm=new), (("tempo", Fraction(96), new, "", _whole(recipe)),))


def key(chance: Random, recipe: Recipe) -> Edit:
    new = Key(chance.choice("BCDEFG"), chance.choice(("minor", "major")))
    return Edit(replace(recipe, key=new), (("key", "A minor", str(new), "", _whole(recipe)),))


def time(chance: Random, recipe: Recipe) -> Edit:  # noqa: ARG001 - every editor is called so
    return Edit(replace(recipe, meter=Meter(3, 4)), (("time", "4/4", "3/4", "", _whole(recipe)),))


def ending(chance: Random, recipe: Recipe) -> Edit:  # noqa: ARG001 - every editor is called so
    return Edit(replace(recipe, ending="last hit"), (("ending", "stop", "last hit", "", _whole(recipe)[-1:]),))


def title(chance: Random, recipe: Recipe) -> Edit:  # noqa: ARG001 - every editor is called so
    return Edit(replace(recipe, title="Low Tide"), (("title", "", "Low Tide", "", ()),))


def loop(chance: Random, recipe: Recipe) -> Edit:
    layer = chance.choice(recipe.layers)
    new = f"loop {chance.choice((6, 7))}"
    edited = _with_layer(recipe, layer.name, source=LoopSource(new))
    return Edit(edited, (("loop", layer.source.loop, new, layer.name, _heard(recipe, layer.name)),))


def role(chance: Random, recipe: Recipe) -> Edit:
    layer = chance.choice(recipe.layers)
    old = LIBRARY.find(layer.source.loop).role
    edited = _with_layer(recipe, layer.name, role="voice")
    return Edit(edited, (("role", old, "voice", layer.name, _heard(recipe, layer.name)),))


def pitch(chance: Random, recipe: Recipe) -> Edit:
    layer = chance.choice(recipe.layers)
    new = chance.choice((12, -5, 1))
    edited = _with_layer(recipe, layer.name, pitch=new)
    return Edit(edited, (("pitch", 0, new, layer.name, _heard(recipe, layer.name)),))


def speed(chance: Random, recipe: Recipe) -> Edit:
    layer = chance.choice(recipe.layers)
    word, factor = chance.choice((("half", Fraction(2)), ("double", Fraction(1, 2))))
    edited = _with_layer(recipe, layer.name, speed=word)
    return Edit(edited, (("speed", Fraction(1), factor, layer.name, _heard(recipe, layer.name)),))


def layer_level(chance: Random, recipe: Recipe) -> Edit:
    layer = chance.choice(recipe.layers)
    by = chance.choice((-3.0, 4.0))
    edited = _with_layer(recipe, layer.name, level_db=layer.level_db + by)
    levels = [
        layer.level_db + entry.level_db
        for section in recipe.sections
        for entry in section.entries
        if entry.layer == layer.name
    ]
    old = levels[0] if len(set(levels)) == 1 else layer.level_db
    return Edit(edited, (("level", old, old + by, layer.name, _heard(recipe, layer.name)),))


def layer_pan(chance: Random, recipe: Recipe) -> Edit:
    layer = chance.choice(recipe.layers)
    edited = _with_layer(recipe, layer.name, pan=0.25)
    return Edit(edited, (("pan", layer.pan, 0.25, layer.name, _heard(recipe, layer.name)),))


def layer_name(chance: Random, recipe: Recipe) -> Edit:
    layer = chance.choice(recipe.layers)
    layers = tuple(replace(each, name="mast") if each.name == layer.name else each for each in recipe.layers)
    sections = tuple(
        replace(
            section,
            entries=tuple(replace(e, layer="mast") if e.layer == layer.name else e for e in section.entries),
            continues=frozenset("mast" if name == layer.name else name for name in section.continues),
        )
        for section in recipe.sections
    )
    edited = replace(recipe, layers=layers, sections=sections)
    return Edit(edited, (("layer-name", layer.name, "mast", "mast", ()),))


def layer_gone(chance: Random, recipe: Recipe) -> Edit | None:
    layer = chance.choice(recipe.layers)
    sections = tuple(
        replace(each, entries=tuple(e for e in each.entries if e.layer != layer.name)) for each in recipe.sections
    )
    edited = replace(recipe, layers=tuple(x for x in recipe.layers if x is not layer), sections=sections)
    return Edit(edited, (("layer", layer.source.loop, None, "", _heard(recipe, layer.name)),))


def entry_gone(chance: Random, recipe: Recipe) -> Edit:
    number, start, section, entry = _pick_entry(chance, recipe)
    edited = _with_section(recipe, number, entries=tuple(e for e in section.entries if e != entry))
    bars = entry.bars(section.bars)
    place = ((start + bars[0], start + bars[-1]),)
    if len(_heard(recipe, entry.layer)) == 1:
        loop_name = next(layer.source.loop for layer in recipe.layers if layer.name == entry.layer)
        return Edit(edited, (("layer", loop_name, None, "", place),))
    return Edit(edited, (("plays", _spans(bars), None, entry.layer, place),))


def entry_new(chance: Random, recipe: Recipe) -> Edit | None:
    number = chance.randrange(len(recipe.sections))
    section = recipe.sections[number]
    away = [layer.name for layer in recipe.layers if all(e.layer != layer.name for e in section.entries)]
    if not away:
        return None
    name = chance.choice(away)
    bar = chance.randint(1, section.bars - 1)
    order = [layer.name for layer in recipe.layers]
    entries = sorted((*section.entries, Entry(name, (Span(bar, bar + 1),))), key=lambda e: order.index(e.layer))
    edited = _with_section(recipe, number, entries=tuple(entries))
    start = _starts(recipe)[number]
    return Edit(edited, (("plays", None, ((bar, bar + 1),), name, ((start + bar, start + bar + 1),)),))


def enters(chance: Random, recipe: Recipe) -> Edit | None:
    number, start, section, entry = _pick_entry(chance, recipe)
    bars = entry.bars(section.bars)
    if len(_spans(bars)) > 1 or entry.from_the_top:
        return None
    new = chance.choice([bar for bar in range(1, bars[-1] + 1) if bar != bars[0]] or [0])
    if not new:
        return None
    edited = _with_entry(recipe, number, entry.layer, spans=(Span(new, bars[-1]),))
    low, high = sorted((bars[0], new))
    return Edit(edited, (("enters", bars[0], new, entry.layer, ((start + low, start + high - 1),)),))


def leaves(chance: Random, recipe: Recipe) -> Edit | None:
    number, start, section, entry = _pick_entry(chance, recipe)
    bars = entry.bars(section.bars)
    if len(_spans(bars)) > 1:
        return None
    new = chance.choice([bar for bar in range(bars[0], section.bars + 1) if bar != bars[-1]] or [0])
    if not new:
        return None
    edited = _with_entry(recipe, number, entry.layer, spans=(Span(bars[0], new),))
    low, high = sorted((bars[-1], new))
    return Edit(edited, (("leaves", bars[-1], new, entry.layer, ((start + low + 1, start + high),)),))


def rests(chance: Random, recipe: Recipe) -> Edit | None:
    number, start, section, entry = _pick_entry(chance, recipe)
    bars = entry.bars(section.bars)
    inner = [bar for bar in bars[1:-1] if bar - 1 in bars and bar + 1 in bars]
    if not inner or entry.from_the_top:
        return None
    quiet = chance.choice(inner)
    new = _spans([bar for bar in bars if bar != quiet])
    edited = _with_entry(recipe, number, entry.layer, spans=tuple(Span(*span) for span in new))
    return Edit(edited, (("rests", _spans(bars), new, entry.layer, ((start + quiet, start + quiet),)),))


def entry_level(chance: Random, recipe: Recipe) -> Edit:
    return _entry_value(chance, recipe, "level", "level_db", -7.0)


def entry_pan(chance: Random, recipe: Recipe) -> Edit:
    return _entry_value(chance, recipe, "pan", "pan", 0.75)


def entry_fade_in(chance: Random, recipe: Recipe) -> Edit:
    return _entry_value(chance, recipe, "fade-in", "fade_in_bars", Fraction(1))


def entry_fade_out(chance: Random, recipe: Recipe) -> Edit:
    return _entry_value(chance, recipe, "fade-out", "fade_out_bars", Fraction(1, 2))


def _entry_value(chance: Random, recipe: Recipe, kind: str, field: str, new: object) -> Edit:
    number, start, section, entry = _pick_entry(chance, recipe)
    layer = next(each for each in recipe.layers if each.name == entry.layer)
    old = getattr(entry, field)
    if kind == "level":
        old, shown = layer.level_db + old, layer.level_db + new
    else:
        old, shown = (layer.pan if kind == "pan" else old), new
    bars = entry.bars(section.bars)
    edited = _with_entry(recipe, number, entry.layer, **{field: new})
    return Edit(edited, ((kind, old, shown, entry.layer, ((start + bars[0], start + bars[-1]),)),))


def from_the_top(chance: Random, recipe: Recipe) -> Edit | None:
    number, start, section, entry = _pick_entry(chance, recipe)
    bars = entry.bars(section.bars)
    if entry.from_the_top or entry.layer in section.continues or len(_spans(bars)) > 1:
        return None
    edited = _with_entry(recipe, number, entry.layer, from_the_top=True)
    loop_name = next(layer.source.loop for layer in recipe.layers if layer.name == entry.layer)
    if (bars[0] - 1) % LIBRARY.find(loop_name).bars == 0:
        return Edit(edited, ())
    place = ((start + bars[0], start + bars[-1]),)
    return Edit(edited, (("phase", "in step", "from the top", entry.layer, place),))


def section_gone(chance: Random, recipe: Recipe) -> Edit | None:
    number = chance.randrange(len(recipe.sections))
    section = recipe.sections[number]
    edited = replace(recipe, sections=recipe.sections[:number] + recipe.sections[number + 1 :])
    if len(recipe.sections) < 3:
        return None
    # Of sections that are alike and follow on one another, each may be called the one that is gone.
    places = [n for n in range(len(recipe.sections)) if _without(recipe, n) == edited.sections]
    whole = _whole(recipe)
    return Edit(edited, tuple(("section", section.bars, None, "", (whole[n],)) for n in places))


def _without(recipe: Recipe, number: int) -> tuple[Section, ...]:
    return recipe.sections[:number] + recipe.sections[number + 1 :]


def section_new(chance: Random, recipe: Recipe) -> Edit:
    number = chance.randrange(len(recipe.sections) + 1)
    section = replace(some_section(chance, recipe.layers), name="interlude")
    edited = replace(recipe, sections=(*recipe.sections[:number], section, *recipe.sections[number:]))
    return Edit(edited, (("section", None, section.bars, "", (_whole(edited)[number],)),))


def section_moved(chance: Random, recipe: Recipe) -> Edit | None:
    number = chance.randrange(len(recipe.sections) - 1)
    one, two = recipe.sections[number : number + 2]
    if one.name == two.name:
        return None
    edited = replace(recipe, sections=(*recipe.sections[:number], two, one, *recipe.sections[number + 2 :]))
    old, new = _whole(recipe), _whole(edited)
    # Where others of the same kind stand beside them, the shortest account of it may be about one of those.
    pairs = [
        (i, j)
        for i in range(len(old))
        for j in range(len(new))
        if i != j and recipe.sections[i] == edited.sections[j] and _without(recipe, i) == _without(edited, j)
    ]
    return Edit(edited, tuple(("moved", old[i][0], new[j][0], "", (new[j],)) for i, j in pairs))


def section_name(chance: Random, recipe: Recipe) -> Edit:
    number = chance.randrange(len(recipe.sections))
    edited = _with_section(recipe, number, name="interlude")
    old = recipe.sections[number].name
    return Edit(edited, (("name", old, "interlude", "", (_whole(recipe)[number],)),))


def section_bars(chance: Random, recipe: Recipe) -> Edit | None:
    """A length with which no span is cut in two."""
    number = chance.randrange(len(recipe.sections))
    section = recipe.sections[number]
    lengths = [
        bars
        for bars in range(2, 17)
        if bars != section.bars and all(_keeps(e, section.bars, bars) for e in section.entries)
    ]
    if not lengths:
        return None
    new = chance.choice(lengths)
    edited = _with_section(recipe, number, bars=new)
    return Edit(edited, (("bars", section.bars, new, "", (_whole(edited)[number],)),))


def _keeps(entry: Entry, old: int, new: int) -> bool:
    bars = entry.bars(min(old, new))
    far = entry.bars(max(old, new))
    open_ended = not entry.spans or entry.spans[-1].last is None
    return bool(bars) and (far == bars or (open_ended and bars[-1] == min(old, new)))


def meant(chance: Random, recipe: Recipe) -> Edit:
    number = chance.randrange(len(recipe.sections))
    edited = _with_section(recipe, number, meant="all windows open")
    return Edit(edited, (("meant", "", "all windows open", "", (_whole(recipe)[number],)),))


def section_fade(chance: Random, recipe: Recipe) -> Edit:
    number = chance.randrange(len(recipe.sections))
    edited = _with_section(recipe, number, fade_out_bars=Fraction(2))
    return Edit(edited, (("section-fade-out", Fraction(0), Fraction(2), "", (_whole(recipe)[number],)),))


def layers_in_other_order(chance: Random, recipe: Recipe) -> Edit:  # noqa: ARG001 - every editor is called so
    return Edit(replace(recipe, layers=tuple(reversed(recipe.layers))), ())


def silent_layer(chance: Random, recipe: Recipe) -> Edit:  # noqa: ARG001 - every editor is called so
    return Edit(replace(recipe, layers=(*recipe.layers, Layer("spare", LoopSource("loop 7")))), ())


def spelt_otherwise(chance: Random, recipe: Recipe) -> Edit:
    """The whole section said as its bars, and bars one by one said as a span."""
    number, _, section, entry = _pick_entry(chance, recipe)
    spans = tuple(Span(bar, bar) for bar in entry.bars(section.bars))
    return Edit(_with_entry(recipe, number, entry.layer, spans=spans), ())


def level_moved_about(chance: Random, recipe: Recipe) -> Edit:
    """Said at the layer instead of at its entries."""
    layer = chance.choice(recipe.layers)
    edited = _with_layer(recipe, layer.name, level_db=layer.level_db - 2)
    for number, section in enumerate(recipe.sections):
        for entry in section.entries:
            if entry.layer == layer.name:
                edited = _with_entry(edited, number, layer.name, level_db=entry.level_db + 2)
    return Edit(edited, ())


EDITORS: tuple[Editor, ...] = (
    tempo, key, time, ending, title, loop, role, pitch, speed, layer_level, layer_pan, layer_name, layer_gone,
    entry_gone, entry_new, enters, leaves, rests, entry_level, entry_pan, entry_fade_in, entry_fade_out, from_the_top,
    section_gone, section_new, section_moved, section_name, section_bars, meant, section_fade,
    layers_in_other_order, silent_layer, spelt_otherwise, level_moved_about,
)  # fmt: skip


def _spans(bars: list[int]) -> tuple[tuple[int, int], ...]:
    spans: list[list[int]] = []
    for bar in bars:
        if spans and spans[-1][1] == bar - 1:
            spans[-1][1] = bar
        else:
            spans.append([bar, bar])
    return tuple((first, last) for first, last in spans)
