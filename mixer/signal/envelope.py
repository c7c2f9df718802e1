"""The colour of a voice kept where its pitch is moved.

A voice that sings higher keeps its mouth: the partials move, the formants stay. Transposing moves both. Here what was
moved with the partials is put back: the envelope over the partials is found in each window, and the sound filtered so
that it has the envelope again that it had before. It is the true envelope of Roebel & Rodet ("Efficient spectral
envelope estimation and its application to pitch shifting and envelope preservation", DAFx 2005): the cepstrum smoothed
again over whatever stands above it, until it lies on the partials.

How fine it may be follows from the pitch: partials that lie f0 apart are a ripple of period 1 / f0 in the cepstrum, and
an envelope that went so far would follow them up and down. The paper stops at half of that; on sung and spoken voices
two thirds came nearer to the truth (`benchmarks/stretch/voices.py`).

Only for voices. The colour of instruments moves with their pitch about as often as not, and over 24 of them, played in
both keys, putting it back led away from the truth (`benchmarks/stretch/README.md`).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

Samples = NDArray[np.float32]
Levels = NDArray[np.float32]

WINDOW_SECONDS = 0.046
HOPS_PER_WINDOW = 4
BLOCK_WINDOWS = 32
ROUNDS = 4
# The envelope lies on the partials when none stands out of it by more.
STANDS_OUT_DB = 2.0
# What is this far below the loudest partial is not looked at.
FLOOR_DB = 100.0
MOST_GAIN_DB = 45.0
# Between partials no level counts that is further under them: a tone would tremble with how its windows fall.
VALLEY_DB = 10.0
# Where a voice's pitch is looked for, after it was moved.
LOWEST_HZ, HIGHEST_HZ = 70.0, 600.0
SHARE_OF_PERIOD = 2 / 3
_NEPERS_PER_DB = math.log(10) / 20


def colour_put_back(moved: Samples, rate_hz: int, semitones: float) -> Samples:
    """A transposed voice with the colour that it had before it was moved.

    Parameters
    ----------
    moved : float32 array, shape (frames, channels), circular; what was transposed
    rate_hz : int > 0
    semitones : float, by which it was

    Returns
    -------
    float32 array, shape (frames, channels), circular; the input itself if it is shorter than two windows
    """
    window_frames = 1 << round(math.log2(WINDOW_SECONDS * rate_hz))
    frames, half = len(moved), window_frames // 2
    if frames < 2 * window_frames:
        return moved
    count = round(frames * HOPS_PER_WINDOW / window_frames)
    places = np.floor(np.arange(count) * (frames / count) + 0.5).astype(np.int64)
    window = np.hanning(window_frames + 1)[:-1].astype(np.float32)
    wrapped = np.ascontiguousarray(moved.take(np.arange(-half, frames + half), axis=0, mode="wrap").T)
    views = sliding_window_view(wrapped, window_frames, axis=1)
    out = np.zeros((len(views), frames + window_frames), np.float32)
    weight = np.zeros(frames + window_frames, np.float32)
    for first in range(0, count, BLOCK_WINDOWS):
        block = places[first : first + BLOCK_WINDOWS]
        spectra = np.fft.rfft(views[:, block] * window, axis=2)
        gains = _gains((spectra.real**2 + spectra.imag**2).sum(axis=0), rate_hz, 2 ** (semitones / 12))
        pieces = np.fft.irfft(spectra * gains, window_frames, axis=2).astype(np.float32) * window
        for number, start in enumerate(block):
            out[:, start : start + window_frames] += pieces[:, number]
            weight[start : start + window_frames] += window * window
    out[:, :window_frames] += out[:, frames:]
    weight[:window_frames] += weight[frames:]
    return np.ascontiguousarray(np.roll(out[:, :frames] / weight[:frames], -half, axis=1).T)


def _gains(power: Levels, rate_hz: int, ratio: float) -> Levels:
    """What each bin of each window must be multiplied by, shape (windows, bins): both channels alike."""
    floor = np.maximum(power.max(axis=1, keepdims=True) * np.float32(10 ** (-FLOOR_DB / 10)), np.float32(1e-20))
    levels = np.float32(0.5) * np.log(np.maximum(power, floor))
    quefrencies = _quefrencies(levels, rate_hz)
    envelope = true_envelope(_without_valleys(levels, quefrencies), quefrencies)
    bins = np.arange(envelope.shape[1])
    before = np.stack([np.interp(bins * ratio, bins, row) for row in envelope])
    most = MOST_GAIN_DB * _NEPERS_PER_DB
    return np.exp(np.clip(before - envelope, -most, most)).astype(np.float32)


def _without_valleys(levels: Levels, quefrencies: int) -> Levels:
    """Fill what lies between partials up to a little under them."""
    apart_bins = round(SHARE_OF_PERIOD * 2 * (levels.shape[1] - 1) / quefrencies)
    padded = np.pad(levels, ((0, 0), (apart_bins // 2, apart_bins // 2)), mode="edge")
    highest = sliding_window_view(padded, 2 * (apart_bins // 2) + 1, axis=1).max(axis=2)
    filled: Levels = np.maximum(levels, highest - np.float32(VALLEY_DB * _NEPERS_PER_DB))
    return filled


def true_envelope(levels: Levels, quefrencies: int) -> Levels:
    """Smooth curves that lie on the peaks of spectra.

    Parameters
    ----------
    levels : natural logarithms of magnitudes, shape (windows, bins)
    quefrencies : how many of the cepstrum's values make a curve, at most half of the bins

    Returns
    -------
    array of the same shape
    """
    frames = 2 * (levels.shape[1] - 1)
    envelope: Levels = levels
    raised = levels
    for _ in range(ROUNDS):
        cepstra = np.fft.irfft(raised, frames, axis=1)
        cepstra[:, quefrencies : frames - quefrencies + 1] = 0
        envelope = np.fft.rfft(cepstra, axis=1).real.astype(np.float32)
        if float((raised - envelope).max()) < STANDS_OUT_DB * _NEPERS_PER_DB:
            break
        raised = np.maximum(levels, envelope)
    return envelope


def _quefrencies(levels: Levels, rate_hz: int) -> int:
    """How fine the envelope of a block of windows may be: so far goes the cepstrum before its pitch shows."""
    frames = 2 * (levels.shape[1] - 1)
    shortest, longest = int(rate_hz / HIGHEST_HZ), min(int(rate_hz / LOWEST_HZ), frames // 2)
    cepstra = np.fft.irfft(levels, frames, axis=1)[:, shortest:longest]
    period_frames = shortest + float(np.median(np.argmax(cepstra, axis=1)))
    return int(SHARE_OF_PERIOD * period_frames)
