"""The layers added up, block by block.

A loop is read round and round. Its repetition k begins at round(anchor + k x exact length); where the rounding makes a
repetition one frame longer or shorter than the material, 5 ms of crossfade hide the slip. A cue fades in
during the last 10 ms before its bar line, with the sound that goes before it in the loop, so that the downbeat itself
is whole (an upbeat is heard before it, as long as it is); it fades out in the last 10 ms before the bar line at which
it ends, so that nothing of the next bar is heard.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Collection, Hashable, Iterator, Mapping
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from mixer.material.fit import Material
from mixer.music.meter import nearest_frame
from mixer.record import record
from mixer.signal.blocks import BLOCK_FRAMES, Samples
from mixer.song.gains import EDGE_SECONDS
from mixer.song.levels import ROLE_LUFS
from mixer.song.plan import Cue, Part, Plan

JOIN_SECONDS = Fraction(1, 200)
# Gains that differ left and right are laid down for so many frames, and used again along a block.
ROW_FRAMES = 4096
# The song's very first sound has nothing before its bar line to fade in with.
START_SECONDS = Fraction(1, 500)

_Fade = tuple[int, int, bool]
"""From and to which frame, and whether it rises."""


@record
class _Piece:
    """A stretch of a cue that is read from the material without a slip.

    Parameters
    ----------
    start, end : where its weight is 1, but for the fades
    anchor : the frame at which the material's frame 0 stands
    rise_from : where it begins to fade in; at `start` it is there
    fall_from : where it begins to fade out; at `end` it is gone
    """

    start: int
    end: int
    anchor: int
    rise_from: int
    fall_from: int


@record
class _Voice:
    """One cue, ready to be added: what is read, and the gain of each channel along it."""

    samples: Samples
    pieces: tuple[_Piece, ...]
    ends: tuple[int, ...]  # of the pieces, rising, so that those that have passed are not gone through again
    points: tuple[int, ...]  # frames at which the gain is said
    gains: tuple[tuple[float, float], ...]  # of left and right there, as float32 holds them


class Mix:
    """The unfinished song, or some layers of it.

    Parameters
    ----------
    plan : the song
    materials : by layer's name; layers without one are silent
    layers : names of those to be heard; None for all
    block_frames : how much is made at a time; the sound does not depend on it
    """

    def __init__(
        self,
        plan: Plan,
        materials: Mapping[str, Material],
        *,
        layers: Collection[str] | None = None,
        block_frames: int = BLOCK_FRAMES,
    ) -> None:
        self._plan = plan
        self._block_frames = block_frames
        self._voices = [
            _voice(cue, part, materials[part.layer.name], plan, before.end_frame if before else 0)
            for part in plan.parts
            if part.layer.name in materials and (layers is None or part.layer.name in layers)
            for before, cue in zip((None, *part.cues), part.cues, strict=False)
            if np.isfinite(materials[part.layer.name].loudness_lufs)
        ]

    @property
    def rate_hz(self) -> int:
        """Frames per second."""
        return self._plan.rate_hz

    @property
    def length_frames(self) -> int:
        """How many frames all blocks have together."""
        return self._plan.length_frames

    def blocks(self) -> Iterator[Samples]:
        """The sound from the start, shape (frames, 2) each; a block lasts until the next."""
        out = np.empty((self._block_frames, 2), np.float32)
        scratch = np.empty_like(out)
        for start, end in self.spans():
            yield self.added_up(start, out[: end - start], scratch)

    def spans(self) -> Iterator[tuple[int, int]]:
        """The first frame of each block, and the first after it."""
        for start in range(0, self.length_frames, self._block_frames):
            yield start, min(start + self._block_frames, self.length_frames)

    def added_up(self, start: int, block: Samples, scratch: Samples) -> Samples:
        """Fill one block, shape (frames, 2), which begins at frame `start`; `scratch` is at least as large."""
        block[:] = 0
        for voice in self._voices:
            _add(voice, block, start, scratch)
        return block

    def made_of(self, start: int, end: int) -> Hashable:
        """Everything on which the sound of a block depends; sound in memory is told apart by its identity."""
        return tuple(
            (id(voice.samples), low, high, fade, at, _near_gains(voice, low, high))
            for voice in self._voices
            for low, high, fade, at in _stretches(voice, start, end)
        )


def _voice(cue: Cue, part: Part, material: Material, plan: Plan, free_frame: int) -> _Voice:
    """Make a cue ready; where its loop begins with an upbeat, that is heard before it, if the layer is silent then."""
    upbeat = material.upbeat_frames if cue.phase_bars == 0 else 0
    start = min(cue.start_frame, max(free_frame, cue.start_frame - upbeat))
    usual = 10 ** ((ROLE_LUFS[part.fit.role] - material.loudness_lufs) / 20)
    pieces = tuple(_pieces(cue, start, part, len(material.samples), plan))
    gains = [[usual * point.gain * side for side in _sides(point.pan)] for point in cue.points]
    return _Voice(
        samples=material.samples,
        pieces=pieces,
        ends=tuple(piece.end for piece in pieces),
        points=tuple(point.frame for point in cue.points),
        gains=tuple((left, right) for left, right in np.array(gains, np.float32).tolist()),
    )


def _sides(pan: float) -> tuple[float, float]:
    """Factors of left and right that keep the power: 1 and 1 in the middle, 0 and the root of 2 at one side."""
    angle = (pan + 1) * np.pi / 4
    return float(np.cos(angle) * np.sqrt(2)), float(np.sin(angle) * np.sqrt(2))


def _pieces(cue: Cue, start_frame: int, part: Part, material_frames: int, plan: Plan) -> Iterator[_Piece]:
    edge = nearest_frame(EDGE_SECONDS * plan.rate_hz)
    join = nearest_frame(JOIN_SECONDS * plan.rate_hz)
    starts = _repetitions(cue, part, plan)
    spans = [(max(start_frame, a), min(cue.end_frame, b), a) for a, b in pairwise(starts)]
    runs: list[tuple[int, int, int]] = []
    for start, end, anchor in spans:
        if end <= start:
            continue
        if runs and (anchor - runs[-1][2]) % material_frames == 0:
            runs[-1] = (runs[-1][0], end, runs[-1][2])
        else:
            runs.append((start, end, anchor))
    for number, (start, end, anchor) in enumerate(runs):
        rise = edge if number == 0 else join
        fall = edge if number == len(runs) - 1 else join
        if start == 0:
            first = nearest_frame(START_SECONDS * plan.rate_hz)
            yield _Piece(min(first, end), end, anchor, 0, max(end - fall, min(first, end)))
        else:
            yield _Piece(start, end, anchor, max(0, start - rise), max(start, end - fall))


def _repetitions(cue: Cue, part: Part, plan: Plan) -> list[int]:
    """Where the loop's repetitions begin, one before the cue's start to one after its end."""
    first = (cue.enter_bar - 1 - cue.phase_bars) * plan.bar_frames
    length = part.fit.bars * plan.bar_frames
    count = int((cue.end_frame - first) / length) + 2
    return [nearest_frame(first + number * length) for number in range(-1, count + 1)]


def _stretches(voice: _Voice, block_start: int, block_end: int) -> Iterator[tuple[int, int, _Fade | None, int]]:
    """What of a voice falls into a block: from and to which frame, the fade that is on, and where the material is."""
    for piece in voice.pieces[bisect_right(voice.ends, block_start) :]:
        if piece.rise_from >= block_end:
            break
        for low, high, rising in (
            (piece.rise_from, piece.start, True),
            (piece.start, piece.fall_from, None),
            (piece.fall_from, piece.end, False),
        ):
            start, end = max(low, block_start), min(high, block_end)
            if start < end:
                fade = None if rising is None else (low, high, rising)
                yield start, end, fade, (start - piece.anchor) % len(voice.samples)


def _add(voice: _Voice, block: Samples, block_start: int, scratch: Samples) -> None:
    for start, end, fade, at in _stretches(voice, block_start, block_start + len(block)):
        gains = _gains(voice, start, end)
        if fade is not None:
            gains = gains * _weight(start, end, fade)[:, None]
        _add_stretch(voice.samples, at, gains, block[start - block_start : end - block_start], scratch)


def _weight(start: int, end: int, fade: _Fade) -> NDArray[np.float32]:
    """Part of a raised cosine from 0 to 1, or back."""
    low, high, rising = fade
    along = (np.arange(start, end, dtype=np.float64) - low + 0.5) / (high - low)
    weight = 0.5 - 0.5 * np.cos(np.pi * along)
    return (weight if rising else 1 - weight).astype(np.float32)


def _add_stretch(samples: Samples, at: int, gains: NDArray[np.float32], out: Samples, scratch: Samples) -> None:
    """Add a stretch of material, read round and round from frame `at`."""
    done = 0
    while done < len(out):
        count = min(len(out) - done, len(samples) - at)
        part = scratch[:count]
        moving = gains[done : done + count] if len(gains) > 1 else gains
        _multiply(samples[at : at + count], moving, part)
        out[done : done + count] += part
        done += count
        at = 0


def _multiply(samples: Samples, gains: NDArray[np.float32], out: Samples) -> None:
    """Multiply each channel with its gain; `gains` has one row, or one for each frame.

    One row for all frames makes numpy begin anew at every frame and takes ten to thirty times as long, so it is made
    one number or many rows first. The products are the same.
    """
    if len(gains) > 1:
        np.multiply(samples, gains, out=out)
    elif gains[0, 0] == gains[0, 1]:
        np.multiply(samples, gains[0, 0], out=out)
    else:
        rows, whole = _rows(*gains[0].tolist()), len(samples) // ROW_FRAMES * ROW_FRAMES
        np.multiply(samples[:whole].reshape(-1, ROW_FRAMES, 2), rows, out=out[:whole].reshape(-1, ROW_FRAMES, 2))
        np.multiply(samples[whole:], rows[: len(samples) - whole], out=out[whole:])


@lru_cache(maxsize=64)
def _rows(left: float, right: float) -> NDArray[np.float32]:
    return np.tile(np.array([[left, right]], np.float32), (ROW_FRAMES, 1))


def _gains(voice: _Voice, start: int, end: int) -> NDArray[np.float32]:
    """Gain of each channel, shape (1, 2) where it does not move and (end - start, 2) where it does."""
    points = _points(voice, start, end)
    near, frames = voice.gains[points], voice.points[points]
    if near.count(near[0]) == len(near):
        return np.array(near[:1], np.float32)
    moving = np.empty((end - start, 2), np.float32)
    moving[: max(0, frames[0] - start)] = near[0]
    moving[max(0, frames[-1] - start) :] = near[-1]
    for (here, there), gains, later in zip(pairwise(frames), near, near[1:], strict=False):
        low, high = max(start, here), min(end, there)
        along = np.arange(low - here, high - here, dtype=np.float64)
        for side in (0, 1):
            line = along * ((later[side] - gains[side]) / (there - here))
            line += gains[side]
            moving[low - start : high - start, side] = line
    return moving


def _near_gains(voice: _Voice, start: int, end: int) -> Hashable:
    """Everything on which `_gains` depends."""
    points = _points(voice, start, end)
    near = voice.gains[points]
    return near[0] if near.count(near[0]) == len(near) else (voice.points[points], near)


def _points(voice: _Voice, start: int, end: int) -> slice:
    """The points between which the gain of these frames lies."""
    low, high = max(0, bisect_right(voice.points, start) - 1), bisect_left(voice.points, end - 1)
    return slice(low, min(high, len(voice.gains) - 1) + 1)
