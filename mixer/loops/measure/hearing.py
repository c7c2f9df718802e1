"""A sound as measuring sees it: levels in bands over time, how they rise, where notes begin.

The channels' powers are added, never their samples, so that opposite phases count. Everything is relative to the
loudest moment, so that a soft recording reads like a loud one.
"""

from __future__ import annotations

from functools import cached_property

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from mixer.record import record
from mixer.signal.blocks import Samples
from mixer.signal.onsets import find_onsets

Curve = NDArray[np.floating]

HOP_SECONDS = 0.005
WINDOW_SECONDS = 0.023
EDGES_HZ = (0.0, 60, 95, 150, 240, 380, 600, 950, 1500, 2400, 3800, 6000, 9500)
LOW_BANDS, MID_BANDS = 3, 8
FLOOR_DB = -60.0
# What is this far below the loudest moment is silence.
SILENCE_DB = -50.0
AT_ONCE_SECONDS = 0.012
# What swells instead of being struck needs so long until it is heard.
SWELL_SECONDS = 0.06
LAG_HOPS = 3
FALL_SECONDS, MOST_ENDS = 0.08, 3
# A grid is felt to be met within so much.
NEAR_SECONDS = 0.02


@record
class Heard:
    """A sound in bands over time.

    Parameters
    ----------
    samples, rate_hz : the sound
    levels_db : shape (hops, bands), 0 the loudest band of the loudest hop
    hop_seconds : between rows; row k is centred on k x hop_seconds
    """

    samples: Samples
    rate_hz: int
    levels_db: Curve
    hop_seconds: float

    @property
    def seconds(self) -> float:
        """How long the file is."""
        return len(self.samples) / self.rate_hz

    @cached_property
    def rises(self) -> Curve:
        """How each band rises, in dB, shape (hops, bands); before the file there is silence."""
        before = np.concatenate([np.full((LAG_HOPS, self.levels_db.shape[1]), FLOOR_DB), self.levels_db])
        highest = np.max([before[lag : lag + len(self.levels_db)] for lag in range(LAG_HOPS)], axis=0)
        return np.asarray(np.maximum(self.levels_db - highest, 0.0))

    @cached_property
    def flux(self) -> Curve:
        """Rise over all, low, middle and high bands, shape (hops, 4), smoothed to the nearest grid; peaks about 1."""
        groups = [slice(None), slice(0, LOW_BANDS), slice(LOW_BANDS, MID_BANDS), slice(MID_BANDS, None)]
        curves = np.stack([self.rises[:, group].mean(axis=1) for group in groups], axis=1)
        near = round(NEAR_SECONDS / self.hop_seconds)
        padded = np.pad(curves, ((near, near), (0, 0)))
        widest = sliding_window_view(padded, 2 * near + 1, axis=0).max(axis=-1)
        usual = np.quantile(widest, 0.97, axis=0)
        return np.asarray(np.minimum(widest / np.maximum(usual, 1.0), 1.0))

    @cached_property
    def onsets(self) -> Curve:
        """Seconds at which notes begin, sorted; one at the very end is the first, found just before the join."""
        found = find_onsets(self.samples, self.rate_hz) / self.rate_hz
        return np.unique(np.where(found > self.seconds - 0.03, 0.0, found))

    @cached_property
    def strengths(self) -> Curve:
        """How strongly each onset is heard, 0 to 1, shape (onsets,)."""
        rows = np.minimum((self.onsets / self.hop_seconds + 0.5).astype(int), len(self.flux) - 1)
        return np.asarray(self.flux[rows, 0])

    @cached_property
    def start_seconds(self) -> float:
        """Where sound begins after silence in front; 0 where it is there at once."""
        step = max(1, self.rate_hz // 1000)
        whole = len(self.samples) // step * step
        peaks = np.abs(self.samples[:whole]).reshape(-1, step * 2).max(axis=1)
        first = float(np.argmax(peaks > peaks.max() * 10 ** (SILENCE_DB / 20))) * step / self.rate_hz
        if first <= AT_ONCE_SECONDS:
            return 0.0
        near = self.onsets[np.abs(self.onsets - first) < 0.06]
        if len(near):
            return float(near[0])
        return first if first > SWELL_SECONDS else 0.0

    @cached_property
    def end_seconds(self) -> float:
        """Where the last sound has died away."""
        rows = np.flatnonzero(self.loudness_db > SILENCE_DB)
        return min(self.seconds, (rows[-1] + 1) * self.hop_seconds) if len(rows) else self.seconds

    @cached_property
    def loudness_db(self) -> Curve:
        """Level of all bands together in dB, 0 the loudest hop, shape (hops,)."""
        power = (10 ** (self.levels_db / 10)).sum(axis=1)
        return np.asarray(10 * np.log10(power / max(float(power.max()), 1e-30) + 1e-12))

    @cached_property
    def fade(self) -> float:
        """How far the sound has died away at the end of the file, 0 to 1 (30 dB or more below its middle level)."""
        rows = max(1, round(0.1 / self.hop_seconds))
        level = np.maximum(self.loudness_db, FLOOR_DB)
        return float(np.clip((np.median(level) - level[-rows:].mean()) / 30, 0.0, 1.0))

    @cached_property
    def ends(self) -> tuple[Curve, Curve]:
        """Moments after the last onset at which the sound begins to fall away, likeliest first, and how steeply.

        A tail begins there. In seconds; how steeply in dB, by which all bands fall more after it than before.
        """
        reach = max(2, round(FALL_SECONDS / self.hop_seconds))
        rows, half = len(self.levels_db), reach // 2
        total = np.pad(self.levels_db, ((reach, reach), (0, 0)), mode="edge").cumsum(axis=0)
        early, near, late = (
            (total[reach + b : reach + b + rows - reach] - total[reach + a : reach + a + rows - reach]) / (b - a)
            for a, b in ((-reach, -half), (-half, 0), (half, reach))
        )
        before, after = early - near, near - late
        steep = np.maximum(after - 1.5 * np.maximum(before, 0.0), 0.0).mean(axis=1)
        last = float(self.onsets[-1]) if len(self.onsets) else self.start_seconds
        steep[: int((last + 0.06) / self.hop_seconds)] = 0.0
        peaks = np.flatnonzero((steep[1:-1] >= steep[:-2]) & (steep[1:-1] > steep[2:])) + 1
        peaks = peaks[np.argsort(-steep[peaks])][:MOST_ENDS]
        return peaks * self.hop_seconds, steep[peaks]

    def at(self, seconds: Curve, group: int = 0) -> Curve:
        """How strongly something begins at each of these moments, in all bands or a group of them; 0 outside the file.

        Parameters
        ----------
        seconds : shape (moments,), as is what comes back
        group : a column of `flux`
        """
        rows = (seconds / self.hop_seconds + 0.5).astype(int)
        inside = (rows >= 0) & (rows < len(self.flux))
        return np.where(inside, self.flux[np.clip(rows, 0, len(self.flux) - 1), group], 0.0)

    @cached_property
    def likeness(self) -> Curve:
        """How alike the sound is to itself so many hops later, -1 to 1 (correlation of band levels and rises)."""
        levels = self.levels_db - self.levels_db.mean(axis=0)
        shape = np.concatenate(
            [levels / max(float(levels.std()), 1e-9), self.rises / max(float(self.rises.std()), 1e-9)], 1
        )
        rows = len(shape)
        size = 1 << (2 * rows - 1).bit_length()
        spectrum = np.fft.rfft(shape, size, axis=0)
        products = np.fft.irfft((spectrum.real**2 + spectrum.imag**2).sum(axis=1), size)[:rows]
        energy = np.concatenate([[0.0], np.cumsum((shape**2).sum(axis=1))])
        lags = np.arange(rows)
        norm = np.sqrt((energy[rows] - energy[lags]) * energy[rows - lags])
        return np.asarray(products / np.maximum(norm, 1e-9))

    def alike(self, seconds: float) -> float:
        """How alike the sound is to itself so much later, within a hop; 0 where less than an eighth overlaps."""
        row = round(seconds / self.hop_seconds)
        if row < 1 or row > 0.875 * len(self.likeness):
            return 0.0
        return float(self.likeness[max(1, row - 1) : row + 2].max())


def hear(samples: Samples, rate_hz: int) -> Heard:
    """Take a sound apart.

    Parameters
    ----------
    samples : float32 array, shape (frames, 2), full scale 1.0
    rate_hz : int > 0, frames per second
    """
    hop = max(1, round(HOP_SECONDS * rate_hz))
    window_frames = 1 << round(np.log2(WINDOW_SECONDS * rate_hz))
    window = np.hanning(window_frames + 1)[:-1].astype(np.float32)
    half = window_frames // 2
    edges = np.unique(np.searchsorted(np.fft.rfftfreq(window_frames, 1 / rate_hz), EDGES_HZ))
    edges = edges[edges < half]
    hops = -(-len(samples) // hop)
    bands = np.zeros((hops, len(EDGES_HZ)))
    sound = samples - samples.mean(axis=0)
    for channel in sound.T:
        padded = np.pad(channel, (half, window_frames))
        views = sliding_window_view(padded, window_frames)[::hop][:hops]
        for first in range(0, hops, 512):
            spectra = np.fft.rfft(views[first : first + 512] * window, axis=1)
            power = spectra.real**2 + spectra.imag**2
            bands[first : first + 512, : len(edges)] += np.add.reduceat(power, edges, axis=1)
    loudest = max(float(bands.max()), 1e-30)
    levels = 10 * np.log10(bands / loudest + 10 ** (FLOOR_DB / 10))
    return Heard(samples, rate_hz, np.asarray(levels), hop / rate_hz)
