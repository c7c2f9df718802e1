"""Songs made by chance, over loops that are nothing but cards; they go by a seed, so they are the same everywhere."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from random import Random

from mixer.loops.card import Card
from mixer.loops.library import Library
from mixer.music.keys import Key
from mixer.music.meter import Meter
from mixer.recipe.model import Entry, Layer, LoopSource, Recipe, Section, Span
from mixer.song.plan import Plan, plan

ROLES = ("drums", "bass", "harmony", "melody", "percussion", "background", "bass", "drums")
LIBRARY = Library(
    {
        f"loop {n}": Card(
            name=f"loop {n}",
            path=Path(f"loop-{n}.wav"),
            tempo_bpm=Fraction(96),
            meter=Meter(4, 4),
            bars=(2, 4, 4, 8)[n % 4],
            role=role,
            key=Key("A", "minor") if n % 2 else None,
        )
        for n, role in enumerate(ROLES)
    }
)
LAYERS = ("tins", "rope", "lamp", "gulls 2", "oar")
NAMES = ("intro", "verse", "chorus", "bridge", "outro")
LEVELS = (-12.0, -8.0, -4.0, -2.5, 0.0, 3.0)


def laid_out(recipe: Recipe) -> Plan:
    return plan(recipe, LIBRARY)


def some_recipe(chance: Random) -> Recipe:
    """Two to five layers, all of them heard, in two to six sections; some sections are the same as an earlier one."""
    loops = chance.sample(range(len(ROLES) - 2), len(LAYERS))
    count = chance.randint(2, len(LAYERS))
    layers = tuple(
        Layer(name, LoopSource(f"loop {n}"), chance.choice(LEVELS), pan=chance.choice((-0.5, 0.0, 0.0)))
        for name, n in zip(LAYERS[:count], loops, strict=False)
    )
    sections: list[Section] = []
    for _ in range(chance.randint(2, 6)):
        if sections and chance.random() < 0.3:
            sections.append(chance.choice(sections))
        else:
            sections.append(some_section(chance, layers))
    heard = {entry.layer for section in sections for entry in section.entries}
    layers = tuple(layer for layer in layers if layer.name in heard)
    return Recipe("song.yaml", Fraction(96), layers, tuple(sections), key=Key("A", "minor"))


def some_section(chance: Random, layers: tuple[Layer, ...]) -> Section:
    bars = chance.choice((4, 8, 8, 12))
    here = [layer for layer in layers if chance.random() < 0.7] or [chance.choice(layers)]
    entries = tuple(_some_entry(chance, layer.name, bars) for layer in here)
    runs_on = frozenset(layer.name for layer in here if chance.random() < 0.1)
    return Section(chance.choice(NAMES), bars, entries, continues=runs_on)


def _some_entry(chance: Random, layer: str, bars: int) -> Entry:
    kind = chance.randrange(4)
    middle = chance.randint(2, bars - 1)
    spans = ((), (Span(middle, None),), (Span(1, middle),), (Span(1, 1), Span(middle + 1, None)))[kind]
    return Entry(layer, spans, chance.choice((0.0, 0.0, -4.0)), from_the_top=chance.random() < 0.1)
