"""Whether a piece is one note, or one chord, from its beginning to its end.

A note that is held longer trembles and beats no slower for it: it goes on at its own pace, and only lasts. But a
piece in which something else begins, too softly to be an onset, must be stretched evenly, or that comes too early or
too late. So it is asked whether new tones come: power, in bands of a quarter of a tone, where a moment before there was
next to none of it in that band or beside it (a vibrato moves so far).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from mixer.signal.vocoder import hann, spectra_at, views_of

Samples = NDArray[np.float32]
Powers = NDArray[np.float32]

# Long enough to tell a semitone of low notes, or a third of the piece. Windows that lie side by side are compared.
LONGEST_WINDOW_SECONDS = 0.19
SHORTEST_WINDOW = 64
HOPS_PER_WINDOW = 4
LAG_WINDOWS = 5
LOWEST_HZ, BANDS_PER_OCTAVE = 55.0, 24
OCTAVES = 7
# New is what has so many times the power that was there before; with so much of the whole, another note has begun.
NEW_TIMES = 8.0
NEW_SHARE = 0.1
# Its octave brings no tones but takes some away; so may an attack that fades, or a partial that beats.
GONE_SHARE = 0.5
# What is so much fainter than the loudest moment is no note.
FAINTEST_SHARE = 0.05


def is_one_note(piece: Samples, rate_hz: int) -> bool:
    """Whether nothing else begins in a piece of held sound.

    Parameters
    ----------
    piece : float32 array, shape (frames, channels); what is shorter than about 200 frames can't be told, and is not
    rate_hz : int > 0
    """
    size = 1 << max(0, int(math.log2(min(LONGEST_WINDOW_SECONDS * rate_hz, len(piece) / 3 + 1))))
    places = np.arange(0, len(piece) - size + 1, max(1, size // HOPS_PER_WINDOW))
    if size < SHORTEST_WINDOW or len(places) <= LAG_WINDOWS:
        return False
    edges = _band_edges(size, rate_hz)
    spectra = spectra_at(views_of(piece, size), places, hann(size), int(edges[-1]) + 1)
    powers = np.add.reduceat(np.square(spectra.view(np.float32)).sum(axis=0), 2 * edges, axis=1)
    whole = np.maximum(powers.sum(axis=1), 1e-20)
    loud = whole > FAINTEST_SHARE * whole.max()
    before, after = powers[:-LAG_WINDOWS], powers[LAG_WINDOWS:]
    both = loud[:-LAG_WINDOWS] & loud[LAG_WINDOWS:]
    come = _new(before, after) / whole[LAG_WINDOWS:]
    gone = _new(after, before) / whole[:-LAG_WINDOWS]
    return not bool(((come > NEW_SHARE) & loud[LAG_WINDOWS:] | (gone > GONE_SHARE) & both).any())


def _new(before: Powers, after: Powers) -> Powers:
    """Power that was not there before, neither in its band nor beside it; shape (windows,)."""
    widest = before.copy()
    np.maximum(widest[:, 1:], before[:, :-1], out=widest[:, 1:])
    np.maximum(widest[:, :-1], before[:, 1:], out=widest[:, :-1])
    new: Powers = np.maximum(after - np.float32(NEW_TIMES) * widest, 0).sum(axis=1)
    return new


def _band_edges(size: int, rate_hz: int) -> NDArray[np.int64]:
    """First bin of each band; each is at least a bin wide."""
    octaves = np.arange(OCTAVES * BANDS_PER_OCTAVE) / BANDS_PER_OCTAVE
    edges = np.minimum(np.floor(LOWEST_HZ * 2**octaves * size / rate_hz + 0.5).astype(np.int64), size // 2)
    return edges[np.diff(edges, prepend=-1) > 0]
