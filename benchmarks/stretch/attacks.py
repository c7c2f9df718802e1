"""Whether the attacks of a stretched loop are where they are in the truth, and what is heard just before them.

No finder of onsets of ours is in it: when the notes of the truth are struck is known from its score, and around each of
them the rises of level in bands are held against those of the stretched sound, moved to and fro (the lag at which two
sounds are most alike is a usual way to align them; that it is done with rises of level is our own choice).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

Samples = NDArray[np.float32]
Frames = NDArray[np.int64]
Grid = NDArray[np.float64]
Mask = NDArray[np.bool_]

MS = 0.001
# Notes that are struck closer together than this are one attack.
TOGETHER_SECONDS = 0.020
# Short windows tell when, but below the limit only longer ones tell what.
SHORT_SECONDS, LONG_SECONDS, LIMIT_HZ = 0.006, 0.020, 400.0
LOWEST_HZ, HIGHEST_HZ, BANDS_PER_OCTAVE = 50.0, 16000.0, 2
# What is this far below the loudest around a note is not heard beside it.
UNHEARD_DB = 40.0
# A rise is what is louder than all of the milliseconds before it, so that beating and vibrato are none.
BEFORE_MS = 20
EARLIER_MS, LATER_MS, MOST_LAG_MS = 15, 45, 25
BLUR = np.array([0.25, 0.5, 0.25])
# Between notes, where no attack is, 95 of 100 places are less like one than this.
LEAST_ALIKE = 0.45
# An attack that is further off than can be seen, or not like itself, counts as so far off.
LOST_MS = 99.0
# Before a hit: just before it, and a little earlier; each in a window so long.
NEAR_MS, FAR_MS, WINDOW_MS, HIT_MS = 0.0, 20.0, 10.0, 30.0
# A hit is what is so much louder than what comes before it; where that is as far below as this, it is silent there.
HIT_DB, SILENT_DB = 10.0, 55.0
# The bands of a hit are those in which it is nearly as loud as in its loudest.
LOUD_DB = 10.0
# An attack begins where so much of its rise is done.
BEGUN = 0.1


@dataclass(frozen=True)
class Heard:
    """What is heard of each note of the truth in another sound."""

    late_ms: Grid
    """How much later it is; not a number where no attack like it is found."""
    alike: Grid
    """How alike the rises are then, at most 1."""
    smear_db: Grid
    """How much more than the truth it rises in the last 20 ms before it, in its loudest bands; not a number if it is no
    hit."""
    tail_db: Grid
    """How much louder than in the truth is what comes before those 20 ms, beside the hit."""
    under_db: Grid
    """Level in the last 10 ms before a hit out of silence, beside the hit; not a number for others."""


class Attacks:
    """The attacks of the truth: `notes` are the frames in which its notes are struck, circular."""

    def __init__(self, samples: Samples, rate_hz: int, notes: Grid) -> None:
        self._rate_hz = rate_hz
        self.notes = _apart(np.sort(np.asarray(notes, np.float64)), len(samples), TOGETHER_SECONDS * rate_hz)
        rises = _rises_db(samples, rate_hz, self.notes)
        self._rises = rises[:, MOST_LAG_MS:-MOST_LAG_MS]
        self._begin = self.notes + self._begun_ms() * MS * rate_hz
        hits = _powers(samples, rate_hz, self._begin[:, None] + WINDOW_MS * MS * rate_hz * np.arange(0.5, 3), WINDOW_MS)
        spectrum = hits.mean(axis=1)
        self._loud = spectrum > spectrum.max(axis=1, keepdims=True) * 10 ** (-LOUD_DB / 10)
        self._near_db, self._far_db = self._before_db(samples, self._begin)

    def heard_in(self, samples: Samples, scale: float = 1.0) -> Heard:
        """What is heard of them in another sound, whose times are so many times the truth's."""
        late_ms, alike = self._late_ms(_rises_db(samples, self._rate_hz, self.notes * scale))
        found = alike >= LEAST_ALIKE
        usual_ms = float(np.median(late_ms[found])) if found.any() else 0.0
        begin = self._begin + self.notes * (scale - 1) + np.where(found, late_ms, usual_ms) * MS * self._rate_hz
        near_db, far_db = self._before_db(samples, begin)
        before_db = np.maximum(self._near_db, self._far_db)
        hit, silent = before_db < -HIT_DB, before_db < -SILENT_DB
        smear_db = _rise(near_db, far_db) - _rise(self._near_db, self._far_db)
        tail_db = np.maximum(far_db, -SILENT_DB) - np.maximum(self._far_db, -SILENT_DB)
        return Heard(
            np.where(found, late_ms, np.nan),
            alike,
            np.where(hit, smear_db, np.nan),
            np.where(hit, tail_db, np.nan),
            np.where(silent, near_db, np.nan),
        )

    def _begun_ms(self) -> Grid:
        """How long after it is struck a note begins to be heard."""
        so_far = np.cumsum(self._rises[:, EARLIER_MS:].sum(axis=2), axis=1)
        begun: Grid = np.argmax(so_far >= BEGUN * so_far[:, -1:], axis=1).astype(np.float64)
        return begun

    def _late_ms(self, found: Grid) -> tuple[Grid, Grid]:
        """The lag at which the rises are most alike, and how alike they are then (cosine)."""
        wanted = self._rises
        alike = np.empty((len(wanted), 2 * MOST_LAG_MS + 1))
        for lag in range(alike.shape[1]):
            moved = found[:, lag : lag + wanted.shape[1]]
            size = np.sqrt(_dot(wanted, wanted) * _dot(moved, moved))
            alike[:, lag] = _dot(wanted, moved) / np.maximum(size, 1e-9)
        best = np.clip(alike.argmax(axis=1), 1, alike.shape[1] - 2)
        low, mid, high = (alike[np.arange(len(alike)), best + step] for step in (-1, 0, 1))
        curved = low - 2 * mid + high
        between = np.where(curved < 0, 0.5 * (low - high) / np.where(curved < 0, curved, 1), 0)
        return best - MOST_LAG_MS + np.clip(between, -1, 1), alike.max(axis=1)

    def _before_db(self, samples: Samples, begin: Grid) -> tuple[Grid, Grid]:
        """Level just before each hit and a little earlier, beside the hit, in the bands in which the hit is loudest."""
        ms = MS * self._rate_hz
        centres_ms = [
            -NEAR_MS - WINDOW_MS / 2,
            -FAR_MS - WINDOW_MS / 2,
            *(WINDOW_MS * np.arange(0.5, HIT_MS / WINDOW_MS)),
        ]
        powers = _powers(samples, self._rate_hz, begin[:, None] + np.array(centres_ms) * ms, WINDOW_MS)
        loud = (powers * self._loud[:, None]).sum(axis=2)
        hit = loud[:, 2:].mean(axis=1) + 1e-12
        near_db, far_db = (10 * np.log10(loud[:, which] / hit + 1e-12) for which in (0, 1))
        return near_db, far_db


