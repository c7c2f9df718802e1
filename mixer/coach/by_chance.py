"""Songs by chance inside a brief: what a class might do with a set of loops, tried before the lesson.

A song is put together by a seed, and taken only if the brief's own look at it finds nothing missing; so nothing here
has to know what a brief may ask for.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from fractions import Fraction
from random import Random

from mixer.coach.brief import limits_of
from mixer.loops.card import Card
from mixer.loops.library import Library
from mixer.material.fit import Frame
from mixer.recipe.brief import Brief, Range
from mixer.recipe.model import Entry, Layer, LoopSource, Recipe, Section, Span
from mixer.song.plan import Plan, plan
from mixer.text.names import same_name

ROLES = ("drums", "bass", "harmony", "melody", "percussion", "background")
TRIES = 60
"""Songs that are thrown away before one inside the brief is given up."""
MIDDLE = ("verse", "chorus", "verse", "chorus", "bridge", "chorus")
USUAL_BARS = (4, 8)
HEARD = 0.65
"""How often a layer is heard in a section."""


def usual_frame(cards: Sequence[Card], brief: Brief | None) -> Frame:
    """The tempo, time and key that most of the loops have, the tempo inside the brief's.

    Raises
    ------
    ValueError
        If there are no loops.
    """
    if not cards:
        raise ValueError("there are no loops")
    meter = Counter(card.meter for card in cards).most_common(1)[0][0]
    tempo_bpm = Counter(card.tempo_bpm for card in cards if card.meter == meter).most_common(1)[0][0]
    limit = brief.tempo_bpm if brief is not None else None
    if limit is not None:
        tempo_bpm = max(tempo_bpm, limit.least or tempo_bpm)
        tempo_bpm = min(tempo_bpm, limit.most or tempo_bpm)
    keys = Counter(card.key for card in cards if card.key is not None).most_common(1)
    return Frame(Fraction(tempo_bpm), meter, keys[0][0] if keys else None)


def songs_by_chance(cards: Sequence[Card], frame: Frame, brief: Brief | None, count: int) -> Iterator[Plan | None]:
    """Give songs, always the same ones; None for each that could not be put together inside the brief."""
    usable = [card for card in cards if card.meter == frame.meter and _allowed(card, brief)]
    library = Library({same_name(card.name): card for card in usable})
    for number in range(1, count + 1):
        chance = Random(number)  # noqa: S311 - the same everywhere is what is wanted
        yield next((song for _ in range(TRIES) if (song := _song(chance, number, library, frame, brief))), None)


def _allowed(card: Card, brief: Brief | None) -> bool:
    if brief is None:
        return True
    named = not brief.loops or same_name(card.name) in {same_name(name) for name in brief.loops}
    return named and (not brief.loops_from or same_name(card.set) in {same_name(name) for name in brief.loops_from})


def _song(chance: Random, number: int, library: Library, frame: Frame, brief: Brief | None) -> Plan | None:
    layers = _layers(chance, list(library.cards.values()), brief)
    if len(layers) < 2:
        return None
    sections = tuple(_section(chance, name, layers, brief) for name in _names(chance, brief))
    heard = {entry.layer for section in sections for entry in section.entries}
    recipe = Recipe(
        file=f"song {number}",
        tempo_bpm=frame.tempo_bpm,
        layers=tuple(layer for layer in layers if layer.name in heard),
        sections=sections,
        key=frame.key,
        meter=frame.meter,
        ending="last hit" if brief is not None and brief.ending == "last hit" else "stop",
    )
    song = plan(recipe, library)
    return song if brief is None or all(limit.kept for limit in limits_of(brief, song)) else None


def _layers(chance: Random, cards: list[Card], brief: Brief | None) -> list[Layer]:
    layers = []
    for role in ROLES:
        limit = brief.layers.get(role) if brief is not None else None
        here = [card.name for card in cards if card.role == role]
        least = int(limit.least or 0) if limit else 0
        most = int(limit.most) if limit and limit.most is not None else 1
        count = min(len(here), chance.randint(min(least, most), most))
        layers += [Layer(name, LoopSource(name)) for name in chance.sample(here, count)]
    return layers


def _names(chance: Random, brief: Brief | None) -> list[str]:
    limit = brief.sections if brief is not None and brief.sections else Range(Fraction(3), Fraction(5))
    least = int(limit.least or 1)
    count = chance.randint(least, max(least, int(limit.most or least + 3)))
    wanted = list(brief.must_have) if brief is not None else ["intro", "outro"]
    first = [name for name in wanted if same_name(name).startswith("intro")]
    last = [name for name in wanted if same_name(name).startswith(("outro", "ending"))]
    middle = [name for name in wanted if name not in first + last]
    middle += MIDDLE[: max(0, count - len(wanted))]
    return [*first, *middle, *last]


def _section(chance: Random, name: str, layers: list[Layer], brief: Brief | None) -> Section:
    lengths = [int(each.least or each.most or 4) for each in brief.section_bars] if brief is not None else []
    bars = chance.choice(lengths or USUAL_BARS)
    here = [layer for layer in layers if chance.random() < HEARD] or [chance.choice(layers)]
    most = brief.at_once.most if brief is not None and brief.at_once else None
    if most is not None and len(here) > most:
        here = [layer for layer in here if layer in chance.sample(here, int(most))]
    late = Span(bars // 2 + 1, None)
    entries = tuple(Entry(each.name, (late,) if bars > 1 and chance.random() < 0.2 else ()) for each in here)
    return Section(name, bars, entries)
