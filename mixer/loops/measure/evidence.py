"""What speaks for a reading: accents on its beats and bars, what comes again, where harmony changes, its length.

Each fact is weighed by itself, and once more where it may mean something else: in three, in six, where hardly a note is
struck, and where what is struck has no pitch.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mixer.loops.measure import accents, rhythm, unstruck
from mixer.loops.measure.hearing import Heard
from mixer.loops.measure.hints import Hints
from mixer.loops.measure.pitches import Pitches
from mixer.loops.measure.readings import FROM_START, INSIDE, SHORT, TAIL, UPBEAT, WHOLE, Reading

Curve = NDArray[np.floating]

NEAR_GRID_SECONDS = 0.022
NEAR_TURN_SECONDS = 0.07
TIGHT_SECONDS = 0.007
LOUD_SALIENCE = 0.2
KINDS = (WHOLE, FROM_START, TAIL, UPBEAT, SHORT, INSIDE)
BARS_ALIKE = (1, 2, 4, 8, 16)
MIDDLE_BPM = 110.0

NAMES = (
    *(f"kind {kind}" for kind in KINDS),
    *(f"bars {bars}" for bars in BARS_ALIKE),
    "bars odd",
    *("time 3/4", "time 6/8", "tempo", "tempo squared", "slow", "fast"),
    *("on beats", "on halves", "on quarters", "on thirds", "on bars", "low on bars", "low on beats", "backbeat"),
    *("middle of bar", "start accent", "low start"),
    *("onsets on quarters", "onsets on thirds", "onsets on halves", "onsets on beats", "notes a beat"),
    *("like a bar later", "like a beat later", "like between", "like half a loop later", "like two bars later"),
    *("harmony on bars", "harmony on beats", "harmony in the middle"),
    *("rest", "silence kept", "tail onset", "tail length", "upbeat length"),
    *("swing", "first third", "fades at whole end", "rest at whole end", "turns on beats", "turns on bars"),
    *("falls at end", "fell before end", "whole number", "near whole number", "half number", "tight"),
    *accents.NAMES,
    *unstruck.NAMES,
    *rhythm.NAMES,
)
WAYS = ("always", "in 3/4", "in 6/8", "held", "struck")
SAID = ("tempo", "half or double", "bars")


def evidence(heard: Heard, pitches: Pitches, found: list[Reading], hints: Hints) -> Curve:
    """Give what speaks for each reading, each fact about -1 to 1.

    Returns
    -------
    shape (readings, ways x facts + said): all of `NAMES` for each of `WAYS`, then `SAID`, which the file's name says
    """
    held, struck = _held(heard), _struck(pitches)
    accented, turned = accents.Accents(heard, pitches), unstruck.Unstruck(heard, pitches)
    rhythms = rhythm.Rhythm(heard, pitches)
    facts = np.array(
        [[*_facts(heard, pitches, r), *accented.facts(r), *turned.facts(r), *rhythms.facts(r)] for r in found]
    )
    ways = np.array([[1.0, r.time == "3/4", r.time == "6/8", held, struck] for r in found])
    weighed = (ways[:, :, None] * facts[:, None, :]).reshape(len(found), -1)
    return np.concatenate([weighed, [_named(r, hints) for r in found]], axis=1)


def _held(heard: Heard) -> float:
    """How far hardly a note is struck, 0 to 1."""
    a_second = len(heard.onsets) / max(heard.seconds, 1e-6)
    return float(np.clip(1.5 - 0.7 * a_second, 0.0, 1.0))


def _struck(pitches: Pitches) -> float:
    """How far it has no pitch, 0 to 1; drums have a little."""
    loud = pitches.salience.max(axis=1) > LOUD_SALIENCE
    return float(np.clip(4 * (1 - pitches.tonal[loud].mean()), 0.0, 1.0)) if loud.any() else 1.0


def _named(reading: Reading, hints: Hints) -> tuple[float, float, float]:
    """Whether the file's name says so; names give whole numbers."""
    named = hints.tempo_bpm or 0.0
    same = agree(reading.tempo_bpm, named)
    octave = agree(reading.tempo_bpm, named / 2) or agree(reading.tempo_bpm, named * 2)
    return float(same), float(octave), float(reading.bars == hints.bars)


def agree(tempo_bpm: float, named_bpm: float) -> bool:
    """Whether a tempo is the one named, which may have been rounded."""
    return named_bpm > 0 and abs(tempo_bpm - named_bpm) <= 0.51


