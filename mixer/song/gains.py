"""How loud a layer is along a cue: levels, fades and the dying away of a last hit, as points on lines.

A fade is a straight line in amplitude, so half-way through it is 6 dB down. Where a level changes from one
section to the next, it does so in the last moment before the bar line, so that the downbeat has its new level.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from mixer.music.meter import nearest_frame
from mixer.recipe.model import Entry, Layer, Recipe
from mixer.record import record

# A hundredth of a second: short enough to be heard as at once, long enough not to click (common practice, no source).
EDGE_SECONDS = Fraction(1, 100)
DIES_AWAY_DB = 60
_DIES_AWAY_STEPS = 32
_STEPS_WHERE_FADES_CROSS = 8


@record
class Point:
    """Level and place at one frame.

    Parameters
    ----------
    frame : counted from the start of the song
    gain : factor on the layer's usual level
    pan : -1 (left) to 1 (right)
    """

    frame: int
    gain: float
    pan: float


@record
class _Stretch:
    """A layer in one section of a cue, in bars of the song (from 0)."""

    start: Fraction
    end: Fraction
    level: float
    pan: float
    fades: tuple[tuple[Fraction, Fraction, bool], ...]  # from, to, whether it rises

    def gain(self, at: Fraction) -> float:
        factor = Fraction(1)
        for start, end, rises in self.fades:
            along = min(max((at - start) / (end - start), Fraction(0)), Fraction(1))
            factor *= along if rises else 1 - along
        return self.level * float(factor)

    def turns(self) -> list[Fraction]:
        """Where the line must have a point."""
        if not self.fades:
            return [self.start, self.end]
        turns = {self.start, self.end}
        turns |= {at for start, end, _ in self.fades for at in (start, end) if self.start < at < self.end}
        for number, (start, end, _) in enumerate(self.fades):
            for other_start, other_end, _ in self.fades[number + 1 :]:
                low, high = max(start, other_start), min(end, other_end)
                if low < high:  # a product of two lines is none, so it gets more points
                    steps = range(1, _STEPS_WHERE_FADES_CROSS)
                    turns |= {low + (high - low) * step / _STEPS_WHERE_FADES_CROSS for step in steps}
        return sorted(at for at in turns if self.start <= at <= self.end)


def gain_points(
    layer: Layer,
    recipe: Recipe,
    sections: Iterable[int],
    first_bar: int,
    end_bar: int,
    tail_bars: Fraction,
    bar_frames: Fraction,
) -> tuple[Point, ...]:
    """The points of a cue.

    Parameters
    ----------
    layer, recipe : what was written
    sections : numbers of the sections in which the cue lies
    first_bar, end_bar : the cue, in bars of the song counted from 0
    tail_bars : how long a last hit dies away after it
    bar_frames : exact length of a bar
    """
    points: list[Point] = []
    rate_edge = nearest_frame(EDGE_SECONDS * bar_frames / recipe.meter.bar_seconds(recipe.tempo_bpm))
    for stretch in _stretches(layer, recipe, sections, first_bar, end_bar):
        for at in stretch.turns():
            point = Point(nearest_frame(at * bar_frames), stretch.gain(at), stretch.pan)
            if points and points[-1].frame == point.frame:
                if (points[-1].gain, points[-1].pan) == (point.gain, point.pan):
                    continue
                before = points.pop()
                points.append(Point(before.frame - rate_edge, before.gain, before.pan))
            points.append(point)
    if tail_bars:
        points += _dying_away(points.pop(), end_bar, tail_bars, bar_frames)
    return _without_needless(points)


def _stretches(
    layer: Layer, recipe: Recipe, sections: Iterable[int], first_bar: int, end_bar: int
) -> Iterable[_Stretch]:
    starts = [0]
    for section in recipe.sections:
        starts.append(starts[-1] + section.bars)
    for number in sections:
        section, begins = recipe.sections[number], starts[number]
        entry = next(entry for entry in section.entries if entry.layer == layer.name)
        heard = entry.bars(section.bars)
        fades = [*_fades(entry, begins + heard[0] - 1, begins + heard[-1])]
        ends = begins + section.bars
        if section.fade_in_bars:
            fades.append((Fraction(begins), begins + section.fade_in_bars, True))
        if section.fade_out_bars:
            fades.append((ends - section.fade_out_bars, Fraction(ends), False))
        yield _Stretch(
            start=Fraction(max(begins, first_bar)),
            end=Fraction(min(ends, end_bar)),
            level=10 ** ((layer.level_db + entry.level_db) / 20),
            pan=layer.pan if entry.pan is None else entry.pan,
            fades=tuple(fades),
        )


def _fades(entry: Entry, first: int, end: int) -> Iterable[tuple[Fraction, Fraction, bool]]:
    if entry.fade_in_bars:
        yield Fraction(first), first + entry.fade_in_bars, True
    if entry.fade_out_bars:
        yield end - entry.fade_out_bars, Fraction(end), False


def _dying_away(last: Point, end_bar: int, tail_bars: Fraction, bar_frames: Fraction) -> list[Point]:
    """Evenly in decibels down to nothing that can be heard."""
    points = []
    for step in range(_DIES_AWAY_STEPS + 1):
        along = Fraction(step, _DIES_AWAY_STEPS)
        gain = last.gain * 10 ** (-DIES_AWAY_DB * step / _DIES_AWAY_STEPS / 20)
        if step == _DIES_AWAY_STEPS:
            gain = 0.0
        points.append(Point(nearest_frame((end_bar + along * tail_bars) * bar_frames), gain, last.pan))
    return points


def _without_needless(points: list[Point]) -> tuple[Point, ...]:
    """Leave out points in the middle of a level line."""
    kept: list[Point] = []
    for number, point in enumerate(points):
        same = (point.gain, point.pan)
        inner = 0 < number < len(points) - 1
        if inner and all((other.gain, other.pan) == same for other in (points[number - 1], points[number + 1])):
            continue
        kept.append(point)
    return tuple(kept)
