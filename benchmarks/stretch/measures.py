"""How far a stretched loop is from the truth: the same notes played at the target tempo.

Both are circular, float32, shape (frames, 2), of the same rate and length. Every distance is 0 for equal sound and
smaller is better. The channels' powers are added, so opposite phases count.

What the measures are worth is told by the same notes played again, a little slower: they are held against the truth
with their times scaled (mel windows and onsets are looked at where they would be), so a sound may have another length.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from mixer.signal.onsets import find_onsets

Samples = NDArray[np.float32]
Grid = NDArray[np.float64]

MEL_BANDS = 64
LOWEST_HZ, HIGHEST_HZ = 40.0, 16000.0
# Cells this far below the truth's loudest are equal: nobody hears them.
FLOOR_DB = -70.0
# A hit is what is so much louder than what comes before it; where that is as far below as this, it is silent there.
HIT_DB, SILENT_DB = 10.0, 55.0
BEFORE_SECONDS, GAP_SECONDS, HIT_SECONDS = 0.035, 0.004, 0.030
SEAM_SECONDS = 0.05
PARTIALS, PARTIAL_WINDOW = 12, 16384
# An onset that is further off than this was not found.
LOST_MS = 99.0


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
    """For each onset heard in the truth (a sampled instrument starts a little after its note is struck), how far the
    nearest one is."""
    pre_echo_db: tuple[float, ...]
    """For each hit, how much louder than the truth it is before the hit (both beside the hit itself)."""
    under_hit_db: tuple[float, ...]
    """For each hit out of silence, level before it beside the hit."""
    seam_level_db: float
    """Difference of level around the join, less the usual difference elsewhere (0 if it is no worse)."""
    seam_colour_db: float
    """The same for the mel spectrogram."""
    stereo: float
    """Difference of the channels' correlation."""
    partials_cents: tuple[float, ...]
    """How far the strongest steady partials are off."""


