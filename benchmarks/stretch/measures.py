"""How far a stretched loop is from the truth: the same notes played at the target tempo.

Both are circular, float32, shape (frames, 2), of the same rate and length. Every distance is 0 for equal sound and
smaller is better, but for the join, which is held against the other notes. The channels' powers are added, so
opposite phases count.

What the measures are worth is told by the same notes played again, a little slower: they are held against the truth
with their times scaled (windows are looked at where they would be), so a sound may have another length. Onsets, rises
before hits and partials count where this sees what is asked for: played again, the note is within 1 ms, the rise within
1 dB, the partial within half a cent. A partial must also have been as near in the loop that is stretched: a vibrato
caught at another moment is none that could be kept. With them is told what share of all is left.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from benchmarks.stretch.attacks import LOST_MS, Attacks, Heard
from benchmarks.stretch.partials import cents_off, partials_of
from tests.signal.signals import Played

Samples = NDArray[np.float32]
Grid = NDArray[np.float64]

MEL_BANDS = 64
LOWEST_HZ, HIGHEST_HZ = 40.0, 16000.0
# Cells this far below the truth's loudest are equal: nobody hears them.
FLOOR_DB = -70.0
# The join is looked at for so long to both sides, and beside so many other places.
JOIN_SECONDS, FEWEST_NOTES = 0.05, 5
# What is told of a note counts where the same notes played again are so near.
SEEN_MS, SEEN_ALIKE, SEEN_DB, SEEN_CENTS = 1.0, 0.6, 1.0, 0.5


@dataclass(frozen=True)
class Distances:
    """A stretched loop held against the truth."""

    mel_4096_db: float
    """Mean difference of the mel spectrograms: colour."""
    mel_1024_db: float
    """The same with short windows: time."""
    flux: float
    """1 - correlation of the curves of rising level: how much of the rhythm is lost."""
    onsets_ms: tuple[float, ...]
    """For each note that can be told, how far it is from where it should be; one that is not there counts as 99."""
    onsets_apart_ms: tuple[float, ...]
    """The same beside the loop's other notes: without what all of them are late (an instrument that speaks late is as
    late at any tempo, which a loop does not tell)."""
    onsets_told: float
    """Share of the notes that can be told."""
    smear_db: tuple[float, ...]
    """For each hit, how much more than the truth it rises in the last 20 ms before it (see `attacks`)."""
    tail_db: tuple[float, ...]
    """For each of them how much louder than in the truth what sounded before has remained until then."""
    under_hit_db: tuple[float, ...]
    """For each hit out of silence, level before it beside the hit."""
    join_level: float
    """Share of the places where notes begin whose level is further off than at the join: a half if it is like them."""
    join_colour: float
    """The same for the mel spectrogram."""
    stereo: float
    """Difference of the channels' correlation."""
    partials_cents: tuple[float, ...]
    """How far the strongest partials of each note are off."""
    partials_told: float
    """Share of them that can be told."""


