"""A song with soft clicks on its beats and a chime where each section begins, for those who can't see the chart.

The clicks are where the beats are by exact arithmetic, the first of a bar higher than the others. The song is turned
down by the room that they need, so nothing is limited or clipped.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from mixer.music.meter import nearest_frame
from mixer.signal.blocks import Samples
from mixer.song.finish import Finished
from mixer.song.plan import Plan

SONG_GAIN = 10 ** (-4 / 20)
"""A song peaks at -1 dBTP, 0.89; turned down by 4 dB, 0.56: that leaves room for a chime and a click together."""
CLICK = 0.06
CHIME = 0.16


def with_guide(plan: Plan, finished: Finished) -> Iterator[Samples]:
    """Give the song with its guide, block by block, float32, shape (frames, 2)."""
    sounds = sorted(_sounds(plan), key=lambda each: each[0])
    at = 0
    for block in finished.blocks():
        out = block * np.float32(SONG_GAIN)
        for start, sound in sounds:
            low, high = max(start, at), min(start + len(sound), at + len(out))
            if low < high:
                out[low - at : high - at] += sound[low - start : high - start, None]
        at += len(out)
        sounds = [(start, sound) for start, sound in sounds if start + len(sound) > at]
        yield out


def _sounds(plan: Plan) -> Iterator[tuple[int, NDArray[np.float32]]]:
    """Every click and chime, and the frame at which it begins."""
    beats = plan.frame.meter.beats
    beat_frames = plan.bar_frames / beats
    first, other = (_click(hz, plan.rate_hz) for hz in (1600.0, 1000.0))
    for beat in range(plan.recipe.bars * beats):
        yield nearest_frame(Fraction(beat) * beat_frames), other if beat % beats else first
    chime = _chime(plan.rate_hz)
    for mark in plan.marks:
        yield mark.start_frame, chime


def _click(pitch_hz: float, rate_hz: int) -> NDArray[np.float32]:
    seconds = np.arange(round(0.03 * rate_hz)) / rate_hz
    return _faded(CLICK * np.sin(2 * np.pi * pitch_hz * seconds) * np.exp(-seconds / 0.006), rate_hz)


def _chime(rate_hz: int) -> NDArray[np.float32]:
    """A fifth that dies away: heard through most music, and like no drum."""
    seconds = np.arange(round(1.2 * rate_hz)) / rate_hz
    tones = np.sin(2 * np.pi * 1046.5 * seconds) + 0.7 * np.sin(2 * np.pi * 1568.0 * seconds)
    return _faded(CHIME / 1.7 * tones * np.exp(-seconds / 0.35), rate_hz)


def _faded(sound: NDArray[np.float64], rate_hz: int) -> NDArray[np.float32]:
    """The sound, with 2 ms to end in."""
    frames = round(0.002 * rate_hz)
    sound[-frames:] *= np.linspace(1, 0, frames)
    return sound.astype(np.float32)
