"""The plan as plain data for charts, words and other programs: who is heard in which bars of which section."""

from __future__ import annotations

from mixer.record import record
from mixer.song.plan import Part, Plan


@record
class OutlineEntry:
    """A layer in a section; `spans` are its first and last bars in the section, empty for all of it."""

    layer: str
    spans: tuple[tuple[int, int], ...]


@record
class OutlineSection:
    """A section as it turned out."""

    name: str
    letter: str
    first_bar: int
    bars: int
    start_seconds: float
    meant: str
    entries: tuple[OutlineEntry, ...]

    def for_pages(self) -> dict[str, str | int | float]:
        """Give what the scripts of pages want of it; its bars are counted in the song, `start` is in seconds."""
        return {
            "letter": self.letter,
            "name": self.name,
            "first": self.first_bar,
            "last": self.first_bar + self.bars - 1,
            "bars": self.bars,
            "start": self.start_seconds,
        }


@record
class OutlineLayer:
    """A layer along the song; `heard` are the first and last bars, counted in the song."""

    name: str
    role: str
    loop: str
    heard: tuple[tuple[int, int], ...]


@record
class Outline:
    """A song in plain data."""

    title: str
    by: str
    tempo_bpm: float
    key: str
    time: str
    seconds: float
    bars: int
    sections: tuple[OutlineSection, ...]
    layers: tuple[OutlineLayer, ...]


def outline(plan: Plan) -> Outline:
    """Give the plan as plain data."""
    recipe = plan.recipe
    return Outline(
        title=recipe.title,
        by=recipe.by,
        tempo_bpm=float(recipe.tempo_bpm),
        key=str(recipe.key) if recipe.key else "",
        time=str(recipe.meter),
        seconds=plan.seconds,
        bars=recipe.bars,
        sections=_sections(plan),
        layers=tuple(_layer(part) for part in plan.parts),
    )


def _layer(part: Part) -> OutlineLayer:
    heard: list[tuple[int, int]] = []
    for cue in part.cues:
        if heard and heard[-1][1] == cue.enter_bar - 1:
            heard[-1] = (heard[-1][0], cue.exit_bar)
        else:
            heard.append((cue.enter_bar, cue.exit_bar))
    return OutlineLayer(part.layer.name, part.fit.role, part.fit.card.name, tuple(heard))


def _sections(plan: Plan) -> tuple[OutlineSection, ...]:
    known = {part.layer.name for part in plan.parts}
    return tuple(
        OutlineSection(
            name=section.name,
            letter=mark.letter,
            first_bar=mark.first_bar,
            bars=section.bars,
            start_seconds=mark.start_frame / plan.rate_hz,
            meant=section.meant,
            entries=tuple(
                OutlineEntry(entry.layer, spans_of(entry.bars(section.bars), section.bars))
                for entry in section.entries
                if entry.layer in known
            ),
        )
        for section, mark in zip(plan.recipe.sections, plan.marks, strict=True)
    )


def spans_of(bars: list[int], section_bars: int) -> tuple[tuple[int, int], ...]:
    """Give bars as spans; nothing where they are the whole section."""
    if len(bars) == section_bars:
        return ()
    spans: list[tuple[int, int]] = []
    for bar in bars:
        if spans and spans[-1][1] == bar - 1:
            spans[-1] = (spans[-1][0], bar)
        else:
            spans.append((bar, bar))
    return tuple(spans)
