"""What speaks for a reading where hardly a note is struck: chords that take over, and how loud the bars end.

A chord of strings or of a choir swells, so that it is heard a little after the bar line, and always by as much. After a
tail's start the sound falls away as it does at no other bar line.
"""

from __future__ import annotations

from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from mixer.loops.measure.hearing import Heard
from mixer.loops.measure.pitches import Pitches
from mixer.loops.measure.readings import FROM_START, TAIL, UPBEAT, WHOLE, Reading
from mixer.record import record

Curve = NDArray[np.floating]

NEAR_TURN_SECONDS = 0.08
# Chords that swell are heard so much late, and what ends is heard to end so much late.
EARLIEST_SECONDS, LATEST_SECONDS = -0.05, 0.3
LATEST_END_SECONDS = 0.16
BEFORE_LINE_SECONDS = 0.02
SOFTEST_DB = -50.0

NAMES = (
    *("ends low, whole", "ends low, tail", "ends low, upbeat", "ends high", "falls after end", "fades, tail"),
    *("bars that turn", "bars that turn late", "turns late by bars", "turns late by beats", "turns late once"),
    *("falls late at end", "fell long before end"),
)


@record
class Unstruck:
    """A sound's turns and ends, to be held against many readings.

    Parameters
    ----------
    heard, pitches : the sound
    """

    heard: Heard
    pitches: Pitches

    @cached_property
    def _summed_db(self) -> Curve:
        return np.concatenate([[0.0], np.maximum(self.heard.loudness_db, SOFTEST_DB).cumsum()])

    def _level_db(self, start: Curve, end: Curve) -> Curve:
        """Mean level between moments."""
        hops, step = len(self._summed_db) - 1, self.heard.hop_seconds
        first = np.clip((start / step).astype(int), 0, hops - 1)
        last = np.clip((end / step).astype(int), first + 1, hops)
        return np.asarray((self._summed_db[last] - self._summed_db[first]) / (last - first))

    def facts(self, r: Reading) -> list[float]:
        """Give what speaks for a reading, in the order of `NAMES`."""
        return [*self._ends(r), *self._turns(r), *self._falls(r)]

    def _ends(self, r: Reading) -> list[float]:
        """How much softer the last bar ends than the others, and falls after it; of one bar, the last beat."""
        bar = r.beats_per_bar * r.beat_seconds
        step, count = (bar, r.bars) if r.bars > 1 else (r.beat_seconds, r.beats)
        lines = r.origin_seconds + step * np.arange(1, count + 1)
        width = min(0.1, r.beat_seconds / 4)
        before = self._level_db(lines - BEFORE_LINE_SECONDS - width, lines - BEFORE_LINE_SECONDS)
        lower = 0.0
        if r.end_seconds <= self.heard.seconds + 0.03:
            lower = float(np.clip((np.median(before[:-1]) - before[-1]) / 15, -1.0, 1.5))
        falls, rest = 0.0, self.heard.seconds - r.end_seconds
        if r.kind == TAIL and rest > 0.05:
            after = self._level_db(lines + 0.02, lines + 0.02 + min(0.15, rest))
            close = self._level_db(lines - 0.12, lines - 0.02)
            rises = after - close
            falls = float(np.clip((np.median(rises[:-1]) - rises[-1]) / 10, -1.0, 2.0))
        whole = r.kind in (WHOLE, FROM_START)
        kinds = [max(lower, 0.0) * kind for kind in (whole, r.kind == TAIL, r.kind == UPBEAT)]
        return [*kinds, max(-lower, 0.0), falls, float(r.kind == TAIL and self.heard.fade > 0.3)]

    def _turns(self, r: Reading) -> list[float]:
        """At how many bar lines the harmony turns, and how steadily it turns by bars and by beats, if late."""
        turns, much = self.pitches.turned
        bar = r.beats_per_bar * r.beat_seconds
        near = late = 0.0
        lines = r.origin_seconds + bar * np.arange(1, r.bars)
        if len(turns) and r.bars > 1:
            near = float((np.abs(turns - lines[:, None]).min(axis=1) < NEAR_TURN_SECONDS).mean())
        inside = (turns > r.origin_seconds + 0.4 * r.beat_seconds) & (turns < r.end_seconds + LATEST_SECONDS)
        turns, much = turns[inside], much[inside]
        if not len(turns):
            return [near, 0.0, 0.0, 0.0, 0.0]
        if r.bars > 1:
            off = turns - lines[:, None]
            late = float(((off > EARLIEST_SECONDS) & (off < LATEST_SECONDS)).any(axis=1).mean())
        by_bars, once = _steadily(turns - r.origin_seconds, much, bar)
        by_beats, _ = _steadily(turns - r.origin_seconds, much, r.beat_seconds)
        return [near, late, by_bars, by_beats, once]

    def _falls(self, r: Reading) -> list[float]:
        """How steeply the sound begins to fall away where a tail begins or a little later, and how steeply before."""
        moments, steep = self.heard.ends
        if r.kind != TAIL or not len(moments):
            return [0.0, 0.0]
        tall, off = np.minimum(steep / 4, 1.5), moments - r.end_seconds
        here = (off > EARLIEST_SECONDS) & (off < LATEST_END_SECONDS)
        return [float(tall[some].max(initial=0.0)) for some in (here, off < -0.1)]


def _steadily(turns: Curve, much: Curve, step: float) -> tuple[float, float]:
    """How steadily moments lie at one place in a step, beyond chance; and, if there is but one, whether it is there.

    The place may be a little late. Their mean direction on the circle that the step makes; its square without what
    chance would give to so many.
    """
    mean = np.sum(much * np.exp(2j * np.pi * turns / step)) / much.sum()
    lag = float(np.angle(mean)) / (2 * np.pi) * step
    placed = float(np.clip(1 - max(EARLIEST_SECONDS - lag, lag - LATEST_SECONDS) / 0.1, 0.0, 1.0))
    count = float(much.sum() ** 2 / np.square(much).sum())
    if count < 1.5:
        return 0.0, placed
    return max(0.0, (count * abs(mean) ** 2 - 1) / (count - 1)) * placed, 0.0
