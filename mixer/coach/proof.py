"""A set of loops proved before the lesson: every pair judged, many songs by chance made and measured, the worst kept.

What is looked for can be measured or is on the cards: chords that clash, a crowded bass, silence, a loudness that is
out of reach, a limiter that has much to do. Whether a set is any good is for people's ears.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import combinations
from pathlib import Path
from typing import Literal

import numpy as np

from mixer.coach.fits import Fits, Listen, There, judged, there_of_layers
from mixer.loops.card import Card
from mixer.material import kinds
from mixer.material.fit import Fit, Frame, Material
from mixer.music.meter import nearest_frame
from mixer.recipe.model import Layer, LoopSource
from mixer.record import record
from mixer.signal.blocks import Samples
from mixer.signal.wav import Marker, WavWriter
from mixer.song.finish import Finished, finish
from mixer.song.harmony import Clash, clashes
from mixer.song.mix import Mix
from mixer.song.plan import Plan, heard_bars
from mixer.song.render import prepare
from mixer.store.cache import Cache
from mixer.store.whole import whole_file

MOST_MOMENTS = 5
MOMENT_BARS = 4
LONGEST_SECONDS = 10.0
EDGE_SECONDS, PAUSE_SECONDS = 0.02, 0.7
MUCH_LIMITED = 0.02
"""A limiter that takes more than 4 dB for more than this part of a song has much to do (by ear, no source)."""

Kind = Literal["silent", "quiet", "clash", "limited", "crowded"]
_GRAVEST_FIRST: tuple[Kind, ...] = ("silent", "quiet", "clash", "limited", "crowded")


@record
class Pair:
    """Two loops of different roles, and how the second goes with the first."""

    one: Card
    there: There
    fits: Fits

    @property
    def clashing(self) -> bool:
        """Whether chords clash in any bar, or they cannot be counted together."""
        return self.fits.wrong_time or bool(self.fits.clashing)

    @property
    def agreeing(self) -> bool:
        """Whether their chords agree in every bar, or there are none that could clash."""
        return not self.clashing and (
            self.fits.pitchless or (bool(self.fits.bars) and all(b.agrees for b in self.fits.bars))
        )


@record
class Moment:
    """Something in a song that a teacher should hear.

    Parameters
    ----------
    kind : what it is
    song : its number
    plan : the song
    bar : where it begins, counted from 1
    who : the layers that it is about
    chords : of a clash, such as "F over C"
    bars : in how many bars of the song it is so
    """

    kind: Kind
    song: int
    plan: Plan
    bar: int = 1
    who: tuple[str, ...] = ()
    chords: tuple[str, ...] = ()
    bars: int = 1


@record
class Proved:
    """What came of the songs.

    Parameters
    ----------
    made : how many songs were made
    outside : how many could not be put together inside the brief
    unusable : loops whose sound cannot be used
    troubled : in how many songs there was something of a kind
    worst : the gravest moments, each of another kind or with other loops
    """

    made: int
    outside: int
    unusable: tuple[str, ...]
    troubled: Mapping[str, int]
    worst: tuple[Moment, ...]


def pairs(cards: Iterable[Card], frame: Frame, listening: Listen) -> list[Pair]:
    """Judge every pair of loops of different roles in a song's tempo, time and key."""
    found = []
    for one, other in combinations(sorted(cards, key=lambda card: (card.role, card.name)), 2):
        if one.role != other.role:
            there = there_of_layers([(Layer(one.name, LoopSource(one.name)), one)], frame, listening)
            in_time = one.meter == frame.meter
            fits = judged(there, other, listening) if in_time else Fits(other, None, wrong_time=True)
            found.append(Pair(one, there, fits))
    return found


