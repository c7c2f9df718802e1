"""Held sound at another length: a phase vocoder, for a whole circular loop or for one piece of it.

Short windows of the sound are taken at one pace and laid down at another, each turned in phase so that it carries on
where the one before left off (Flanagan & Golden 1966; two transforms a window, so that the advance is measured, not
guessed; Laroche & Dolson, "Improved phase vocoder time-scale modification of audio", IEEE TSAP 7(3), 1999: a peak
and the bins around it turn together). A peak turns both channels alike, by an advance in which each channel counts
by its power and the channels are never added: stereo, mono and opposite phases stay what they were.

Windows that lie over one another add up in full only where they agree. A steady tone agrees with itself; noise, breath
and choruses do not, and would come out up to 3 dB too faint and so too dull. How far each band of a window agrees with
its neighbours is measured, and what is lost by it is given back.

A circle holds a whole number of windows, the last laid over the first. What phase is left over after one round is
turned back little by little before the join, so that no level is lost there.

A piece starts with the phases of its source. Its windows see nothing of what comes before or after it, and where the
pace is the source's own it comes out as it went in: so an attack is neither smeared nor heard before its time.
"""

from __future__ import annotations

import math
from functools import cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from mixer.record import record
from mixer.signal.flatness import is_noise
from mixer.signal.windows import (
    Frames,
    Samples,
    Spectra,
    Windows,
    hann,
    runs_of,
    spectra_at,
    views_of,
    window_for,
    windows_of,
)

Curve = NDArray[np.float64]
Levels = NDArray[np.float32]

HOPS_PER_WINDOW = 4
# So many windows of the usual length are turned at a time; of shorter ones more.
BLOCK_FRAMES = 48 * 4096
# Over this long before the join the left-over phase is turned back.
CLOSING_SECONDS = 0.25
# How far windows agree is measured over so many bins: few enough that breath between partials is seen by itself.
BAND_BINS = 8
# A constant offset has no phase to turn; a window holds it in its lowest bins.
OFFSET_BINS, OFFSET_STRETCHES = 2, 8


@record
class _Grid:
    """Which window of the source goes where, and which lies one output hop earlier; `before` is what comes before all.

    There is one window more than is laid down: in a circle it is the first again, and shows what phase is left over.
    """

    source: Frames
    earlier: Frames
    output: Frames
    before: int

    @property
    def count(self) -> int:
        return len(self.output) - 1

    def after(self, windows: int) -> _Grid:
        """Without the first of them."""
        before = int(self.source[windows - 1]) if windows else self.before
        return _Grid(self.source[windows:], self.earlier[windows:], self.output[windows:], before)


