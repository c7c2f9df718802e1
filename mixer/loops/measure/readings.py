"""The ways in which a loop could be counted: from its length first, then from the pulse that is heard.

A loop's length is the strongest fact about it: so many bars fit it at few tempos. Where silence, a tail or an upbeat
hides the length, the pulse is found by its regularity and made exact by a straight line through the onsets.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from mixer.loops.measure.hearing import Heard
from mixer.loops.measure.pitches import Pitches
from mixer.record import record, replace

Curve = NDArray[np.floating]

TIMES = {"4/4": 4, "3/4": 3, "6/8": 2}
BARS = (1, 2, 3, 4, 6, 8, 12, 16, 24, 32)
SLOWEST_BPM, FASTEST_BPM = 48.0, 200.0
WHOLE, FROM_START, TAIL, UPBEAT, SHORT = "whole", "silence in front", "tail", "upbeat", "cut short"
# The last bar is short by the upbeat that begins the file.
INSIDE = "upbeat inside"
# What ends so much before or after a bar line still ends at it.
EXACT_SECONDS = 0.03
MOST_PULSES, SURE_PULSES, MANY_ONSETS = 10, 6, 12
# A pulse is felt in these parts and multiples of it.
PARTS = (1, 2, 3, 4, 6, 8, 12, 1 / 2, 1 / 3, 1 / 4, 1 / 6, 1 / 8)
FEW_ONSETS = 6
LEAST_LENGTH = 0.4
UNSTRUCK_UPBEAT = {"4/4": 1.0, "3/4": 1.0, "6/8": 1 / 3}
INSIDE_UPBEATS = {"4/4": (1 / 2, 1.0, 2.0), "3/4": (1 / 2, 1.0, 2.0), "6/8": (1 / 3, 2 / 3, 1.0)}
# A tempo is exact to about this from its onsets alone.
WHOLE_NUMBER = 0.002
UPBEATS = (1 / 4, 1 / 3, 1 / 2, 2 / 3, 3 / 4, 1.0, 4 / 3, 3 / 2, 2.0, 3.0)


@record
class Reading:
    """A way to count a loop.

    Parameters
    ----------
    kind : how the file holds it (see above)
    origin_seconds : the first downbeat
    beat_seconds : exact, not rounded
    time : time signature
    bars : how many
    """

    kind: str
    origin_seconds: float
    beat_seconds: float
    time: str
    bars: int

    @property
    def beats_per_bar(self) -> int:
        """How many beats are counted in a bar; in 6/8 the dotted ones."""
        return TIMES[self.time]

    @property
    def beats(self) -> int:
        """How many in all."""
        return self.bars * self.beats_per_bar

    @property
    def tempo_bpm(self) -> float:
        """Beats per minute."""
        return 60 / self.beat_seconds

    @property
    def end_seconds(self) -> float:
        """Where the last bar ends."""
        return self.origin_seconds + self.beats * self.beat_seconds


def readings(heard: Heard, pitches: Pitches, named_bpm: float | None = None) -> list[Reading]:
    """Every way to count that fits the file.

    Parameters
    ----------
    heard, pitches : the sound
    named_bpm : the tempo that its name says; one way to count among others
    """
    start = heard.start_seconds
    early = [float(onset) for onset in heard.onsets if start + 0.05 < onset < start + 2.2][:8]
    found = [*_whole(heard, 0.0, WHOLE)]
    found += _whole(heard, start, FROM_START) if start else _inside(heard, pitches, found)
    periods = pulses(heard, pitches, named_bpm)
    for period in periods:
        found += _from_pulse(heard, start, period)
    for onset in early:
        found += [r for r in _whole(heard, onset, UPBEAT) if _is_upbeat(onset - start, r)]
        for period in periods:
            found += [r for r in _from_pulse(heard, onset, period, UPBEAT) if _is_upbeat(onset - start, r)]
    if len(heard.onsets) < FEW_ONSETS:
        found += _unstruck(heard, start)
    return _different(found)


def _inside(heard: Heard, pitches: Pitches, whole: list[Reading]) -> list[Reading]:
    """What begins with an upbeat by which its last bar is short: bars as long, from where they have more accent."""
    found = []
    for r in whole:
        if r.bars > 1:
            turned = [replace(r, kind=INSIDE, origin_seconds=u * r.beat_seconds) for u in INSIDE_UPBEATS[r.time]]
            best = max(turned, key=lambda one: _accent(heard, pitches, one))
            if _accent(heard, pitches, best) > _accent(heard, pitches, r):
                found.append(best)
    return found


def _accent(heard: Heard, pitches: Pitches, r: Reading) -> float:
    """How much is struck, and turns, at the bar lines, round and round."""
    lines = (r.origin_seconds + r.beats_per_bar * r.beat_seconds * np.arange(r.bars)) % heard.seconds
    return float((heard.at(lines) + heard.at(lines, 1) + pitches.turning_at(lines)).mean())


def _unstruck(heard: Heard, start: float) -> Iterator[Reading]:
    """Where hardly a note is struck: what ends where the sound begins to fall away, and what begins with an upbeat."""
    for end in heard.ends[0]:
        if end - start > LEAST_LENGTH * (heard.seconds - start):
            yield from _whole(heard, start, TAIL, float(end))
    length = heard.seconds - start
    for time, per_bar in TIMES.items():
        for bars in BARS:
            upbeat = UNSTRUCK_UPBEAT[time]
            beat = length / (bars * per_bar + upbeat)
            if SLOWEST_BPM <= 60 / beat <= FASTEST_BPM:
                yield Reading(UPBEAT, start + upbeat * beat, beat, time, bars)


def _whole(heard: Heard, origin: float, kind: str, end: float | None = None) -> Iterator[Reading]:
    length = (heard.seconds if end is None else end) - origin
    for time, per_bar in TIMES.items():
        for bars in BARS:
            beat = length / (bars * per_bar)
            if SLOWEST_BPM <= 60 / beat <= FASTEST_BPM:
                yield Reading(kind, origin, beat, time, bars)


def _from_pulse(heard: Heard, origin: float, beat: float, kind: str = TAIL) -> Iterator[Reading]:
    """Bars of this beat that end before the file does, with a tail after them; or end just after it."""
    length = heard.seconds - origin
    last = float(heard.onsets[-1]) - origin if len(heard.onsets) else 0.0
    for time, per_bar in TIMES.items():
        for bars in BARS:
            end = bars * per_bar * beat
            over = length - end
            if over > EXACT_SECONDS and last < end - 0.1 * beat and end > LEAST_LENGTH * length:
                yield Reading(kind, origin, beat, time, bars)
            elif -0.9 * beat < over < -EXACT_SECONDS and kind == TAIL:
                yield Reading(SHORT, origin, beat, time, bars)
            elif abs(over) <= EXACT_SECONDS and (kind == UPBEAT or origin > 0):
                exact = heard.seconds - bars * per_bar * beat
                yield Reading(UPBEAT if kind == UPBEAT else FROM_START, max(0.0, exact), beat, time, bars)


def _is_upbeat(seconds: float, reading: Reading) -> bool:
    beats = seconds / reading.beat_seconds
    near = min(abs(beats - upbeat) for upbeat in UPBEATS)
    return near < 0.06 and beats < reading.beats_per_bar - 0.1


def _different(found: list[Reading]) -> list[Reading]:
    """Without those that say the same; the first of them stays, so that exact lengths win over pulses."""
    kept: list[Reading] = []
    seen: set[tuple[str, int, int, int]] = set()
    for reading in found:
        tempo = round(float(np.log(reading.beat_seconds)) * 1200)
        place = round(reading.origin_seconds / 0.012)
        keys = {(reading.time, reading.bars, tempo + a, place + b) for a in (-1, 0, 1) for b in (-1, 0, 1)}
        if not keys & seen:
            seen.add((reading.time, reading.bars, tempo, place))
            kept.append(reading)
    return kept


def pulses(heard: Heard, pitches: Pitches, named_bpm: float | None = None) -> list[float]:
    """Beats that could be felt, in seconds, made exact by the onsets and the changes of harmony; and the one named."""
    named = [60 / named_bpm] if named_bpm and SLOWEST_BPM <= named_bpm <= FASTEST_BPM else []
    onsets, strengths = events(heard, pitches)
    if len(onsets) < 3 or not strengths.sum():
        return named
    most = MOST_PULSES if len(heard.onsets) < MANY_ONSETS else SURE_PULSES
    rates = np.arange(0.25, 14.0, 0.1 / max(heard.seconds, 1.0))
    height = np.abs(np.exp(-2j * np.pi * np.outer(rates, onsets)) @ strengths) / strengths.sum()
    peaks = np.flatnonzero((height[1:-1] >= height[:-2]) & (height[1:-1] > height[2:])) + 1
    slow = peaks[rates[peaks] < 60 / FASTEST_BPM]
    # A name gives a whole number, the notes what it stands for.
    found = [_exact(beat, onsets, strengths) for beat in named] if len(heard.onsets) >= FEW_ONSETS else named
    for some in (peaks, slow):
        for place in some[np.argsort(-height[some])][:most]:
            period = _exact(1 / float(rates[place]), onsets, strengths)
            for parts in PARTS:
                beat = float(parts * period)
                if 60 / FASTEST_BPM <= beat <= 60 / SLOWEST_BPM and not any(abs(beat / o - 1) < 0.0008 for o in found):
                    found.append(beat)
    return found


def events(heard: Heard, pitches: Pitches) -> tuple[Curve, Curve]:
    """Moments at which something begins, struck or not, in seconds, those that are struck first; and how strongly."""
    turns, changes = pitches.turned
    far = np.array([bool(np.all(np.abs(heard.onsets - turn) > 0.1)) for turn in turns], bool)
    return np.append(heard.onsets, turns[far]), np.append(heard.strengths + 0.05, 0.5 * changes[far])


def _exact(period: float, onsets: Curve, strengths: Curve) -> float:
    """A straight line through the onsets that lie near the grid, whatever its phase; people choose whole tempos."""
    for _ in range(3):
        phase = np.angle(np.sum(strengths * np.exp(2j * np.pi * onsets / period))) / (2 * np.pi)
        counts = np.round(onsets / period - phase)
        off = onsets / period - phase - counts
        near = np.abs(off) < min(0.18, 0.03 / period + 0.03)
        if near.sum() < 3 or np.ptp(counts[near]) < 2 or not strengths[near].sum():
            break
        weights = strengths[near]
        mean_count, mean_time = np.average(counts[near], weights=weights), np.average(onsets[near], weights=weights)
        spread = np.sum(weights * (counts[near] - mean_count) ** 2)
        period = float(np.sum(weights * (counts[near] - mean_count) * (onsets[near] - mean_time)) / spread)
    return period


def rounded_bpm(reading: Reading) -> float:
    """The tempo as a card would say it: where it was found by the pulse, a whole number very near it is meant."""
    tempo = reading.tempo_bpm
    if reading.kind in (TAIL, SHORT, UPBEAT):
        whole = round(tempo)
        if abs(whole / tempo - 1) < WHOLE_NUMBER:
            return float(whole)
    return tempo