def _facts(heard: Heard, pitches: Pitches, r: Reading) -> list[float]:
    """All of `NAMES` up to `tight`, a group of them at a time."""
    near = _on_grids(heard, r)
    return [
        *_form(r),
        *_on_beats(heard, r),
        *near[:4],
        min(3.0, len(heard.onsets) * r.beat_seconds / max(heard.seconds, 1e-6) / 3),
        *_alike(heard, r),
        *_harmony(pitches, r),
        *_left_over(heard, r),
        *_thirds(heard, r),
        *_at_whole_end(heard, r),
        _turns_on(pitches, r, 1),
        _turns_on(pitches, r, r.beats_per_bar),
        *_falls(heard, r),
        *_numbers(r),
        near[4],
    ]


def _beats(r: Reading) -> tuple[Curve, NDArray[np.intp]]:
    """When each beat is, in seconds, and which of its bar it is, from 0."""
    return r.origin_seconds + r.beat_seconds * np.arange(r.beats), np.arange(r.beats) % r.beats_per_bar


def _form(r: Reading) -> list[float]:
    tempo = float(np.log2(r.tempo_bpm / MIDDLE_BPM))
    return [
        *(float(r.kind == kind) for kind in KINDS),
        *(float(r.bars == bars) for bars in BARS_ALIKE),
        float(r.bars not in BARS_ALIKE),
        float(r.time == "3/4"),
        float(r.time == "6/8"),
        tempo,
        tempo**2,
        max(0.0, -0.6 - tempo),
        max(0.0, tempo - 0.5),
    ]


def _on_beats(heard: Heard, r: Reading) -> list[float]:
    """How strong what begins on beats and between them is."""
    (beats, in_bar), beat = _beats(r), r.beat_seconds
    full, low, mid = heard.at(beats), heard.at(beats, 1), heard.at(beats, 2)
    halves = heard.at(beats + beat / 2)
    quarters = np.concatenate([heard.at(beats + beat / 4), heard.at(beats + 3 * beat / 4)])
    thirds = np.concatenate([heard.at(beats + beat / 3), heard.at(beats + 2 * beat / 3)])
    first, others = _first_and_others(r, in_bar)
    in_four = r.beats_per_bar == 4
    return [
        float(full.mean()),
        float(halves.mean()),
        float(quarters.mean()),
        float(thirds.mean()),
        float(full[first].mean()) - float(full[others].mean()),
        float(low[first].mean() - low[others].mean()),
        float(low.mean() - heard.at(beats + beat / 2, 1).mean()),
        float(mid[in_bar % 2 == 1].mean() - mid[in_bar % 2 == 0].mean()) if in_four else 0.0,
        float(full[in_bar == 2].mean() - full[in_bar % 2 == 1].mean()) if in_four else 0.0,
        float(full[0]),
        float(low[0]),
    ]


