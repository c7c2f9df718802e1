"""Notes and chords that are struck softly under what rings: too little rises for `onsets` to be sure of them.

Clicks at the ends of notes, breath and the cycles of low tones lift a few bands as much. But what is struck makes
partials louder all at once and rings itself. So tones must rise there, in a piece that has been dying away until then
(or is let go there, and was much louder), and what follows must not be held.

In goes a circular loop, float32, shape (frames, channels). The channels' powers are added.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mixer.signal.onsets import starts_under
from mixer.signal.pieces import HELD, RINGING, far_from, piece_kinds_again
from mixer.signal.windows import Frames, Samples, hann, spectra_at, views_of

Levels = NDArray[np.float32]

# Tones rise by the mean, over the peaks of the spectrum, of how much more each rises than it rose in as long before.
# First asked roughly, so much before the middle of the window in which level rises, with short windows, which see what
# fades soon; then where the attack starts, with longer ones, which see no flicker of low tones.
EARLIER_SECONDS = 0.005
SHORT_SECONDS, LONG_SECONDS = 0.046, 0.093
LEAST_ROUGHLY_DB, LEAST_RISE_DB = 0.6, 1.2
# The window before ends at the place; the one after begins a quarter of it earlier, where it is faint still.
EARLIER, APART = 0.25, 0.75
# Peaks so much fainter than the highest are not looked at.
FAINTEST = 1e-7
# In a brief piece what rings on may hide that the note dies away: it is no held one where tones rise by so much.
BRIEF_SECONDS, STRONG_RISE_DB = 0.2, 3.0
# A note that is let go before may end with a click; what is struck there must be so much fainter than that note was.
SOFTER_DB = 6.0
AFTER_SECONDS, LEVEL_SECONDS = 0.005, 0.02


def with_struck(
    samples: Samples, rate_hz: int, onsets: Frames, kinds: list[int], soft: Frames
) -> tuple[Frames, list[int]]:
    """The onsets and those soft rises at which something is struck, sorted, and what the pieces between them are.

    Parameters
    ----------
    samples : float32 array, shape (frames, channels), circular
    rate_hz : int > 0
    onsets : int64 array, sorted
    kinds : what the pieces between them are, as `pieces.piece_kinds` tells
    soft : int64 array, where little rises, as `onsets.find_rises` tells
    """
    if len(onsets) == 0:
        return onsets, kinds
    rings = np.array(kinds) != HELD
    asked = far_from(onsets, soft[rings[np.searchsorted(onsets, soft) - 1]], rate_hz, len(samples))
    roughly_db = _rise_db(samples, asked - round(EARLIER_SECONDS * rate_hz), _size(SHORT_SECONDS * rate_hz))
    starts = starts_under(samples, rate_hz, asked[roughly_db > LEAST_ROUGHLY_DB])
    starts = far_from(onsets, starts, rate_hz, len(samples))
    rise_db = _rise_db(samples, starts, _size(LONG_SECONDS * rate_hz))
    starts, strong = starts[rise_db > LEAST_RISE_DB], starts[rise_db > STRONG_RISE_DB]
    if len(starts) == 0:
        return onsets, kinds
    every = np.sort(np.concatenate([onsets, starts]))
    pieces = piece_kinds_again(samples, rate_hz, every, onsets, kinds)
    kind, was = np.array(pieces), np.roll(pieces, 1)
    level_db = _level_db(samples, rate_hz, every)
    rang = (was == RINGING) | ((was != HELD) & (np.roll(level_db, 1) - level_db > SOFTER_DB))
    brief = np.diff(every, append=every[0] + len(samples)) < BRIEF_SECONDS * rate_hz
    hides = (kind == HELD) & rang & brief & np.isin(every, strong)
    pieces = np.where(hides, RINGING, kind).tolist()
    kept = every[np.isin(every, onsets) | (rang & ((kind != HELD) | hides))]
    return kept, pieces if len(kept) == len(every) else piece_kinds_again(samples, rate_hz, kept, every, pieces)


def _level_db(samples: Samples, rate_hz: int, places: Frames) -> Levels:
    """How loud it is just after each place."""
    after = np.arange(round(AFTER_SECONDS * rate_hz), round((AFTER_SECONDS + LEVEL_SECONDS) * rate_hz))
    squares = np.square(samples.take(places[:, None] + after, axis=0, mode="wrap"))
    level_db: Levels = 10 * np.log10(squares.mean(axis=(1, 2)) + np.float32(1e-20))
    return level_db


def _size(frames: float) -> int:
    return 1 << int(np.round(np.log2(frames)))


def _rise_db(samples: Samples, places: Frames, size: int) -> Levels:
    """How much more the peaks of the spectrum rise at these places than they did before."""
    if len(places) == 0:
        return np.zeros(0, np.float32)
    apart = round(APART * size)
    span = np.arange(size + 2 * apart)
    first = places - round(EARLIER * size) - 2 * apart
    around = samples.take((first[:, None] + span).reshape(-1), axis=0, mode="wrap")
    starts = np.arange(3)[:, None] * apart + np.arange(len(places)) * len(span)
    spectra = spectra_at(views_of(around, size), starts.reshape(-1), hann(size))
    earlier, before, after = np.split((spectra.real**2 + spectra.imag**2).sum(axis=0), 3)
    inner = after[:, 1:-1]
    faintest = FAINTEST * inner.max(axis=1, keepdims=True) + np.float32(1e-30)
    peaks = (inner > after[:, :-2]) & (inner >= after[:, 2:]) & (inner > faintest)
    was, last, now = (np.log10(power + faintest / 10) for power in (_widest(earlier), _widest(before), inner))
    more = np.maximum(now - last, 0) - np.maximum(last - was, 0)
    mean: Levels = 10 * more.sum(axis=1, where=peaks) / np.maximum(peaks.sum(axis=1), 1)
    return mean


def _widest(power: Levels) -> Levels:
    """The most of each bin and of those beside it: a tone that moves a little has not begun."""
    return np.maximum(np.maximum(power[:, 1:-1], power[:, :-2]), power[:, 2:])
