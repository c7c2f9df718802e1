"""The tones at the end of a sound, told so exactly that they can ring on in tune.

A tail that is laid down again and again (`tails`) every 25 to 70 ms has its tones at multiples of 14 to 40 Hz: chords
and bells came out up to 36 cents off. So what is a tone is taken out, and rings on as what it is: a sinusoid that dies
away at its own pace. Its pitch and its pace are told from how its phase and its size change from one window to the
next (Flanagan & Golden, "Phase vocoder", Bell System Technical Journal 45, 1966); how large each is, from all of them
together by least squares, which weigh most where they have to join (as in Prony's method, poles apart).

Noise and cymbals are none of that: where nothing stands out, or what does is no steady tone, there are none.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
from numpy.typing import NDArray

from mixer.record import record
from mixer.signal.windows import Samples, Spectra, Windows, hann, spectra_at, views_of

# The window: a third of what there is, within these bounds, if there is so much.
SHORTEST_SECONDS, LONGEST_SECONDS = 0.1, 0.2
SHARE_OF_SOUND, MOST_OF_SOUND = 1 / 3.5, 1 / 1.25
LEAST_FRAMES = 1024
HOPS_PER_WINDOW = 4
# A tone stands so many times above the median of the power around it, is among the strongest, and no fainter than that
# beside the first of them.
CLEAR_TIMES, FAINTEST = 10.0, 1e-6
AROUND_HZ = 500.0
MOST_PEAKS, MOST_TONES = 48, 24
LOWEST_BIN = 3
# A steady tone reaches so many bins to both sides in a Hann window: so far is near.
HANN_BINS = 2
# What is found further from its peak than a bin, or so much fainter a hop later, was none.
LEAST_LEFT = 0.05
# They are most of what is near them in the last quarter.
MOST = 0.5
# The weight of the last frame beside the first, as a logarithm.
WEIGHT_GROWS = 1.5
# What would be so many times what is there in the last quarter has died away before (a filter that closes).
HEARD_TIMES = 2.0
# Tones are sounded in rows of so many frames.
ROW_FRAMES = 64
# Of what is nearly alike the sums can't tell which is which: so little more of each with itself parts them.
APART = 1e-9


@record
class Tones:
    """Sinusoids that die away."""

    per_frame: NDArray[np.complex128]
    """Logarithm of what each is multiplied by from frame to frame, shape (tones,)."""
    sizes: NDArray[np.complex128]
    """What they are at frame 0, shape (channels, tones); the real part is heard."""

    def sound(self, first: int, count: int) -> Samples:
        """Their sound from frame `first` on, float32, shape (count, channels)."""
        return np.stack(tuple(self.in_rows(first, count)), axis=1)

    def in_rows(self, first: int, count: int) -> Windows:
        """The same, each channel in a row, shape (channels, count)."""
        rows, within = _over_time(self.per_frame, first, -(-count // ROW_FRAMES))
        # Of the products only the real parts, in single precision.
        both = (rows * self.sizes[:, None]).astype(np.complex64, order="C").view(np.float32)
        heard: Windows = both @ within.conj().astype(np.complex64, order="C").view(np.float32).T
        return heard.reshape(len(self.sizes), -1)[:, :count]


def tones_at_end(sound: Samples, rate_hz: int) -> tuple[Tones, int] | None:
    """The tones in which a sound ends, and in how many of its last frames they were told.

    Parameters
    ----------
    sound : float32 array, shape (frames, channels); all channels share pitch and pace
    rate_hz : int > 0

    Returns
    -------
    The tones, whose frame 0 is the first after the end, and a number of frames; None if it does not end in tones
    """
    most = min(max(SHARE_OF_SOUND * len(sound), SHORTEST_SECONDS * rate_hz), LONGEST_SECONDS * rate_hz)
    window = 1 << int(math.log2(max(1, min(most, MOST_OF_SOUND * len(sound)))))
    if window < LEAST_FRAMES:
        return None
    hop = window // HOPS_PER_WINDOW
    windows = views_of(sound[-window - hop :], window)[:, ::hop]
    before, after = np.moveaxis(spectra_at(windows, np.arange(2), hann(window)), 1, 0)
    power = _squared(after)
    peaks = _peaks(power, round(AROUND_HZ * window / rate_hz))
    if not len(peaks):
        return None
    tones = _at_the_end(windows[:, 1], _per_frame(before[:, peaks], after[:, peaks], peaks, window))
    return None if tones is None else (tones, window)


def _near(bins: NDArray[np.int64], count: int) -> NDArray[np.bool_]:
    """Which of so many bins hold what is in one of these."""
    near = np.zeros(count, np.bool_)
    near[np.clip(bins[:, None] + np.arange(-HANN_BINS, HANN_BINS + 1), 0, count - 1)] = True
    return near


def _peaks(power: NDArray[np.float32], reach: int) -> NDArray[np.int64]:
    """The strongest peaks of a spectrum that stand out clearly from so many bins to both sides."""
    inner = power[LOWEST_BIN:-HANN_BINS]
    peaks = LOWEST_BIN + np.flatnonzero((inner >= power[LOWEST_BIN - 1 : -3]) & (inner > power[LOWEST_BIN + 1 : -1]))
    peaks = peaks[np.argsort(-power[peaks])[:MOST_PEAKS]]
    reach = min(reach, len(power) - 1)
    mirrored = np.concatenate([power[reach:0:-1], power, power[-2 : -2 - reach : -1]])
    usual = np.partition(views_of(mirrored[:, None], 2 * reach + 1)[0, peaks], reach, axis=1)[:, reach]
    clear: NDArray[np.int64] = peaks[power[peaks] > np.maximum(CLEAR_TIMES * usual, FAINTEST * power.max())]
    return clear[:MOST_TONES]


def _per_frame(before: Spectra, after: Spectra, peaks: NDArray[np.int64], window: int) -> NDArray[np.complex128]:
    """By what each tone is turned and lessened from frame to frame, as a logarithm."""
    hop = window // HOPS_PER_WINDOW
    in_a_hop = (after * before.conj()).sum(axis=0) / (_squared(before) + 1e-30)
    of_bin = 2 * np.pi / HOPS_PER_WINDOW * peaks
    beyond = np.angle(in_a_hop * np.exp(-1j * of_bin))
    left = np.abs(in_a_hop)
    told = (np.abs(beyond) < 2 * np.pi / HOPS_PER_WINDOW) & (left > LEAST_LEFT)
    power, fall = _squared(after), np.log(np.clip(left, LEAST_LEFT, 1))
    # What grows is beating, and falls again: it dies away as all do together.
    fall = np.where(left < 1, fall, (power * fall).sum() / power.sum())
    each: NDArray[np.complex128] = (fall + 1j * (of_bin + beyond))[told] / hop
    return each


def _at_the_end(end: Windows, per_frame: NDArray[np.complex128]) -> Tones | None:
    """Those that are still there in the last quarter, if they are most of what is near them; each channel is a row."""
    frames = end.shape[1] // 4
    last = end[:, -frames:]
    power = _power(last)
    bins = np.floor(per_frame.imag * frames / (2 * np.pi) + 0.5).astype(np.int64)
    there = np.sqrt(power[np.clip(bins[:, None] + np.arange(-1, 2), 0, frames // 2)].max(axis=1))
    sums, wanted = _sums(end, per_frame)
    sizes = _solved(sums, wanted)
    heard = np.sqrt(_squared(sizes)) * np.exp(-per_frame.real * frames / 2) / 4 < HEARD_TIMES * there
    if not heard.all():
        both = np.flatnonzero(np.tile(heard, 2))
        per_frame, sizes, bins = per_frame[heard], _solved(sums[np.ix_(both, both)], wanted[both]), bins[heard]
    tones = Tones(per_frame, sizes)
    near = _near(bins, len(power))
    left = _power(last - tones.in_rows(-frames, frames))
    return tones if left[near].sum() < (1 - MOST) * power[near].sum() else None


def _sums(end: Windows, per_frame: NDArray[np.complex128]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Least squares: the products of all tones' real and turned parts with one another, and with the end.

    What is last weighs most. The weight grows evenly in decibels, so it is as if the tones died away more slowly, and
    all sums over frames are products of sums over rows and within them.
    """
    frames = end.shape[1]
    grows = WEIGHT_GROWS / frames
    rows, within = _over_time(per_frame + grows, -frames, frames // ROW_FRAMES)
    alike = (rows.conj().T @ rows) * (within.conj().T @ within)
    turned = (rows.T @ rows) * (within.T @ within)
    both, apart = alike + turned, alike - turned
    upper, lower = np.hstack([both.real, -both.imag]), np.hstack([-both.imag.T, apart.real])
    weighted = (end * _weights(frames)).reshape(-1, ROW_FRAMES)
    # Real by complex: numpy would make both complex.
    in_rows = (weighted @ within.view(np.float64)).view(np.complex128).reshape(len(end), *rows.shape)
    wanted = np.einsum("crk,rk->kc", in_rows, rows)
    return np.concatenate([upper, lower]) / 2, np.concatenate([wanted.real, -wanted.imag])


@cache
def _weights(frames: int) -> NDArray[np.float64]:
    """Of so many last frames; not to be written to."""
    weights: NDArray[np.float64] = np.exp(WEIGHT_GROWS / frames * np.arange(-frames, 0))
    weights.flags.writeable = False
    return weights


def _over_time(
    per_frame: NDArray[np.complex128], first: int, count: int
) -> tuple[NDArray[np.complex128], NDArray[np.complex128]]:
    """What each tone is at the beginning of so many rows of frames, and beside that in each frame of a row."""
    tables = []
    for steps, start, step in ((count, first, ROW_FRAMES), (ROW_FRAMES, 0, 1)):
        table = np.empty((steps, len(per_frame)), np.complex128)
        table[0], table[1:] = np.exp(start * per_frame), np.exp(step * per_frame)
        tables.append(np.multiply.accumulate(table, axis=0))
    return tables[0], tables[1]


def _solved(sums: NDArray[np.float64], wanted: NDArray[np.float64]) -> NDArray[np.complex128]:
    """What the tones are at frame 0, all of them together most like the end, shape (channels, tones)."""
    tones = len(sums) // 2
    found = np.linalg.solve(sums + APART * np.diag(sums.diagonal()), wanted)
    sizes: NDArray[np.complex128] = (found[:tones] + 1j * found[tones:]).T
    return sizes


def _power(sound: Windows) -> NDArray[np.floating]:
    """Spectrum of the whole of it, by frames."""
    return _squared(np.fft.rfft(sound * hann(sound.shape[1]), norm="forward"))


def _squared(values: NDArray[np.complexfloating]) -> NDArray[np.floating]:
    """Of all channels together."""
    squared: NDArray[np.floating] = (values.real**2 + values.imag**2).sum(axis=0)
    return squared
