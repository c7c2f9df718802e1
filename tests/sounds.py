"""Loops made in the tests, so that what must come out is known: clicks on every beat, tones, noise.

`loop_folder` writes them with their catalog.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

RATE_HZ = 44_100


@dataclass(frozen=True)
class Made:
    """A loop to be made: `kind` is clicks, tone or noise."""

    name: str
    kind: str = "clicks"
    role: str = "drums"
    tempo_bpm: str = "96"
    bars: int = 4
    time: str = "4/4"
    key: str = "none"
    pitch_hz: float = 220.0
    rate_hz: int = RATE_HZ

    @property
    def beats(self) -> int:
        count, unit = map(int, self.time.split("/"))
        return self.bars * (count // 3 if unit == 8 and count in (6, 9, 12) else count)

    @property
    def seconds(self) -> Fraction:
        return self.beats * 60 / Fraction(self.tempo_bpm)

    def samples(self) -> NDArray[np.float32]:
        frames = round(self.seconds * self.rate_hz)
        if self.kind == "tone":
            # a whole number of cycles, so that the loop joins
            cycles = round(self.pitch_hz * frames / self.rate_hz)
            mono = 0.3 * np.sin(2 * np.pi * cycles * np.arange(frames) / frames)
        elif self.kind == "noise":
            mono = 0.1 * np.random.default_rng(5).standard_normal(frames)
        else:
            mono = np.zeros(frames)
            for beat in range(self.beats):
                at = round(beat * frames / self.beats)
                hit = click(self.rate_hz, strong=beat % (self.beats // self.bars) == 0)
                room = min(len(hit), frames - at)
                mono[at : at + room] += hit[:room]
        return np.repeat(mono[:, None], 2, axis=1).astype(np.float32)


def click(rate_hz: int = RATE_HZ, *, strong: bool = True) -> NDArray[np.float64]:
    """A short hit with its start at its first frame."""
    time = np.arange(round(0.08 * rate_hz)) / rate_hz
    return (0.8 if strong else 0.4) * np.cos(2 * np.pi * 1800 * time) * np.exp(-90 * time)


def loop_folder(folder: Path, *loops: Made) -> Path:
    """Write loops and their catalog into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    cards = []
    for loop in loops:
        soundfile.write(folder / f"{loop.name}.wav", loop.samples(), loop.rate_hz, subtype="FLOAT")
        cards.append(
            f"{loop.name}:\n  file: {loop.name}.wav\n  tempo: {loop.tempo_bpm}\n  bars: {loop.bars}\n"
            f"  time: {loop.time}\n  key: {loop.key}\n  role: {loop.role}\n"
        )
    (folder / "loops.yaml").write_text("".join(cards), encoding="utf-8")
    return folder