def _apart(notes: Grid, frames: int, least: float) -> Grid:
    """The first of those that are struck together."""
    kept: Grid = notes[np.diff(notes, prepend=notes[-1] - frames) >= least] if len(notes) > 1 else notes
    return kept


def _rise(near_db: Grid, far_db: Grid) -> Grid:
    rise: Grid = np.maximum(np.maximum(near_db, -SILENT_DB) - np.maximum(far_db, -SILENT_DB), 0)
    return rise


def _dot(one: Grid, other: Grid) -> Grid:
    dot: Grid = np.einsum("ntb,ntb->n", one, other)
    return dot


def _rises_db(samples: Samples, rate_hz: int, at: Grid) -> Grid:
    """How much each band rises in each millisecond around each note, shape (notes, milliseconds, bands)."""
    reach = len(BLUR) // 2
    steps = np.arange(-EARLIER_MS - MOST_LAG_MS - BEFORE_MS - reach, LATER_MS + MOST_LAG_MS + reach + 1)
    centres = at[:, None] + steps * MS * rate_hz
    low = _powers(samples, rate_hz, centres, LONG_SECONDS / MS, LOWEST_HZ, LIMIT_HZ)
    high = _powers(samples, rate_hz, centres, SHORT_SECONDS / MS, LIMIT_HZ, HIGHEST_HZ)
    powers = np.concatenate([low, high], axis=2)
    top = powers.max(axis=(1, 2), keepdims=True) + 1e-20
    levels_db = 10 * np.log10(powers / top + 10 ** (-UNHEARD_DB / 10))
    loudest_db = sliding_window_view(levels_db, BEFORE_MS, axis=1).max(axis=-1)[:, :-1]
    rises = np.maximum(levels_db[:, BEFORE_MS:] - loudest_db, 0)
    blurred: Grid = sliding_window_view(rises, len(BLUR), axis=1) @ BLUR
    return blurred


def _powers(
    samples: Samples,
    rate_hz: int,
    centres: Grid,
    window_ms: float,
    low_hz: float = LOWEST_HZ,
    high_hz: float = HIGHEST_HZ,
) -> Grid:
    """Power in bands of windows around these frames, shape (notes, windows, bands), both channels together."""
    size = round(window_ms * MS * rate_hz)
    window = np.hanning(size + 1)[:-1]
    octaves = np.log2(min(high_hz, 0.45 * rate_hz) / low_hz)
    edges_hz = low_hz * 2 ** (np.arange(int(octaves * BANDS_PER_OCTAVE) + 1) / BANDS_PER_OCTAVE)
    edges = np.array(sorted({round(hz * size / rate_hz) for hz in edges_hz}))
    places = np.floor(centres + 0.5).astype(np.int64)[..., None] - size // 2 + np.arange(size)
    powers = np.zeros((*centres.shape, len(edges) - 1))
    for channel in samples.T:
        spectra = np.fft.rfft(channel.take(places, mode="wrap") * window, axis=-1)
        powers += np.add.reduceat(np.square(spectra.real) + np.square(spectra.imag), edges, axis=-1)[..., :-1]
    return powers
