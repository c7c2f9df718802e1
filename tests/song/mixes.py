"""Mixes made in the test, in any size of block."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from mixer.material.fit import Fit, Material
from mixer.signal.blocks import BLOCK_FRAMES, Samples
from mixer.song.finish import Finished
from mixer.song.plan import Plan
from mixer.song.survey import Mix
from tests.signal import signals

RATE_HZ = signals.RATE_HZ


@dataclass
class ArrayMix:
    """A mix that is there already; the same buffer is used for every block, as a real mix does."""

    samples: Samples
    rate_hz: int = RATE_HZ
    block_frames: int = BLOCK_FRAMES
    passes: int = 0

    @property
    def length_frames(self) -> int:
        return len(self.samples)

    def blocks(self) -> Iterator[Samples]:
        self.passes += 1
        buffer = np.zeros((self.block_frames, 2), np.float32)
        for start in range(0, len(self.samples), self.block_frames):
            block = self.samples[start : start + self.block_frames]
            buffer[: len(block)] = block
            yield buffer[: len(block)]
            buffer[:] = np.nan


def sound_of(finished: Finished | Mix) -> Samples:
    return np.concatenate([np.zeros((0, 2), np.float32), *(block.copy() for block in finished.blocks())])


def noise_materials(plan: Plan, kept: dict[Fit, Material]) -> dict[str, Material]:
    """Noise for each loop, always the same array as long as it is fitted the same way."""
    found = {}
    for part in plan.parts:
        if part.fit not in kept:
            frames = round(part.fit.bars * plan.bar_frames)
            noise = np.random.default_rng(len(kept)).standard_normal((frames, 2)).astype(np.float32)
            kept[part.fit] = Material(0.1 * noise, -20.0, "")
        found[part.layer.name] = kept[part.fit]
    return found


def song(seconds: float = 20.0, rate_hz: int = RATE_HZ) -> Samples:
    """Drums, plucked bass and held chords: first chords alone, then bass, then all, then a quiet end."""
    frames = round(seconds * rate_hz)
    drums, bass, chords = (
        np.resize(play(96.0, rate_hz).samples, (frames, 2))
        for play in (signals.play_drums, signals.play_plucks, signals.play_chords)
    )
    time = np.linspace(0, 1, frames)[:, None]
    drums = drums * ((time > 0.3) & (time < 0.9))
    bass = bass * (time > 0.15)
    return (0.5 * drums + 0.3 * bass + 0.15 * chords * (1 - 0.5 * (time > 0.9))).astype(np.float32)
