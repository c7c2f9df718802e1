"""Which pitches sound when: energy in semitones over time, with the weight of partials taken down.

Semitones are of equal temperament at A4 = 440 Hz (ISO 16), after the sound's own tuning was found.
"""

from __future__ import annotations

from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from mixer.record import record
from mixer.signal.blocks import Samples

Curve = NDArray[np.floating]

LOWEST_MIDI, HIGHEST_MIDI = 28, 92
WINDOW_SECONDS, HOP_SECONDS = 0.19, 0.046
REFERENCE_HZ = 440.0
# Pitches that change by less than this are the same chord.
LEAST_CHANGE = 0.2
TURN_SECONDS = (0.2, 0.5)


@record
class Pitches:
    """Energy of semitones over time.

    Parameters
    ----------
    salience : shape (hops, semitones from `LOWEST_MIDI`), compressed amplitude
    tonal : shape (hops,), how much of the energy stands out as pitches, 0 to 1
    hop_seconds : between rows; row k is centred on k x hop_seconds
    """

    salience: Curve
    tonal: Curve
    hop_seconds: float

    def rows(self, start_seconds: float, end_seconds: float) -> slice:
        """Rows between two moments, one at least."""
        first = max(0, int(np.ceil(start_seconds / self.hop_seconds - 0.2)))
        last = min(len(self.salience), int(np.floor(end_seconds / self.hop_seconds + 0.2)))
        first = min(first, len(self.salience) - 1)
        return slice(first, max(first + 1, last))

    def chroma(
        self, start_seconds: float, end_seconds: float, lowest: int = LOWEST_MIDI, highest: int = HIGHEST_MIDI
    ) -> Curve:
        """How much of each pitch class (C first) sounds between two moments, from these octaves, shape (12,)."""
        part = self.salience[self.rows(start_seconds, end_seconds), lowest - LOWEST_MIDI : highest - LOWEST_MIDI]
        total = part.mean(axis=0) if len(part) else np.zeros(highest - lowest)
        classes = (np.arange(lowest, highest)) % 12
        return np.asarray(np.bincount(classes, total, 12))

    @cached_property
    def _classes(self) -> Curve:
        """Sums of each pitch class over all rows before each, shape (hops + 1, 12)."""
        whole = np.pad(self.salience, ((0, 0), (LOWEST_MIDI % 12, -HIGHEST_MIDI % 12)))
        return np.pad(whole.reshape(len(whole), -1, 12).sum(axis=1).cumsum(axis=0), ((1, 0), (0, 0)))

    def changes(self, moments: Curve) -> Curve:
        """How much the harmony changes at each of these moments (the stretch after it against that before), 0 to 1."""
        if len(moments) < 2:
            return np.zeros(len(moments))
        spans = [self.rows(a, b) for a, b in pairwise(moments)]
        firsts, lasts = np.array([span.start for span in spans]), np.array([span.stop for span in spans])
        parts = (self._classes[lasts] - self._classes[firsts]) / (lasts - firsts)[:, None]
        parts = np.concatenate([parts[-1:], parts, parts[:1]])
        size = np.linalg.norm(parts, axis=1) + 1e-9
        alike = (parts[1:] * parts[:-1]).sum(axis=1) / (size[1:] * size[:-1])
        return np.asarray(1 - alike)

    @cached_property
    def turned(self) -> tuple[Curve, Curve]:
        """Moments at which other pitches take over (chords change without being struck), in seconds, and how much.

        How much is 0 to 1, less where the sound is faint: what is left of a chord after its end flickers.
        """
        change = np.max([self._change(seconds) for seconds in TURN_SECONDS], axis=0)
        reach = max(1, round(TURN_SECONDS[0] / self.hop_seconds))
        widest = sliding_window_view(np.pad(change, reach), 2 * reach + 1).max(axis=1)
        rows = np.flatnonzero((change >= widest) & (change > LEAST_CHANGE))
        return rows * self.hop_seconds, change[rows]

    @cached_property
    def turning(self) -> Curve:
        """How much the harmony turns at each row or next to it, shape (hops,), 0 to 1, the strongest turns 1."""
        change = self._change(TURN_SECONDS[0])
        change = np.minimum(change / max(float(np.quantile(change, 0.98)), 0.1), 1.0)
        return np.asarray(sliding_window_view(np.pad(change, 1), 3).max(axis=1))

    def turning_at(self, moments: Curve) -> Curve:
        """How much the harmony turns at each of these moments (in seconds), 0 to 1, shape (moments,)."""
        rows = np.round(moments / self.hop_seconds).astype(int)
        return np.asarray(self.turning[np.clip(rows, 0, len(self.turning) - 1)])

    def _change(self, seconds: float) -> Curve:
        """How unlike what sounds so long after each row is to what sounded so long before it, 0 to 1."""
        reach = min(max(1, round(seconds / self.hop_seconds)), max(1, len(self.salience) // 3))
        total = np.pad(self.salience.cumsum(axis=0), ((1, 0), (0, 0)))
        means = (total[reach:] - total[:-reach]) / reach
        before, after = means[:-reach], means[reach:]
        sizes = np.linalg.norm(before, axis=1), np.linalg.norm(after, axis=1)
        loud = np.maximum(*sizes)
        change = 1 - (before * after).sum(axis=1) / (sizes[0] * sizes[1] + 1e-9)
        change = change * np.minimum(1, 2 * loud / max(float(loud.max(initial=0.0)), 1e-9))
        return np.pad(change, reach)[: len(self.salience)]

    @property
    def turns(self) -> Curve:
        """Moments at which other pitches take over, in seconds."""
        return self.turned[0]


def find_pitches(samples: Samples, rate_hz: int) -> Pitches:
    """Find the pitches of a sound.

    Parameters
    ----------
    samples : float32 array, shape (frames, 2)
    rate_hz : int > 0, frames per second
    """
    window_frames = 1 << round(np.log2(WINDOW_SECONDS * rate_hz))
    hop = max(1, round(HOP_SECONDS * rate_hz))
    window = np.hanning(window_frames + 1)[:-1].astype(np.float32)
    hops = -(-len(samples) // hop)
    power = np.zeros((hops, window_frames // 2 + 1))
    for channel in (samples - samples.mean(axis=0)).T:
        padded = np.pad(channel, (window_frames // 2, window_frames))
        views = sliding_window_view(padded, window_frames)[::hop][:hops]
        for first in range(0, hops, 64):
            spectra = np.fft.rfft(views[first : first + 64] * window, axis=1)
            power[first : first + 64] += spectra.real**2 + spectra.imag**2
    amplitude = np.sqrt(power)
    frequencies = np.fft.rfftfreq(window_frames, 1 / rate_hz)
    return _semitones(amplitude, frequencies, hop / rate_hz)


def _semitones(amplitude: Curve, frequencies: Curve, hop_seconds: float) -> Pitches:
    """Keep what stands out as a peak, put it at its exact frequency, and take partials off what they belong to."""
    rows, heights, places = _peaks(amplitude, frequencies)
    turn = np.sum(heights * np.exp(2j * np.pi * places)) if len(heights) else 1.0
    tuning = float(np.angle(turn) / (2 * np.pi))
    nearest = np.round(places - tuning)
    close = np.exp(-(((places - tuning - nearest) / 0.25) ** 2))
    semitones = (nearest - LOWEST_MIDI).astype(int)
    wide = HIGHEST_MIDI + 13 - LOWEST_MIDI
    strongest = np.zeros((len(amplitude), wide))
    kept = (semitones >= 0) & (semitones < wide)
    np.maximum.at(strongest, (rows[kept], semitones[kept]), (heights * close)[kept])
    salience = _without_partials(strongest)
    total = np.square(amplitude[:, 1:-1][:, : max(1, int(5000 / frequencies[1]))]).sum(axis=1) + 1e-12
    peaks = np.zeros(len(amplitude))
    np.add.at(peaks, rows, 1.5 * heights**2 * 2)
    return Pitches(np.sqrt(salience), np.minimum(peaks / total, 1.0), hop_seconds)


def _peaks(amplitude: Curve, frequencies: Curve) -> tuple[NDArray[np.intp], Curve, Curve]:
    """Find what stands out in each spectrum: its row, its amplitude, its exact frequency as a MIDI number."""
    inner = amplitude[:, 1:-1]
    left, right = amplitude[:, :-2], amplitude[:, 2:]
    is_peak = (inner > left) & (inner >= right)
    curve = np.log(np.stack([left, inner, right]) + 1e-12)
    shift = 0.5 * (curve[0] - curve[2]) / np.minimum(curve[0] - 2 * curve[1] + curve[2], -1e-9)
    exact = frequencies[1:-1] + np.clip(shift, -0.5, 0.5) * frequencies[1]
    midi = 69 + 12 * np.log2(np.maximum(exact, 1.0) / REFERENCE_HZ)
    inside = is_peak & (midi >= LOWEST_MIDI - 0.5) & (midi < HIGHEST_MIDI + 11.5)
    rows, columns = np.nonzero(inside)
    heights, places = inner[rows, columns], midi[rows, columns]
    loud = heights > 0.003 * max(float(inner.max()), 1e-30)
    return rows[loud], heights[loud], places[loud]


def _without_partials(salience: Curve) -> Curve:
    """Take off each pitch what the partials of lower ones put there, cut to the pitches we keep, loud ones about 1."""
    for partial, share in ((12, 0.5), (19, 0.4), (24, 0.3), (28, 0.3), (31, 0.2)):
        salience[:, partial:] -= share * np.maximum(salience[:, :-partial], 0)
    salience = np.maximum(salience, 0)[:, : HIGHEST_MIDI - LOWEST_MIDI]
    return np.asarray(salience / max(float(np.quantile(salience.max(axis=1), 0.9)), 1e-12))
