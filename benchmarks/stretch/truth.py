"""Loops that can be played at any tempo and key: what a stretched loop should sound like."""

from __future__ import annotations

import zlib
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from unittest import mock

import numpy as np

from benchmarks.stretch import sampled
from benchmarks.stretch.scores import SCORES
from demo_loops.making import playing
from demo_loops.making.score import random_of
from demo_loops.making.scores import LOOPS
from tests.signal import signals
from tests.signal.signals import Played

__all__ = ["Loop", "Played", "loops"]

TEMPO_BPM = 104.0
# What is played by samples is played slower by a thirty-second, since its notes start on blocks.
LITTLE_SLOWER = 1.01


@dataclass(frozen=True)
class Loop:
    """A loop and how to play it: `play(ratio, semitones)`, ratio being its length relative to its own.

    `again` plays it a little slower and with other noise, to tell how unlike itself the truth is.
    """

    name: str
    kind: str
    play: Callable[[float, int], Played]
    again: Callable[[float, int], Played]
    aside: bool = False


def loops() -> list[Loop]:
    """Every loop there is, each with its kind of sound; a third of each kind is set aside, to be looked at last."""
    played = [
        Loop(name, kind, partial(_sampled, name), partial(_sampled_again, name)) for name, (kind, _) in SCORES.items()
    ]
    demo = [
        Loop(name, f"demo {loop.role}", partial(_demo, name), partial(_demo_again, name))
        for name, loop in LOOPS.items()
    ]
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


def _demo_again(name: str, ratio: float, semitones: int) -> Played:
    playing.gain_of(name)  # as it is, before its noise is another
    with mock.patch.object(playing, "random_of", lambda *names: _OtherNoise(random_of(*names))):
        return _demo(name, ratio * LITTLE_SLOWER, semitones)


class _OtherNoise:
    """Random numbers as they are, but for those from which noise is made (`demo_loops.making.noise`)."""

    def __init__(self, random: np.random.RandomState) -> None:
        self._random = random

    def randint(self, *bounds: int) -> int:
        drawn = int(self._random.randint(*bounds))
        return drawn ^ 1 if bounds == (1 << 31,) else drawn

    def __getattr__(self, name: str) -> object:
        return getattr(self._random, name)


def _sampled(name: str, ratio: float, semitones: int) -> Played:
    parts = SCORES[name][1]
    blocks = sampled.blocks_for(ratio)
    ticks = np.array(sampled.onset_ticks(parts), np.float64)
    sound = sampled.play(parts, blocks, semitones, room=False)
    return Played(sound, ticks * blocks * sampled.BLOCK_FRAMES, sampled.RATE_HZ)


def _sampled_again(name: str, ratio: float, semitones: int) -> Played:
    return _sampled(name, (sampled.blocks_for(ratio) + 1) / sampled.BLOCKS_PER_TICK, semitones)


def _synthetic() -> list[Loop]:
    def loop(name: str, kind: str, play: Callable[[float, int], Played]) -> Loop:
        return Loop(name, kind, play, lambda ratio, up: play(ratio * LITTLE_SLOWER, up))

    return [
        loop("test drums", "test drums", lambda ratio, _: signals.play_drums(TEMPO_BPM / ratio)),
        loop("test plucks", "test plucked", lambda ratio, up: signals.play_plucks(TEMPO_BPM / ratio, semitones=up)),
        loop("test chords", "test held", lambda ratio, up: signals.play_chords(TEMPO_BPM / ratio, semitones=up)),
        loop("test both", "test both", lambda ratio, _: signals.play_both(TEMPO_BPM / ratio)),
    ]