def stretch_circle(samples: Samples, rate_hz: int, length_frames: int, highest_hz: float = math.inf) -> Samples:
    """A circular loop made longer or shorter at its own pitch.

    Parameters
    ----------
    samples : float32 array, shape (frames, channels), circular, at least 32 frames
    rate_hz : int > 0
    length_frames : int >= 32
    highest_hz : above which there is nothing that need be kept

    Returns
    -------
    float32 array, shape (length_frames, channels), circular
    """
    frames = len(samples)
    window = _window(samples, rate_hz, min(frames, length_frames) // 2, highest_hz)
    over = len(window)
    offset = _offset(samples)
    wrapped = np.pad(np.subtract(samples.T, offset[:, None], order="C"), ((0, 0), (over // 2, over // 2)), mode="wrap")
    grid = _circle(frames, length_frames, over)
    most = round(CLOSING_SECONDS * rate_hz * grid.count / length_frames)
    closing = max(1, min(most, grid.count // 2))
    bins = _bins(window, highest_hz / rate_hz)
    out, weight = _laid(views_of(wrapped.T, over), None, grid, window, bins, closing)
    out[:, :over] += out[:, length_frames : length_frames + over]
    weight[:over] += weight[length_frames : length_frames + over]
    return np.roll(_even(out[:, :length_frames], weight[:length_frames], offset), -over // 2, axis=0)


def stretch_piece(
    piece: Samples, rate_hz: int, at_output: Curve, at_source: Curve, highest_hz: float = math.inf
) -> Samples:
    """One piece of a loop at a changing pace, its own pitch kept.

    Parameters
    ----------
    piece : float32 array, shape (frames, channels)
    rate_hz : int > 0
    at_output, at_source : float64 arrays of equal length, both rising from 0
        Frames of the result, and which frame of the piece is heard there; evenly paced in between. The last of
        `at_output` is the length of the result.
    highest_hz : above which there is nothing that need be kept

    Returns
    -------
    float32 array, shape (last of at_output, 2)
    """
    length_frames = int(at_output[-1])
    window = _window(piece, rate_hz, 2 * min(len(piece), length_frames) // 3, highest_hz)
    over = len(window)
    hop = over // HOPS_PER_WINDOW
    output = np.arange(0, length_frames + 2 * hop, hop)
    source = np.floor(np.interp(output, at_output, at_source) + 0.5).astype(np.int64) + over // 2
    offset = _offset(piece)
    padded = np.zeros((piece.shape[1], len(piece) + 2 * over), np.float32)
    np.subtract(piece.T, offset[:, None], out=padded[:, over:-over])
    inside = np.zeros(padded.shape[1], np.float32)
    inside[over:-over] = 1
    grid = _Grid(source, source - hop, output, int(source[0]) - hop)
    bins = _bins(window, highest_hz / rate_hz)
    out, weight = _laid(views_of(padded.T, over), inside, grid, window, bins, closing=0)
    wanted = slice(over // 2, over // 2 + length_frames)
    return _even(out[:, wanted], weight[wanted], offset)


def _offset(samples: Samples) -> NDArray[np.float32]:
    """A constant offset is taken off before and put back after: at the ends it would be a step.

    It is what each stretch has on average, or more: notes that swing further up than down have none where it is silent.
    """
    count = min(OFFSET_STRETCHES, len(samples))
    edges = np.arange(count + 1) * len(samples) // count
    sums = np.array([np.add.reduceat(channel, edges[:-1], dtype=np.float64) for channel in samples.T])
    means = sums / (edges[1:] - edges[:-1])
    return np.array([each[np.argmin(np.abs(each))] for each in means], np.float32)


def _window(samples: Samples, rate_hz: int, most_frames: int, highest_hz: float) -> Windows:
    """Half as long for noise: it has no tones to tell apart, and its drops and grains stay where they are.

    What reaches to some frequency only has been picked out as tones, and is none.
    """
    window = window_for(rate_hz, most_frames)
    noise = highest_hz == math.inf and is_noise(samples, window)
    return window_for(rate_hz, len(window) // 2) if noise else window


def _bins(window: Windows, highest: float) -> int:
    """How many bins reach up to a frequency (of the rate), in whole bands and one more."""
    whole = len(window) // 2
    return min(whole, BAND_BINS * math.ceil(min(highest, 1) * len(window) / BAND_BINS)) + 1


def _circle(frames: int, length_frames: int, window_frames: int) -> _Grid:
    """A whole number of evenly spaced windows."""
    count = max(HOPS_PER_WINDOW, round(length_frames * HOPS_PER_WINDOW / window_frames))
    output = np.floor(np.arange(count + 1) * (length_frames / count) + 0.5).astype(np.int64)
    source = np.floor(output * (frames / length_frames) + 0.5).astype(np.int64)
    hops = np.diff(output, prepend=output[count - 1] - length_frames)
    return _Grid(source % frames, (source - hops) % frames, output, int(source[-2]))


def _laid(
    views: Windows, inside: NDArray[np.float32] | None, grid: _Grid, window: Windows, bins: int, closing: int
) -> tuple[Windows, NDArray[np.float32]]:
    """All windows turned and laid over one another, shape (channels, frames), and the sum of their weights.

    What is `inside` counts, in a circle all.
    """
    over = len(window)
    size = int(grid.output[-2]) + over
    out, weight = np.zeros((len(views), size + over), np.float32), np.zeros(size + over, np.float32)
    square = np.square(window)
    for start, source in zip(grid.output[:-1].tolist(), grid.source.tolist(), strict=False):
        if inside is None or (inside[source] and inside[source + over - 1]):
            weight[start : start + over] += square
        else:
            weight[start : start + over] += inside[source : source + over] * square
    # Those before the pace first changes are what they were.
    same = max(0, int(np.argmax(grid.earlier != np.append(grid.before, grid.source[:-1]))) - 1)
    for start, source in zip(grid.output[:same].tolist(), grid.source.tolist(), strict=False):
        out[:, start : start + over] += views[:, source] * square
    grid = grid.after(same)
    rotation = np.ones(bins, np.complex64)
    for first, last in _blocks(grid.count, closing, BLOCK_FRAMES // over):
        spectra, rotations, gains = _turned(views, grid, window, rotation, (first, last))
        rotation = rotations[-2].copy()
        if last == grid.count and closing:
            _close(rotations, closing)
        rotations[:-1] *= gains
        for run in runs_of(last - first, over):
            pieces = windows_of(spectra[:, run], rotations[run], over)
            pieces *= window
            for number, start in enumerate(grid.output[first:last][run].tolist()):
                out[:, start : start + over] += pieces[:, number]
    return out, weight


def _even(out: Windows, weight: NDArray[np.float32], offset: NDArray[np.float32]) -> Samples:
    """What was laid down by its weight, with its offset put back."""
    even = np.empty((len(weight), len(out)), np.float32)
    weight = np.maximum(weight, np.float32(1e-2))
    for channel, laid, constant in zip(even.T, out, offset, strict=True):
        np.divide(laid, weight, out=channel)
        np.add(channel, constant, out=channel)
    return even


def _blocks(count: int, closing: int, most: int) -> list[tuple[int, int]]:
    """Runs of windows of bounded size; the last holds all that are turned for closing."""
    starts = [*range(0, max(1, count - closing), most)]
    return list(zip(starts, [*starts[1:], count], strict=True))


def _turned(
    views: Windows, grid: _Grid, window: Windows, rotation: Spectra, run: tuple[int, int]
) -> tuple[Spectra, Spectra, Levels]:
    """Spectra of a run of windows, shape (2, windows, bins); rotations of them and of the one after; their gains."""
    first, last = run
    before = np.append(grid.source[first - 1] if first else grid.before, grid.source[first:last])
    spectra = spectra_at(views, np.append(before, grid.source[last]), window, len(rotation))
    powers = _power(spectra)
    bands = len(rotation) // BAND_BINS
    one = _bands(powers[:-1], bands)
    # At the source's own pace the window before is the one that lies one hop earlier.
    cross, other = powers[:-1].astype(np.complex64), one.copy()
    changed = np.flatnonzero(grid.earlier[first : last + 1] != before)
    for some in runs_of(int(changed[-1] - changed[0]) + 1 if len(changed) else 0, len(window)):
        rows = slice(changed[0] + some.start, changed[0] + some.stop)
        earlier = spectra_at(views, grid.earlier[first:][rows], window, len(rotation))
        other[rows] = _bands(_squares(earlier), bands)
        cross[rows] = _in_common(spectra[:, rows], earlier)
    peaks, reach = _peaks(powers[1:])
    advance = _unit(cross.reshape(-1)[peaks])
    if first == 0:  # the first keeps its phases, and has what it would have had to be held against
        count = np.searchsorted(peaks, len(rotation))
        cross[0] *= np.repeat(advance[:count], reach[:count]).conj()
        advance[:count] = 1
    rotations = _carried_on(rotation, peaks, reach, advance)
    cross *= rotations[:-1]
    products = cross.view(np.float32)
    products *= rotations[1:].view(np.float32)
    return spectra[:, 1:-1], rotations[1:], _gains(_bands(products, bands), one, other, window)


def _carried_on(rotation: Spectra, peaks: Frames, reach: Frames, advance: Spectra) -> Spectra:
    """Rotations of windows that follow one whose rotation is known, and that one's, shape (windows + 1, bins).

    `peaks` are in a row for all windows, with how many bins each turns and by how much it advances.
    """
    width = len(rotation)
    peak_of = np.repeat(np.arange(len(peaks)), reach)
    ends = np.searchsorted(peaks, np.arange(width, len(peak_of) + 1, width)).tolist()
    before = peak_of[peaks - width]
    turned = advance.copy()
    turned[: ends[0]] *= rotation[peaks[: ends[0]]]
    for start, end in pairwise(ends):
        turned[start:end] *= turned[before[start:end]]
    rotations = np.empty((len(ends) + 1, width), np.complex64)
    rotations[0] = rotation
    np.take(turned, peak_of, out=rotations[1:].reshape(-1), mode="clip")
    rotations[:, :OFFSET_BINS] = 1
    return rotations


def _power(spectra: Spectra) -> Levels:
    """Both channels' power, shape (windows, bins)."""
    squares = _squares(spectra)
    power: Levels = squares[:, ::2] + squares[:, 1::2]
    return power


def _squares(spectra: Spectra) -> Levels:
    """Both channels' power, real and imaginary parts by themselves, shape (windows, 2 bins)."""
    squares: Levels = np.square(spectra[0].view(np.float32))
    for channel in spectra[1:]:
        squares += np.square(channel.view(np.float32))
    return squares


def _in_common(spectra: Spectra, others: Spectra) -> Spectra:
    """What both channels have in common with others, shape (windows, bins)."""
    cross: Spectra = others[0].conj()
    cross *= spectra[0]
    for channel, other in zip(spectra[1:], others[1:], strict=True):
        cross += channel * other.conj()
    return cross


def _gains(together: Levels, one: Levels, other: Levels, window: Windows) -> Levels:
    """What each bin of each window, turned to its place, must be multiplied by to be as loud as it was.

    `together` is what each window and the one before have in common, once both are turned; `one` and `other` are
    their powers; shape (windows + 1, bands). Of windows further apart it is taken that their agreement falls as a bell
    does, as it does where windows of noise move apart.
    """
    both, here, there = (each[:-1] + each[1:] for each in (together, one, other))
    agreement = both / (np.sqrt(here) * np.sqrt(there) + np.float32(1e-30))
    agreement = np.minimum(np.maximum(agreement, 0), 1)
    itself, *others = _shares(len(window))
    kept, falls, square = np.full_like(agreement, itself), agreement, agreement * agreement
    falling = square * agreement
    for share in others:
        kept += share * falls
        falls, falling = falls * falling, falling * square
    gains: Levels = np.repeat(1 / np.sqrt(kept), BAND_BINS, axis=1)
    return np.append(gains, gains[:, -1:], axis=1)


def _bands(values: Levels, bands: int) -> Levels:
    """Sums over so many bands of neighbours, without the one that is left over."""
    whole = (values.shape[1] - 1) // bands * bands
    sums: Levels = np.einsum("ijk->ij", values[:, :whole].reshape(len(values), bands, -1))
    return sums


@cache
def _shares(frames: int) -> Levels:
    """Of the power of equal windows laid over one another, how much comes of those that lie so many hops apart."""
    square = np.square(hann(frames))
    hop = frames // HOPS_PER_WINDOW
    pairs = [float(square[apart * hop :] @ square[: frames - apart * hop]) for apart in range(HOPS_PER_WINDOW)]
    shares = np.array([pairs[0], *(2 * pair for pair in pairs[1:])], np.float32)
    return np.asarray(shares / shares.sum())


def _unit(values: Spectra) -> Spectra:
    """Length one, direction kept; one where there is no direction."""
    size = np.abs(values)
    turned = np.empty_like(values)
    for part, whole in ((turned.real, values.real), (turned.imag, values.imag)):
        np.divide(whole, np.maximum(size, np.float32(1e-20)), out=part)
    turned[size <= 1e-20] = 1
    return turned


def _peaks(power: Levels) -> tuple[Frames, Frames]:
    """The peaks of all windows in a row, and how many bins each reigns over: those that are nearest to it.

    Where a window has no peak, each of its bins is one.
    """
    inner, larger = power[:, 2:-2], np.maximum(power[:, 1:], power[:, :-1])
    peak = np.zeros(power.shape, np.bool_)
    np.greater(inner, larger[:, :-3], out=peak[:, 2:-2])
    peak[:, 2:-2] &= inner >= larger[:, 3:]
    peak[~peak.any(axis=1)] = True
    at = np.flatnonzero(peak)
    # A peak's reign ends half way to the next, or with its window.
    ends = np.arange(1, len(power) + 1) * power.shape[1]
    until = np.append((at[:-1] + at[1:]) // 2 + 1, power.size)
    until[np.searchsorted(at, ends) - 1] = ends
    reach = until.copy()
    reach[1:] -= until[:-1]
    return at, reach


def _close(rotations: Spectra, closing: int) -> None:
    """Turn the last windows, so that the one after them (the first again) stands as it did at first."""
    left_over = -np.angle(rotations[-1])
    share = (np.arange(closing, dtype=np.float32) + 1) / (closing + 1)
    rotations[-1 - closing : -1] *= np.exp(1j * share[:, None] * left_over).astype(np.complex64)
