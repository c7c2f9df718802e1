"""What came out: loudness and true peak by libebur128, and how far hits stand from where they belong.

Hits are sought where the drums are alone, the same way in the song and in the loop as it was recorded, so that the way
of seeking cancels out.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pyebur128
import soundfile
from numpy.typing import NDArray

from benchmarks.song.songs import BEATS, DRUMS_ALONE_BARS, RATE_HZ, Song

NEAR_SECONDS = 0.045
SMOOTH_SECONDS = 0.001
THRESHOLD = 0.25
SOFTEST_HIT = 0.05
BLOCK_FRAMES = 65_536


@dataclass(frozen=True)
class Verdict:
    """LUFS, dBTP, and the onset error's middle and its farthest both ways, in milliseconds (late is positive)."""

    loudness_lufs: float
    true_peak_dbtp: float
    onsets_ms: tuple[float, float, float]

    def __str__(self) -> str:
        middle, low, high = self.onsets_ms
        return f"{self.loudness_lufs:.2f} | {self.true_peak_dbtp:+.2f} | {middle:+.1f} ({low:+.1f} to {high:+.1f})"


def judge(file: Path, song: Song, loops: Path) -> Verdict:
    """Measure a song; its first layer is the drums."""
    loudness, peak = _levels(file)
    drums, _ = soundfile.read(loops / f"{song.layers[0].loop}.wav", always_2d=True)
    heard, _ = soundfile.read(file, frames=round(DRUMS_ALONE_BARS * song.bar_frames), always_2d=True)
    own = _hits(drums, 60 * RATE_HZ / song.own_tempo_bpm)
    late = _hits(heard, float(song.bar_frames) / BEATS) - own / song.ratio
    late = late[np.isfinite(late)] / RATE_HZ * 1000
    return Verdict(loudness, peak, (float(np.median(late)), float(late.min()), float(late.max())))


def _levels(file: Path) -> tuple[float, float]:
    with soundfile.SoundFile(file) as sound:
        mode = pyebur128.MeasurementMode.MODE_I | pyebur128.MeasurementMode.MODE_TRUE_PEAK
        meter = pyebur128.R128State(sound.channels, sound.samplerate, mode)
        highest = 0.0
        for block in sound.blocks(BLOCK_FRAMES, dtype="float32", always_2d=True):
            meter.add_frames(np.ascontiguousarray(block).reshape(-1), len(block))
            highest = max(highest, *(pyebur128.get_true_peak(meter, side) for side in range(sound.channels)))
    return pyebur128.get_loudness_global(meter), float(20 * np.log10(highest))


def _hits(samples: NDArray[np.float64], beat_frames: float) -> NDArray[np.float64]:
    """How many frames after each second and fourth beat, where the snare is, the hit starts; NaN if there is none."""
    bright = np.square(np.diff(samples.mean(axis=1), 2, prepend=[0, 0]))
    width = round(SMOOTH_SECONDS * RATE_HZ)
    level = np.sqrt(np.convolve(bright, np.ones(width) / width, "same"))
    near = round(NEAR_SECONDS * RATE_HZ)
    found = []
    for beat in range(1, DRUMS_ALONE_BARS * BEATS, 2):
        at = round(beat * beat_frames)
        around = level[at - near : at + near]
        threshold = around.min() + THRESHOLD * (around.max() - around.min())
        is_hit = around.max() > SOFTEST_HIT * level.max()
        found.append(float(np.argmax(around > threshold)) - near if is_hit else np.nan)
    return np.array(found)