class Truth:
    """What is measured of the truth, once for all methods.

    `again` is the same played again; `source` is the loop that is stretched, and `semitones` how far it is moved.
    """

    def __init__(self, wanted: Played, again: Played, source: Played, semitones: float = 0.0) -> None:
        samples, self.rate_hz = wanted.samples, wanted.rate_hz
        self._frames = len(samples)
        powers = {window: _mel_power(samples, self.rate_hz, window, self._frames) for window in (4096, 1024)}
        self._top = {window: max(float(power.max()), 1e-30) for window, power in powers.items()}
        self._mel = {window: self._levels_db(power, window) for window, power in powers.items()}
        self._correlation = _correlation(samples)
        self._attacks = Attacks(samples, self.rate_hz, wanted.onsets_frames)
        heard = self._attacks.heard_in(again.samples, len(again.samples) / self._frames)
        self._told = (np.abs(heard.late_ms) < SEEN_MS) & (heard.alike > SEEN_ALIKE)
        self._hits, self._silent = np.abs(heard.smear_db) < SEEN_DB, np.isfinite(heard.under_db)
        self._partials = partials_of(samples, self.rate_hz, self._attacks.notes)
        self._steady = (np.abs(self._cents(again.samples)) < SEEN_CENTS) & (
            np.abs(self._cents(source.samples, -semitones)) < SEEN_CENTS
        )

    def distances(self, stretched: Samples) -> Distances:
        """How far this is from the truth."""
        scale = len(stretched) / self._frames
        powers = {window: _mel_power(stretched, self.rate_hz, window, self._frames) for window in self._mel}
        mel = {window: self._levels_db(power, window) for window, power in powers.items()}
        apart = {window: np.abs(mel[window] - self._mel[window]) for window in mel}
        level_apart = np.abs(_level_db(mel[1024]) - _level_db(self._mel[1024]))[:, None]
        heard = self._attacks.heard_in(stretched, scale)
        return Distances(
            float(apart[4096].mean()),
            float(apart[1024].mean()),
            float(1 - np.corrcoef(_flux(mel[1024]), _flux(self._mel[1024]))[0, 1]),
            *self._late_ms(heard),
            float(self._told.mean()) if len(self._told) else 0.0,
            tuple(heard.smear_db[self._hits]),
            tuple(heard.tail_db[self._hits]),
            tuple(heard.under_db[self._silent]),
            self._further_off(level_apart),
            self._further_off(apart[1024]),
            abs(_correlation(stretched) - self._correlation),
            tuple(np.abs(self._cents(stretched))[self._steady]),
            float(self._steady.mean()) if len(self._steady) else 0.0,
        )

    def _late_ms(self, heard: Heard) -> tuple[tuple[float, ...], tuple[float, ...]]:
        late_ms = heard.late_ms[self._told]
        found = late_ms[np.isfinite(late_ms)]
        usual_ms = float(np.median(found)) if len(found) else 0.0
        errors = (np.where(np.isfinite(late_ms), np.abs(late_ms - less), LOST_MS) for less in (0.0, usual_ms))
        every, among = (tuple(each) for each in errors)
        return every, among

    def _cents(self, samples: Samples, semitones: float = 0.0) -> Grid:
        return cents_off(samples, self.rate_hz, self._partials, len(samples) / self._frames, semitones)

    def _levels_db(self, power: Grid, window: int) -> Grid:
        levels: Grid = 10 * np.log10(power / self._top[window] + 10 ** (FLOOR_DB / 10))
        return levels

    def _further_off(self, apart: Grid) -> float:
        """Share of the places where notes begin (of all, if they are few) that are further off than the join."""
        count = len(apart)
        reach = round(JOIN_SECONDS * self.rate_hz * count / self._frames)
        around = sliding_window_view(np.pad(apart.mean(axis=1), reach, mode="wrap"), 2 * reach + 1).mean(axis=1)
        notes = np.floor(self._attacks.notes * count / self._frames).astype(np.int64)
        if len(notes) < FEWEST_NOTES:
            notes = np.arange(0, count, reach)
        others = around[notes[(notes > reach) & (notes < count - reach)]]
        return float(np.mean(others > around[0]))


def _level_db(levels_db: Grid) -> Grid:
    level: Grid = 10 * np.log10((10 ** (levels_db / 10)).sum(axis=1))
    return level


def _flux(levels_db: Grid) -> Grid:
    rises: Grid = np.maximum(levels_db - np.roll(levels_db, 1, axis=0), 0).sum(axis=1)
    return rises


def _mel_power(samples: Samples, rate_hz: int, window_frames: int, frames: int) -> Grid:
    """Mel bands of windows that are as many and lie where they would if the sound were so many frames long."""
    window = np.hanning(window_frames + 1)[:-1].astype(np.float32)
    half = window_frames // 2
    starts = np.arange(0, frames + 1, window_frames // 4) * (len(samples) / frames)
    power = 0.0
    for channel in samples.T:
        views = sliding_window_view(np.pad(channel, half, mode="wrap"), window_frames)
        spectra = np.fft.rfft(views[np.floor(starts + 0.5).astype(np.int64)] * window, axis=1)
        power = power + spectra.real**2 + spectra.imag**2
    mel: Grid = power @ _filters(rate_hz, window_frames).T
    return mel


def _filters(rate_hz: int, window_frames: int) -> Grid:
    """Triangles evenly spaced on the mel scale of O'Shaughnessy (1987): 2595 log10(1 + f / 700)."""
    mels = np.linspace(*(2595 * np.log10(1 + hz / 700) for hz in (LOWEST_HZ, HIGHEST_HZ)), MEL_BANDS + 2)
    corners_hz = 700 * (10 ** (mels / 2595) - 1)
    bins_hz = np.arange(window_frames // 2 + 1) * rate_hz / window_frames
    low, mid, high = corners_hz[:-2, None], corners_hz[1:-1, None], corners_hz[2:, None]
    filters: Grid = np.maximum(0, np.minimum((bins_hz - low) / (mid - low), (high - bins_hz) / (high - mid)))
    nearest = np.argmin(np.abs(bins_hz - mid), axis=1)
    filters[np.arange(MEL_BANDS), nearest] = np.maximum(filters[np.arange(MEL_BANDS), nearest], 0.5)
    return filters


def _correlation(samples: Samples) -> float:
    left, right = samples.T.astype(np.float64)
    power = np.sqrt((left @ left) * (right @ right))
    return float(left @ right / power) if power > 0 else 0.0
