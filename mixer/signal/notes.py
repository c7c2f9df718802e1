"""Where notes begin that have no attack, and whether a piece of held sound is one note (or chord) all along.

A note that is held longer trembles and beats no slower for it: it goes on at its own pace, and only lasts. But a
piece in which another note begins must be cut there, or stretched evenly; otherwise that would come too early or too
late. Slurred and bowed notes have no onset (`onsets`); they are told by their tones: power, in bands of a quarter of a
tone, where a moment before there was next to none of it in that band or beside it (a vibrato moves so far).

In a line (a reed, a horn, a voice) each note ends where the next begins. That tells its notes from what comes while one
lasts, as when it grows bright or two reeds beat, and a line from chords and hits, which let others ring on.

In goes held sound, float32, shape (frames, channels). The channels' powers are added.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from mixer.signal.windows import Frames, Samples, hann, spectra_at, views_of, window_for

Powers = NDArray[np.float32]

LOWEST_HZ, BANDS_PER_OCTAVE, OCTAVES = 55.0, 24, 7
# New is what has so many times the power that was there before; with so much of the whole, another note has begun.
NEW_TIMES = 8.0
NEW_SHARE = 0.1
# The octave of a note brings no tones but takes some away; so do, a little, attacks that fade, and what beats.
GONE_SHARE = 0.6
# In a line a note ends where the next begins, or is the first after a rest: all of it is new. A loop has a line in it
# where so many notes end so. What else comes there is a note that grows bright or beats.
ENDS_SHARE, LEAST_ENDS, ALL_NEW_SHARE = 0.5, 3, 0.8
# A loop is nothing but a line where that is so at such a share of its onsets, asked so long after them.
LINE_SHARE, AFTER_SECONDS, ONSETS_AT_ONCE = 0.75, 0.02, 16
# What is so much fainter than the loudest moment is no note.
FAINTEST_SHARE = 0.05

# Windows that lie side by side are compared, so many hops apart. New tones are half of a note's level in the
# window in whose middle they begin; what has no attack began a little before.
HOPS_PER_WINDOW = 6
BEFORE_SECONDS = 0.015

# Whether it is one note is asked with windows that tell a semitone of low notes, or a third of the piece long.
LONGEST_WINDOW_SECONDS = 0.19
SHORTEST_WINDOW = 64
ONE_HOPS_PER_WINDOW, ONE_LAG = 2, 3


def notes_begin(samples: Samples, rate_hz: int) -> tuple[Frames, bool]:
    """Where new tones begin in a circular loop, to a hundredth of a second; what has attacks is found better by those.

    Parameters
    ----------
    samples : float32 array, shape (frames, channels), circular
    rate_hz : int > 0

    Returns
    -------
    int64 array : frames, sorted; and whether there is a line in it, of which each note ends where the next begins
    """
    frames = len(samples)
    window = window_for(rate_hz, frames // 2)
    size = len(window)
    count = round(frames * HOPS_PER_WINDOW / size)
    if size < SHORTEST_WINDOW or not samples.any():
        return np.zeros(0, np.int64), False
    places = np.floor(np.arange(count) * (frames / count) + 0.5).astype(np.int64)
    around = samples.take(np.arange(-(size // 2), frames + size // 2), axis=0, mode="wrap")
    before = _powers(around, rate_hz, places, window)
    after = np.roll(before, -HOPS_PER_WINDOW, axis=0)
    whole = before.sum(axis=1)
    least = FAINTEST_SHARE * whole.max()
    half = HOPS_PER_WINDOW // 2
    come = np.roll(_new(before, after) / np.maximum(np.roll(whole, -HOPS_PER_WINDOW), least), half)
    gone = np.roll(_new(after, before) / np.maximum(whole, least), half)
    near, ended = (sliding_window_view(np.pad(each, half, mode="wrap"), 2 * half + 1) for each in (come, gone))
    peaks = np.flatnonzero((come >= near.max(axis=1)) & (come > NEW_SHARE))
    ends, first = ended[peaks].max(axis=1), come[peaks] > ALL_NEW_SHARE
    in_line = int(((ends > ENDS_SHARE) | first).sum()) >= LEAST_ENDS
    if in_line:
        peaks = peaks[(ends > NEW_SHARE) | first]
    middles = peaks + near[peaks] @ np.arange(-half, half + 1) / near[peaks].sum(axis=1)
    begins = np.floor(middles * (frames / count) - BEFORE_SECONDS * rate_hz + 0.5).astype(np.int64)
    return np.sort(begins % frames), in_line


def is_line(samples: Samples, rate_hz: int, onsets: Frames) -> bool:
    """Whether at most onsets of a circular loop a note ends, or is the first after a rest: none is held through them.

    Arguments as for `notes_begin`; `onsets` int64 array, sorted.
    """
    window = window_for(rate_hz, len(samples) // 2)
    if len(window) < SHORTEST_WINDOW or len(onsets) == 0:
        return False
    over, after_frames = len(window), round(AFTER_SECONDS * rate_hz)
    wrapped = np.pad(samples, ((over, after_frames + over), (0, 0)), mode="wrap")
    spare = (1 - LINE_SHARE) * len(onsets)
    for first in range(0, len(onsets), ONSETS_AT_ONCE):
        asked = onsets[first : first + ONSETS_AT_ONCE]
        powers = _powers(wrapped, rate_hz, np.concatenate([asked, asked + over + after_frames]), window)
        before, after = np.split(powers, 2)
        was, now = before.sum(axis=1), after.sum(axis=1)
        least = FAINTEST_SHARE * max(float(was.max()), float(now.max()), 1e-20)
        ends = _new(after, before) > NEW_SHARE * np.maximum(was, least)
        begins = _new(before, after) > ALL_NEW_SHARE * np.maximum(now, least)
        spare -= int((~(ends | begins)).sum())
        if spare < 0:
            return False
    return True


def is_one_note(piece: Samples, rate_hz: int) -> bool:
    """Whether nothing else begins in a piece of held sound.

    Parameters
    ----------
    piece : float32 array, shape (frames, channels); what is shorter than about 200 frames can't be told, and is not
    rate_hz : int > 0
    """
    size = 1 << max(0, int(math.log2(min(LONGEST_WINDOW_SECONDS * rate_hz, len(piece) / 3 + 1))))
    places = np.arange(0, len(piece) - size + 1, max(1, size // ONE_HOPS_PER_WINDOW))
    if size < SHORTEST_WINDOW or len(places) <= ONE_LAG:
        return False
    powers = _powers(piece, rate_hz, places, hann(size))
    whole = np.maximum(powers.sum(axis=1), 1e-20)
    loud = whole > FAINTEST_SHARE * whole.max()
    come = _new(powers[:-ONE_LAG], powers[ONE_LAG:]) > NEW_SHARE * whole[ONE_LAG:]
    gone = _new(powers[ONE_LAG:], powers[:-ONE_LAG]) > GONE_SHARE * whole[:-ONE_LAG]
    return not bool(((come | gone & loud[:-ONE_LAG]) & loud[ONE_LAG:]).any())


def _powers(samples: Samples, rate_hz: int, places: Frames, window: Samples) -> Powers:
    """Power of the windows that begin at these places, in bands at least a bin wide, shape (places, bands)."""
    firsts, bins = _bands(rate_hz, len(window))
    spectra = spectra_at(views_of(samples, len(window)), places, window, bins)
    squares = np.square(spectra.view(np.float32)).sum(axis=0)
    return np.add.reduceat(squares, 2 * firsts, axis=1)


@cache
def _bands(rate_hz: int, window_frames: int) -> tuple[Frames, int]:
    """The first bin of each band, not to be written to, and how many bins hold them all."""
    edges_hz = LOWEST_HZ * 2 ** (np.arange(OCTAVES * BANDS_PER_OCTAVE + 1) / BANDS_PER_OCTAVE)
    edges = np.floor(edges_hz[edges_hz < rate_hz / 2] * window_frames / rate_hz + 0.5).astype(np.int64)
    firsts = edges[:-1][np.diff(edges) > 0]
    firsts.flags.writeable = False
    return firsts, int(edges[-1])


def _new(before: Powers, after: Powers) -> Powers:
    """Power that was not there before, neither in its band nor beside it; shape (windows,)."""
    widest = before.copy()
    np.maximum(widest[:, 1:], before[:, :-1], out=widest[:, 1:])
    np.maximum(widest[:, :-1], before[:, 1:], out=widest[:, :-1])
    new: Powers = np.maximum(after - np.float32(NEW_TIMES) * widest, 0).sum(axis=1)
    return new