def _first_and_others(r: Reading, in_bar: NDArray[np.intp]) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Which beats begin a bar, and which do not; where every beat does, both are the same."""
    first = in_bar == 0
    return first, ~first if r.beats_per_bar > 1 else first


def _alike(heard: Heard, r: Reading) -> list[float]:
    """How alike the sound is to itself a bar, a beat ... later."""
    per_bar, beat = r.beats_per_bar, r.beat_seconds
    bar, length = per_bar * beat, r.beats * beat
    like_bar = heard.alike(bar)
    between = [heard.alike(k * beat) for k in range(1, 2 * per_bar) if k % per_bar]
    return [
        like_bar,
        heard.alike(beat),
        float(np.mean(between)) if between else 0.0,
        heard.alike(length / 2) if r.bars > 1 else like_bar,
        heard.alike(2 * bar) if r.bars > 2 else like_bar,
    ]


def _harmony(pitches: Pitches, r: Reading) -> list[float]:
    """How far the pitches change at bars, beats and the middles of bars."""
    beats, in_bar = _beats(r)
    turn = pitches.changes(np.append(beats, r.end_seconds))[:-1]
    first, others = _first_and_others(r, in_bar)
    in_four = r.beats_per_bar == 4
    return [
        float(turn[first].mean() - turn[others].mean()),
        float(turn.mean()),
        float(turn[in_bar == 2].mean() - turn[in_bar % 2 == 1].mean()) if in_four else 0.0,
    ]


def _left_over(heard: Heard, r: Reading) -> list[float]:
    """What lies before the first bar and after the last."""
    beat, bar = r.beat_seconds, r.beats_per_bar * r.beat_seconds
    rest = heard.seconds - r.end_seconds
    late = float(heard.strengths[heard.onsets > r.end_seconds - 0.03].sum()) if len(heard.onsets) else 0.0
    return [
        abs(rest) / beat / 4 if r.kind in (TAIL, UPBEAT) else 0.0,
        float(r.kind == WHOLE and heard.start_seconds > 0.02) * min(1.0, heard.start_seconds / 0.1),
        min(1.0, late),
        min(1.0, max(0.0, rest) / (bar * 0.5)) if r.kind == TAIL else 0.0,
        (r.origin_seconds - heard.start_seconds) / bar if r.kind in (UPBEAT, INSIDE) else 0.0,
    ]


def _thirds(heard: Heard, r: Reading) -> tuple[float, float]:
    """How much stronger the last third of beats begins than the first one, as it does in swing; and the first one."""
    (beats, _), beat = _beats(r), r.beat_seconds
    first = heard.at(beats + beat / 3).mean()
    return float(heard.at(beats + 2 * beat / 3).mean() - first), float(first)


def _at_whole_end(heard: Heard, r: Reading) -> tuple[float, float]:
    """Of a file that is all bars: how far it fades, and how long nothing has begun at its end."""
    whole = float(r.kind in (WHOLE, FROM_START))
    last = float(heard.onsets[-1]) if len(heard.onsets) else 0.0
    return whole * heard.fade, whole * min(1.0, (heard.seconds - last) / (r.beats_per_bar * r.beat_seconds))


def _numbers(r: Reading) -> tuple[float, float, float]:
    """Whether the tempo is a whole number or a half: people choose those, and lengths fit them by chance rarely."""
    whole, half = (abs(r.tempo_bpm - nearest) for nearest in (round(r.tempo_bpm), np.floor(r.tempo_bpm) + 0.5))
    if r.kind in (WHOLE, INSIDE):
        return float(np.exp(-((whole / 0.02) ** 2))), 0.0, float(np.exp(-((half / 0.02) ** 2)))
    return 0.0, float(np.exp(-((whole / r.tempo_bpm / 0.0007) ** 2))), 0.0


def _falls(heard: Heard, r: Reading) -> tuple[float, float]:
    """How steeply the sound begins to fall away just where the bars end, and how steeply before."""
    moments, steep = heard.ends
    if not len(moments):
        return 0.0, 0.0
    tall = np.minimum(steep / 6, 1.5)
    at_end = tall[np.abs(moments - r.end_seconds) < NEAR_TURN_SECONDS]
    earlier = tall[moments < r.end_seconds - NEAR_TURN_SECONDS]
    return float(at_end.max(initial=0.0)) * (r.kind == TAIL), float(earlier.max(initial=0.0))


def _turns_on(pitches: Pitches, r: Reading, beats: int) -> float:
    """What part of the changes of harmony lies on every so many beats, beyond what chance would put there."""
    turns = pitches.turns
    if not len(turns):
        return 0.0
    step = beats * r.beat_seconds
    place = (turns - r.origin_seconds) / step
    near = float((np.abs(place - np.round(place)) * step < NEAR_TURN_SECONDS).mean())
    chance = min(0.95, 2 * NEAR_TURN_SECONDS / step)
    return (near - chance) / (1 - chance)


def _on_grids(heard: Heard, r: Reading) -> tuple[float, float, float, float, float]:
    """What part of the onsets lies on quarters, thirds, halves of beats and on beats, beyond what chance would put.

    The last is how tightly they lie on quarters or thirds.
    """
    onsets, strengths = heard.onsets, heard.strengths + 0.05
    if not len(onsets):
        return 0.0, 0.0, 0.0, 0.0, 0.0
    found, tight = [], 0.0
    for parts in (4, 3, 2, 1):
        step = r.beat_seconds / parts
        place = (onsets - r.origin_seconds) / step
        off = np.abs(place - np.round(place)) * step
        share = float(strengths[off < NEAR_GRID_SECONDS].sum() / strengths.sum())
        chance = min(0.95, 2 * NEAR_GRID_SECONDS / step)
        found.append((share - chance) / (1 - chance))
        if parts > 2:
            tight = max(tight, float((strengths * np.exp(-((off / TIGHT_SECONDS) ** 2))).sum() / strengths.sum()))
    return found[0], found[1], found[2], found[3], tight