class Bench:
    """Makes songs and measures them; what is made of a loop is kept, since all songs have the same frame."""

    def __init__(self, listening: Listen) -> None:
        self._listening = listening
        self._kept: dict[Fit, Material] = {}

    def prove(self, songs: Iterable[Plan | None], progress: Callable[[int], None] = lambda _: None) -> Proved:
        """Make and measure songs; None stands for one that could not be put together."""
        made = outside = 0
        unusable: dict[str, None] = {}
        troubled: dict[str, int] = dict.fromkeys(_GRAVEST_FIRST, 0)
        worst: dict[tuple[object, ...], Moment] = {}
        for number, plan in enumerate(songs, start=1):
            progress(number)
            if plan is None:
                outside += 1
                continue
            made += 1
            materials, problems = prepare(plan, make=self._make)
            unusable.update(dict.fromkeys(str(problem.facts.get("name", "")) for problem in problems))
            moments = self._moments(plan, number, materials)
            for kind in {moment.kind for moment in moments}:
                troubled[kind] += 1
            for moment in moments:
                same = worst.setdefault((moment.kind, frozenset(moment.who), moment.chords), moment)
                if moment.bars > same.bars:
                    worst[moment.kind, frozenset(moment.who), moment.chords] = moment
        order = sorted(worst.values(), key=lambda each: (_GRAVEST_FIRST.index(each.kind), -each.bars, each.song))
        return Proved(made, outside, tuple(unusable), troubled, tuple(order[:MOST_MOMENTS]))

    def finished(self, plan: Plan) -> Finished:
        """Make a song again, to be heard."""
        return finish(Mix(plan, prepare(plan, make=self._make)[0]))

    def _make(self, fit: Fit, frame: Frame, rate_hz: int, cache: Cache | None) -> Material:
        if fit not in self._kept:
            self._kept[fit] = kinds.make(fit, frame, rate_hz, cache)
        return self._kept[fit]

    def _moments(self, plan: Plan, number: int, materials: Mapping[str, Material]) -> list[Moment]:
        found = [_clash(plan, number, each) for each in clashes(plan)]
        song = finish(Mix(plan, materials))
        if song.loudness_lufs is None:
            return [Moment("silent", number, plan)]
        if song.as_near_as_allowed:
            found.append(Moment("quiet", number, plan))
        if song.limited.firm_share > MUCH_LIMITED:
            deepest = max(song.limited.spans, key=lambda span: span.deepest_db)
            found.append(Moment("limited", number, plan, int(deepest.start_frame / plan.bar_frames) + 1))
        return [*found, *self._crowded(plan, number)]

    def _crowded(self, plan: Plan, number: int) -> list[Moment]:
        bars: dict[int, list[str]] = {}
        for part in plan.parts:
            heard = self._listening(part.fit.card)
            if heard is not None and heard.low:
                for bar in heard_bars(part.layer, part.fit, plan.recipe):
                    bars.setdefault(bar.song_bar, []).append(part.layer.name)
        together: dict[tuple[str, ...], list[int]] = {}
        for number_in_song, who in sorted(bars.items()):
            if len(who) > 1:
                together.setdefault(tuple(who), []).append(number_in_song + 1)
        return [Moment("crowded", number, plan, at[0], who, bars=len(at)) for who, at in together.items()]


def _clash(plan: Plan, number: int, clash: Clash) -> Moment:
    """A clash, from the first section of its name."""
    sections = plan.recipe.sections
    at = next(n for n, section in enumerate(sections) if section.name == clash.section)
    start = sum(section.bars for section in sections[:at])
    who = (clash.new.layer.name, *clash.there)
    return Moment("clash", number, plan, start + clash.bars[0], who, clash.pairs, len(clash.bars))


def write_moments(place: Path, bench: Bench, moments: Sequence[tuple[str, Moment]]) -> None:
    """Write some bars of each moment, one after the other, each with its words as a marker.

    Raises
    ------
    OSError
        If it cannot be written.
    """
    rate_hz = moments[0][1].plan.rate_hz
    pause = np.zeros((round(PAUSE_SECONDS * rate_hz), 2), np.float32)
    sounds = [(name, _cut(bench.finished(moment.plan), moment)) for name, moment in moments]
    at, markers = 0, []
    for name, sound in sounds:
        markers.append(Marker(at, name))
        at += len(sound) + len(pause)
    with whole_file(place) as stream:
        writer = WavWriter(stream, rate_hz, markers=markers)
        for _, sound in sounds:
            writer.write(sound)
            writer.write(pause)
        writer.close()


def _cut(song: Finished, moment: Moment) -> Samples:
    """Some bars from where a moment begins, with soft edges."""
    plan = moment.plan
    start = nearest_frame((moment.bar - 1) * plan.bar_frames)
    end = min(
        nearest_frame((moment.bar - 1 + MOMENT_BARS) * plan.bar_frames), start + int(LONGEST_SECONDS * plan.rate_hz)
    )
    pieces, at = [], 0
    for block in song.blocks():
        low, high = max(start, at), min(end, at + len(block))
        if low < high:
            pieces.append(block[low - at : high - at])
        at += len(block)
    sound = np.concatenate(pieces)
    edge = min(len(sound) // 2, round(EDGE_SECONDS * plan.rate_hz))
    rise = (0.5 - 0.5 * np.cos(np.pi * (np.arange(edge) + 0.5) / max(1, edge))).astype(np.float32)[:, None]
    sound[:edge] *= rise
    sound[len(sound) - edge :] *= rise[::-1]
    return sound
