"""Held sound at another length: a circular phase vocoder.

Short windows of the loop are taken at one pace and laid down at another, each turned in phase so that it
carries on where the one before left off (Flanagan & Golden 1966; two transforms a window, so that the advance
is measured, not guessed; Laroche & Dolson, "Improved phase vocoder time-scale modification of audio", IEEE
TSAP 7(3), 1999: a peak and the bins around it turn together). A peak turns both channels alike, by an advance
in which each channel counts by its power and the channels are never added: stereo, mono and opposite phases
stay what they were.

Circular: a whole number of windows goes into the output, the last is laid over the first, and what phase is
left over after one round is turned back little by little before the join, so that no level is lost there. At
onsets the phases start afresh from the source, all at once; a loop that has one starts its round there and
needs no turning back.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

Samples = NDArray[np.float32]
Frames = NDArray[np.int64]
Spectra = NDArray[np.complex64]

WINDOW_SECONDS = 0.093
HOPS_PER_WINDOW = 4
BLOCK_WINDOWS = 48
# Over this long before the join the left-over phase is turned back.
CLOSING_SECONDS = 0.25


@dataclass(frozen=True)
class _Grid:
    """Where each window is centred: in the source, in the source one output hop earlier, and in the output.

    `afresh` marks windows whose phases come straight from the source. There is one window more than a round
    has: the last is the first again, and shows how much phase is left over.
    """

    source: Frames
    earlier: Frames
    output: Frames
    afresh: NDArray[np.bool_]
    origin: int

    @property
    def count(self) -> int:
        return len(self.output) - 1


def stretch_held(samples: Samples, rate_hz: int, length_frames: int, onsets: Frames) -> Samples:
    """A circular loop made longer or shorter at its own pitch.

    Parameters
    ----------
    samples : float32 array, shape (frames, 2), circular, at least 32 frames
    rate_hz : int > 0
    length_frames : int >= 32
    onsets : int64 array, sorted, frames at which phases start afresh; may be empty

    Returns
    -------
    float32 array, shape (length_frames, 2), circular
    """
    window_frames = _window_frames(rate_hz, min(len(samples), length_frames))
    grid = _grid(len(samples), length_frames, window_frames, onsets)
    window = np.hanning(window_frames + 1)[:-1].astype(np.float32)
    views = _views(samples, window_frames)
    out = np.zeros((2, length_frames + window_frames), np.float32)
    weight = np.zeros(length_frames + window_frames, np.float32)
    rotation = np.ones(window_frames // 2 + 1, np.complex64)
    for first, last in _blocks(grid.count, closing := _closing_windows(grid, length_frames, rate_hz)):
        spectra, rotations = _turned(views, grid, window, rotation, first, last)
        rotation = rotations[last - first - 1]
        if last == grid.count:
            _close(rotations, closing)
        pieces = np.fft.irfft(spectra * rotations[: last - first], window_frames, axis=2).astype(np.float32)
        _overlap(out, weight, pieces * window, window, grid.output[first:last])
    return _joined(out, weight, length_frames, grid.origin)


def _window_frames(rate_hz: int, frames: int) -> int:
    """A power of two near the wanted length, and at most half the loop."""
    wanted = 1 << round(math.log2(WINDOW_SECONDS * rate_hz))
    while wanted > 16 and wanted > frames // 2:
        wanted //= 2
    return wanted


def _grid(frames: int, length_frames: int, window_frames: int, onsets: Frames) -> _Grid:
    """A whole number of evenly spaced windows; the first sits on the first onset, if there is one."""
    count = max(HOPS_PER_WINDOW, round(length_frames * HOPS_PER_WINDOW / window_frames))
    start = int(onsets[0]) if len(onsets) else 0
    output = np.floor(np.arange(count + 1) * (length_frames / count) + 0.5).astype(np.int64)
    source = np.floor(output * (frames / length_frames) + 0.5).astype(np.int64)
    hops = np.diff(output, prepend=output[count - 1] - length_frames)
    afresh = np.zeros(count + 1, np.bool_)
    for onset in onsets:
        afresh[np.argmin(np.abs(source[:count] - (onset - start) % frames))] = True
    source += start
    return _Grid(source, source - hops, output, afresh, round(start * length_frames / frames))


def _views(samples: Samples, window_frames: int) -> NDArray[np.float32]:
    """Every window of the loop, shape (2, frames + 1, window_frames); number k is centred on frame k."""
    half = window_frames // 2
    wrapped = samples.take(np.arange(-half, len(samples) + half), axis=0, mode="wrap")
    return sliding_window_view(np.ascontiguousarray(wrapped.T), window_frames, axis=1)


def _closing_windows(grid: _Grid, length_frames: int, rate_hz: int) -> int:
    """How many windows before the join may be turned: no further back than the last fresh start."""
    most = max(1, round(CLOSING_SECONDS * rate_hz * grid.count / length_frames))
    since_fresh = (
        grid.count - int(np.flatnonzero(grid.afresh)[-1]) - 1 if grid.afresh.any() else grid.count - 1
    )
    return max(0, min(most, since_fresh, grid.count // 2))


def _blocks(count: int, closing: int) -> list[tuple[int, int]]:
    """Runs of windows of bounded size; the last holds all that are turned for closing."""
    starts = [*range(0, max(1, count - closing), BLOCK_WINDOWS)]
    return list(zip(starts, [*starts[1:], count], strict=True))


def _turned(  # noqa: PLR0913, PLR0917  # the state of one recursion, kept in plain arrays
    views: NDArray[np.float32],
    grid: _Grid,
    window: NDArray[np.float32],
    rotation: Spectra,
    first: int,
    last: int,
) -> tuple[Spectra, Spectra]:
    """Spectra of windows first to last - 1, shape (2, windows, bins); rotations of first to last."""
    frames = views.shape[1] - 1
    here = _spectra(views, grid.source[first : last + 1] % frames, window)
    previous = _spectra(views, grid.source[[first - 1]] % frames, window)
    came_from = np.concatenate([previous, here[:, :-1]], axis=1)
    earlier = _spectra(views, grid.earlier[first : last + 1] % frames, window)
    advance = _unit((came_from * earlier.conj()).sum(axis=0))
    owner = _owners((here.real**2 + here.imag**2).sum(axis=0))
    rotations = np.empty_like(advance)
    for row, number in enumerate(range(first, last + 1)):
        fresh = grid.afresh[number] or number == 0
        rotation = np.ones_like(rotation) if fresh else (rotation * advance[row])[owner[row]]
        rotations[row] = rotation
    return here[:, :-1], rotations


def _spectra(views: NDArray[np.float32], centres: Frames, window: NDArray[np.float32]) -> Spectra:
    return np.fft.rfft(views[:, centres] * window, axis=2).astype(np.complex64, copy=False)


def _unit(values: Spectra) -> Spectra:
    """Length one, direction kept; one where there is no direction."""
    size = np.abs(values)
    turned: Spectra = np.where(size > 1e-20, values / np.maximum(size, np.float32(1e-20)), np.complex64(1))
    return turned


def _owners(power: NDArray[np.float32]) -> NDArray[np.intp]:
    """For each bin the nearest peak of its window; itself where the window has none."""
    bins = np.arange(power.shape[1])
    inner = power[:, 2:-2]
    peak = np.zeros(power.shape, np.bool_)
    peak[:, 2:-2] = (inner > power[:, 1:-3]) & (inner >= power[:, 3:-1])
    peak[:, 2:-2] &= (inner > power[:, :-4]) & (inner >= power[:, 4:])
    far = 4 * len(bins)
    below = np.maximum.accumulate(np.where(peak, bins, -far), axis=1)
    above = np.minimum.accumulate(np.where(peak, bins, far)[:, ::-1], axis=1)[:, ::-1]
    nearest = np.where(bins - below <= above - bins, below, above)
    return np.where((nearest >= 0) & (nearest < len(bins)), nearest, bins)


def _close(rotations: Spectra, closing: int) -> None:
    """Turn the last windows, so that the one after them (the first again) stands as it did at first."""
    left_over = -np.angle(rotations[-1])
    share = (np.arange(closing, dtype=np.float32) + 1) / (closing + 1)
    rotations[len(rotations) - 1 - closing : -1] *= np.exp(1j * share[:, None] * left_over).astype(
        np.complex64
    )


def _overlap(
    out: NDArray[np.float32],
    weight: NDArray[np.float32],
    pieces: NDArray[np.float32],
    window: NDArray[np.float32],
    starts: Frames,
) -> None:
    squared = window * window
    for number, start in enumerate(starts):
        out[:, start : start + len(window)] += pieces[:, number]
        weight[start : start + len(window)] += squared


def _joined(
    out: NDArray[np.float32], weight: NDArray[np.float32], length_frames: int, origin: int
) -> Samples:
    """What reaches past the end laid over the start, weights evened out, the loop's start in place."""
    over = out.shape[1] - length_frames
    out[:, :over] += out[:, length_frames:]
    weight[:over] += weight[length_frames:]
    even = out[:, :length_frames] / np.maximum(weight[:length_frames], np.float32(1e-3))
    return np.ascontiguousarray(np.roll(even, origin - over // 2, axis=1).T)