class Truth:
    """What is measured of the truth, once for all methods."""

    def __init__(self, samples: Samples, rate_hz: int) -> None:
        self.rate_hz, self._frames = rate_hz, len(samples)
        powers = {window: _mel_power(samples, rate_hz, window, len(samples)) for window in (4096, 1024)}
        self._top = {window: max(float(power.max()), 1e-30) for window, power in powers.items()}
        self._mel = {window: self._levels_db(power, window) for window, power in powers.items()}
        self._onsets = find_onsets(samples, rate_hz)
        self._before_db = _before_db(samples, self._onsets, rate_hz)
        self._correlation = _correlation(samples)
        self._partials_hz = _partials_hz(samples, rate_hz)

    def distances(self, stretched: Samples) -> Distances:
        """How far this is from the truth."""
        scale = len(stretched) / self._frames
        powers = {window: _mel_power(stretched, self.rate_hz, window, self._frames) for window in self._mel}
        mel = {window: self._levels_db(power, window) for window, power in powers.items()}
        apart = {window: np.abs(mel[window] - self._mel[window]) for window in mel}
        level_apart = np.abs(_level_db(mel[1024]) - _level_db(self._mel[1024]))[:, None]
        before_db = _before_db(stretched, np.floor(self._onsets * scale + 0.5).astype(np.int64), self.rate_hz)
        found = find_onsets(stretched, self.rate_hz) / scale
        hits, silent = self._before_db < -HIT_DB, self._before_db < -SILENT_DB
        return Distances(
            float(apart[4096].mean()),
            float(apart[1024].mean()),
            float(1 - np.corrcoef(_flux(mel[1024]), _flux(self._mel[1024]))[0, 1]),
            tuple(_onset_errors_ms(found, self._onsets, self._frames, self.rate_hz)),
            tuple((before_db - np.maximum(self._before_db, -SILENT_DB))[hits & ~silent]),
            tuple(before_db[silent]),
            self._at_seam(level_apart),
            self._at_seam(apart[1024]),
            abs(_correlation(stretched) - self._correlation),
            tuple(_cents_off(stretched, self.rate_hz, self._partials_hz)),
        )

    def _levels_db(self, power: Grid, window: int) -> Grid:
        levels: Grid = 10 * np.log10(power / self._top[window] + 10 ** (FLOOR_DB / 10))
        return levels

    def _at_seam(self, apart: Grid) -> float:
        rolled = np.roll(apart, len(apart) // 2, axis=0)
        reach = round(SEAM_SECONDS * self.rate_hz / 256)
        join = rolled[len(rolled) // 2 - reach : len(rolled) // 2 + reach]
        return max(0.0, float(join.mean() - apart.mean()))


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


def _onset_errors_ms(found: Grid, wanted: NDArray[np.int64], frames: int, rate_hz: int) -> Grid:
    """For each onset that is wanted, how far the nearest one found is."""
    if len(found) == 0:
        return np.full(len(wanted), LOST_MS)
    apart = (found[:, None] - wanted[None, :] + frames / 2) % frames - frames / 2
    errors: Grid = np.minimum(np.abs(apart).min(axis=0) / rate_hz * 1000, LOST_MS)
    return errors


def _before_db(samples: Samples, onsets: NDArray[np.int64], rate_hz: int) -> Grid:
    """Level just before each onset beside the level just after it."""
    total = np.cumsum(np.square(np.concatenate([samples, samples]), dtype=np.float64).sum(axis=1))
    before, gap, hit = (round(each * rate_hz) for each in (BEFORE_SECONDS, GAP_SECONDS, HIT_SECONDS))
    at = onsets + len(samples) * (onsets < before)
    quiet = (total[at - gap] - total[at - before]) / (before - gap)
    loud = (total[np.minimum(at + hit, len(total) - 1)] - total[at]) / hit
    levels: Grid = 10 * np.log10((quiet + 1e-12) / (loud + 1e-12))
    return levels


def _correlation(samples: Samples) -> float:
    left, right = samples.T.astype(np.float64)
    power = np.sqrt((left @ left) * (right @ right))
    return float(left @ right / power) if power > 0 else 0.0


def _spectrum(samples: Samples) -> Grid:
    """Mean power in long windows, in bins four times as fine as they need be."""
    window = np.hanning(PARTIAL_WINDOW + 1)[:-1]
    total = np.zeros(2 * PARTIAL_WINDOW + 1)
    for channel in samples.T:
        wrapped = np.pad(channel, PARTIAL_WINDOW // 2, mode="wrap")
        for start in range(0, len(samples), PARTIAL_WINDOW // 2):
            piece = wrapped[start : start + PARTIAL_WINDOW] * window[: len(wrapped) - start]
            total += np.abs(np.fft.rfft(piece, 4 * PARTIAL_WINDOW)) ** 2
    return total


def _partials_hz(samples: Samples, rate_hz: int) -> Grid:
    """The strongest narrow peaks above 60 Hz: as sharp as a steady tone in such a window, and standing out."""
    power = _spectrum(samples)
    width = 4 * 4
    around = sliding_window_view(np.pad(power, width, mode="edge"), 2 * width + 1)
    peaks = np.flatnonzero((power >= around.max(axis=1)) & (power > 30 * np.median(around, axis=1)))
    peaks = peaks[peaks * rate_hz > 60 * 4 * PARTIAL_WINDOW]
    strongest = peaks[np.argsort(power[peaks])[::-1][:PARTIALS]]
    return _between_bins(power, strongest) * rate_hz / (4 * PARTIAL_WINDOW)


def _cents_off(samples: Samples, rate_hz: int, wanted_hz: Grid) -> Grid:
    power = _spectrum(samples)
    cents = []
    for hz in wanted_hz:
        centre, reach = hz * 4 * PARTIAL_WINDOW / rate_hz, max(4, int(hz * 0.03 * 4 * PARTIAL_WINDOW / rate_hz))
        first = max(1, int(centre) - reach)
        best = first + int(np.argmax(power[first : int(centre) + reach + 1]))
        cents.append(abs(1200 * np.log2(_between_bins(power, np.array([best]))[0] / centre)))
    return np.array(cents)


def _between_bins(power: Grid, peaks: NDArray[np.int64]) -> Grid:
    """Where the parabola through a peak and its neighbours is highest."""
    low, mid, high = (np.log(power[np.clip(peaks + step, 0, len(power) - 1)] + 1e-30) for step in (-1, 0, 1))
    curved = low - 2 * mid + high
    shift: Grid = np.where(curved < 0, 0.5 * (low - high) / np.where(curved < 0, curved, 1), 0)
    return peaks + shift
