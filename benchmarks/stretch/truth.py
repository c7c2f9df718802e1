"""Loops that can be played at any tempo and key: what a stretched loop should sound like."""

from __future__ import annotations

import zlib
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from benchmarks.stretch import sampled
from benchmarks.stretch.scores import SCORES
from demo_loops.making import playing
from demo_loops.making.scores import LOOPS
from tests.signal import signals
from tests.signal.signals import Played

__all__ = ["Loop", "Played", "loops"]

TEMPO_BPM = 104.0


@dataclass(frozen=True)
class Loop:
    """A loop and how to play it: `play(ratio, semitones)`, ratio being its length relative to its own."""

    name: str
    kind: str
    play: Callable[[float, int], Played]
    aside: bool = False


def loops() -> list[Loop]:
    """Every loop there is, each with its kind of sound; a third of each kind is set aside, to be looked at last."""
    played = [Loop(name, kind, partial(_sampled, name)) for name, (kind, _) in SCORES.items()]
    demo = [Loop(name, f"demo {loop.role}", partial(_demo, name)) for name, loop in LOOPS.items()]
    every = [*_synthetic(), *demo, *(played if sampled.available() else [])]
    return [
        replace(loop, aside=_rank(loop, every) < sum(each.kind == loop.kind for each in every) // 3) for loop in every
    ]


def _rank(loop: Loop, every: list[Loop]) -> int:
    """Its place among its kind, in an order that no one has chosen."""
    names = [each.name for each in every if each.kind == loop.kind]
    return sorted(names, key=lambda name: zlib.crc32(name.encode())).index(loop.name)


def _demo(name: str, ratio: float, semitones: int) -> Played:
    tempo_bpm = float(LOOPS[name].tempo_bpm) / ratio
    sound = playing.play(name, tempo_bpm, semitones)
    beats = np.array(sorted({float(beat) for beat, _ in playing.notes(name)}))
    return Played(sound, beats * 60 / tempo_bpm * playing.RATE_HZ, playing.RATE_HZ)


def _sampled(name: str, ratio: float, semitones: int) -> Played:
    parts = SCORES[name][1]
    blocks = sampled.blocks_for(ratio)
    ticks = np.array(sampled.onset_ticks(parts), np.float64)
    sound = sampled.play(parts, blocks, semitones, room=False)
    return Played(sound, ticks * blocks * sampled.BLOCK_FRAMES, sampled.RATE_HZ)


def _synthetic() -> list[Loop]:
    return [
        Loop("test drums", "test drums", lambda ratio, _: signals.play_drums(TEMPO_BPM / ratio)),
        Loop("test plucks", "test plucked", lambda ratio, up: signals.play_plucks(TEMPO_BPM / ratio, semitones=up)),
        Loop("test chords", "test held", lambda ratio, up: signals.play_chords(TEMPO_BPM / ratio, semitones=up)),
        Loop("test both", "test both", lambda ratio, _: signals.play_both(TEMPO_BPM / ratio)),
    ]
