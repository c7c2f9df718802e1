"""The plan as a chart: who is heard in which bars, how loud it is meant to be, and where it fades."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from mixer.music.meter import Meter
from mixer.pages.chart import Beat, Chart, ChartLayer, ChartSection, Hairpin
from mixer.recipe.model import Entry, Section
from mixer.song.outline import outline
from mixer.song.plan import Part, Plan, entry_of
from mixer.words.english import told

DYNAMICS_DB = {"pp": -12.0, "p": -8.0, "mp": -4.0, "mf": 0.0, "f": 3.0, "ff": 6.0}
"""What a recipe's level words stand for; a level in decibels gets the mark that is nearest."""


def chart_of(plan: Plan, energy: Sequence[float] = ()) -> Chart:
    """Give the plan as a chart.

    Parameters
    ----------
    plan : the song
    energy : for each bar 0 to 1; empty where it was not measured
    """
    song, meter = outline(plan), plan.recipe.meter
    return Chart(
        title=plan.title,
        by=song.by,
        tempo=f"{song.tempo_bpm:g}",
        key=song.key,
        time=song.time,
        beat=_beat(meter),
        beats_per_bar=meter.beats,
        bar_seconds=float(plan.frame.bar_seconds),
        length=told.minutes(song.seconds),
        sections=tuple(
            ChartSection(each.letter, each.name, each.first_bar, each.bars, each.meant) for each in song.sections
        ),
        layers=tuple(_layer(part, plan, layer.heard) for part, layer in zip(plan.parts, song.layers, strict=True)),
        energy=tuple(energy),
    )


def _beat(meter: Meter) -> Beat:
    """In compound time three units make a beat: a dotted note of twice the length of one."""
    return Beat(meter.unit // 2, dotted=True) if meter.compound else Beat(meter.unit)


def _layer(part: Part, plan: Plan, heard: tuple[tuple[int, int], ...]) -> ChartLayer:
    pins: list[Hairpin] = []
    levels: list[tuple[int, str]] = []
    for first_bar, section, entry in _played(part, plan):
        bars = entry.bars(section.bars)
        if not bars:
            continue
        pins += _pins(section, entry, bars, first_bar)
        level = _mark(part.layer.level_db + entry.level_db)
        if not levels or levels[-1][1] != level:
            levels.append((first_bar + bars[0] - 1, level))
    return ChartLayer(part.layer.name, part.fit.role, heard, tuple(pins), tuple(levels))


def _played(part: Part, plan: Plan) -> Iterator[tuple[int, Section, Entry]]:
    first_bar = 1
    for section in plan.recipe.sections:
        entry = entry_of(section, part.layer.name)
        if entry is not None:
            yield first_bar, section, entry
        first_bar += section.bars


def _pins(section: Section, entry: Entry, bars: list[int], first_bar: int) -> list[Hairpin]:
    """The fades of an entry and of its section, where the layer is heard."""
    start, end = first_bar + bars[0] - 1, first_bar + bars[-1]
    begins, ends = first_bar, first_bar + section.bars
    found = []
    if entry.fade_in_bars:
        found.append(Hairpin(float(start), float(start + entry.fade_in_bars), up=True))
    if entry.fade_out_bars:
        found.append(Hairpin(float(end - entry.fade_out_bars), float(end), up=False))
    if section.fade_in_bars and not entry.fade_in_bars and start < begins + section.fade_in_bars:
        found.append(Hairpin(float(begins), float(begins + section.fade_in_bars), up=True))
    if section.fade_out_bars and not entry.fade_out_bars and end > ends - section.fade_out_bars:
        found.append(Hairpin(float(ends - section.fade_out_bars), float(ends), up=False))
    return found


def _mark(level_db: float) -> str:
    return min(DYNAMICS_DB, key=lambda mark: abs(DYNAMICS_DB[mark] - level_db))
