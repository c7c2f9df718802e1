"""The song laid out: which layer is heard from which frame to which, from where in its loop, and how loud.

Pure data and exact arithmetic; no sound is opened. Bars are rational numbers and become frames once, counted
from the start of the song.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction
from pathlib import PurePath

from mixer.loops.library import Library
from mixer.material import kinds
from mixer.material.fit import Fit, Frame
from mixer.music.meter import nearest_frame
from mixer.recipe.model import Entry, Layer, Recipe, Section
from mixer.record import record
from mixer.song.gains import Point, gain_points
from mixer.text.names import visible

RATE_HZ = 44_100
# "Last hit": the downbeat after the last bar dies away over so many beats.
LAST_HIT_BEATS = 2


@record
class Cue:
    """A layer heard without a break, running on in its loop.

    Parameters
    ----------
    enter_bar, exit_bar : the first and the last bar heard, counted in the song from 1
    start_frame, end_frame : where it begins and where it has ended
    phase_bars : bars of the loop that lie before its beginning
    points : level and pan, straight lines between them
    """

    enter_bar: int
    exit_bar: int
    start_frame: int
    end_frame: int
    phase_bars: Fraction
    points: tuple[Point, ...]


@record
class Part:
    """All that one layer does in the song."""

    layer: Layer
    fit: Fit
    cues: tuple[Cue, ...]


@record
class Mark:
    """Where a section begins. Sections that sound alike have the same letter."""

    name: str
    letter: str
    first_bar: int
    bars: int
    start_frame: int


@record
class Plan:
    """A song laid out.

    Parameters
    ----------
    recipe : what it was laid out from
    frame : tempo, time signature and key
    rate_hz : frames per second
    length_frames : of the whole song, what dies away after the last bar included
    marks : the sections
    parts : the layers that could be found, in the recipe's order
    """

    recipe: Recipe
    frame: Frame
    rate_hz: int
    length_frames: int
    marks: tuple[Mark, ...]
    parts: tuple[Part, ...]

    @property
    def bar_frames(self) -> Fraction:
        """Exact length of a bar."""
        return self.frame.bar_seconds * self.rate_hz

    @property
    def title(self) -> str:
        """The song's title; where it has none, its file's name as it is seen."""
        return self.recipe.title or visible(PurePath(self.recipe.file).stem)

    @property
    def seconds(self) -> float:
        """How long the song lasts."""
        return self.length_frames / self.rate_hz


def plan(recipe: Recipe, library: Library, rate_hz: int = RATE_HZ) -> Plan:
    """Lay a recipe out.

    Parameters
    ----------
    recipe : the song
    library : where its loops are found; layers that are not are left out
    rate_hz : frames per second of the song
    """
    frame = Frame(recipe.tempo_bpm, recipe.meter, recipe.key)
    bar_frames = frame.bar_seconds * rate_hz
    parts = []
    for layer in recipe.layers:
        fit = kinds.fit(layer, frame, library)
        if fit is not None:
            parts.append(Part(layer, fit, _cues(layer, fit, recipe, bar_frames)))
    tail = Fraction(LAST_HIT_BEATS, recipe.meter.beats) if recipe.ending == "last hit" else Fraction(0)
    length = nearest_frame((recipe.bars + tail) * bar_frames)
    return Plan(recipe, frame, rate_hz, length, _marks(recipe, bar_frames), tuple(parts))


def _marks(recipe: Recipe, bar_frames: Fraction) -> tuple[Mark, ...]:
    marks: list[Mark] = []
    letters: dict[object, str] = {}
    bar = 0
    for section in recipe.sections:
        alike = (section.name.casefold(), section.bars, section.entries)
        letter = letters.setdefault(alike, _letter(len(letters)))
        marks.append(Mark(section.name, letter, bar + 1, section.bars, nearest_frame(bar * bar_frames)))
        bar += section.bars
    return tuple(marks)


def _letter(number: int) -> str:
    """A to Z, then AA, BB, as rehearsal letters go on (common practice, no source)."""
    return chr(ord("A") + number % 26) * (number // 26 + 1)


@record
class HeardBar:
    """One bar of a layer: where it is in the song and in the loop."""

    song_bar: int  # from 0
    phase_bars: Fraction
    section: int


@record
class _Spell:
    """Bars that follow on one another, in the song and in the loop."""

    first_bar: int  # of the song, from 0
    bars: int
    phase_bars: Fraction
    sections: tuple[int, ...]


def _cues(layer: Layer, fit: Fit, recipe: Recipe, bar_frames: Fraction) -> tuple[Cue, ...]:
    return tuple(_cue(run, layer, recipe, bar_frames) for run in _runs(_spells(layer, fit, recipe), fit))


def heard_bars(layer: Layer, fit: Fit, recipe: Recipe) -> Iterator[HeardBar]:
    """Every bar in which a layer is heard."""
    for spell in _spells(layer, fit, recipe):
        for bar in range(spell.bars):
            yield HeardBar(spell.first_bar + bar, (spell.phase_bars + bar) % fit.bars, spell.sections[0])


def _spells(layer: Layer, fit: Fit, recipe: Recipe) -> Iterator[_Spell]:
    """What is heard of a layer in each section. A loop runs in step with its section, unless told otherwise."""
    first_bar = 0
    before = Fraction(0)  # where in the loop this section would begin if the loop ran on
    for number, section in enumerate(recipe.sections):
        begins = before if layer.name in section.continues else Fraction(0)
        entry = entry_of(section, layer.name)
        for first, bars in _in_a_row(entry.bars(section.bars)) if entry else ():
            if entry is not None and entry.from_the_top:
                begins = Fraction(1 - first)
            yield _Spell(first_bar + first - 1, bars, (begins + first - 1) % fit.bars, (number,))
        before = (begins + section.bars) % fit.bars
        first_bar += section.bars


def _in_a_row(bars: Iterable[int]) -> Iterator[tuple[int, int]]:
    """The first of bars that follow on one another, and how many they are."""
    first, count = 0, 0
    for bar in bars:
        if count and bar != first + count:
            yield first, count
            count = 0
        if not count:
            first = bar
        count += 1
    if count:
        yield first, count


def entry_of(section: Section, layer: str) -> Entry | None:
    """What a layer does in a section; None if it does not play."""
    return next((entry for entry in section.entries if entry.layer == layer), None)


def _runs(spells: Iterable[_Spell], fit: Fit) -> Iterator[_Spell]:
    """Spells joined where one follows on the other."""
    run: _Spell | None = None
    for spell in spells:
        if run is None:
            run = spell
            continue
        follows = spell.first_bar == run.first_bar + run.bars
        if follows and spell.phase_bars == (run.phase_bars + run.bars) % fit.bars:
            run = _Spell(run.first_bar, run.bars + spell.bars, run.phase_bars, run.sections + spell.sections)
        else:
            yield run
            run = spell
    if run is not None:
        yield run


def _cue(run: _Spell, layer: Layer, recipe: Recipe, bar_frames: Fraction) -> Cue:
    end_bar = run.first_bar + run.bars
    to_the_end = end_bar == recipe.bars and recipe.ending == "last hit"
    tail = Fraction(LAST_HIT_BEATS, recipe.meter.beats) if to_the_end else Fraction(0)
    points = gain_points(layer, recipe, run.sections, run.first_bar, end_bar, tail, bar_frames)
    return Cue(
        enter_bar=run.first_bar + 1,
        exit_bar=end_bar,
        start_frame=nearest_frame(run.first_bar * bar_frames),
        end_frame=nearest_frame((end_bar + tail) * bar_frames),
        phase_bars=run.phase_bars,
        points=points,
    )
