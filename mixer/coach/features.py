"""What is in each bar of a loop: its power in the bands of hearing, and its hits. Heard once, then only looked up.

A bar is looked at in slots, twelve to a beat, so that sixteenth notes and triplets both stand in the middle of one. All
places are exact fractions of the loop, so a bar that comes again gives the same figures to the last bit.
"""

from __future__ import annotations

import struct
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from mixer.material.fit import Material
from mixer.record import record
from mixer.signal.bands import BANDS, band_powers
from mixer.signal.onsets import find_onsets
from mixer.store.cache import Cache, open_cache
from mixer.store.content import key_of

SLOTS_PER_BEAT = 12
HIT_SECONDS = 0.1
"""How much of a hit is heard as how strong it is (common practice, no source)."""

Powers = NDArray[np.float64]
_HOPS = struct.Struct("<q")


@record
class BarFeatures:
    """One bar of a loop at the level of its material.

    Parameters
    ----------
    bands : mean K-weighted power in each slot and critical band, shape (slots, 24)
    hits : power of what begins in each slot, shape (slots,); 0 where nothing does
    """

    bands: Powers
    hits: Powers


def _heard(material: Material, rate_hz: int) -> tuple[Powers, NDArray[np.int64]]:
    """Powers in the bands and onsets of a loop, kept beside its sound where that is kept: both depend on it alone."""
    cache = open_cache() if material.kept_as else Cache(None)
    key = key_of("heard", material.kept_as, str(rate_hz))
    kept = cache.read(key) if material.kept_as else None
    if kept is not None:
        (hops,) = _HOPS.unpack_from(kept)
        powers = np.frombuffer(kept, np.float64, hops * BANDS, _HOPS.size).reshape(hops, BANDS)
        return powers, np.frombuffer(kept, np.int64, offset=_HOPS.size + powers.nbytes)
    powers, onsets = band_powers(material.samples, rate_hz), find_onsets(material.samples, rate_hz)
    cache.keep(key, (_HOPS.pack(len(powers)), powers.tobytes(), onsets.astype(np.int64).tobytes()))
    return powers, onsets


class LoopFeatures:
    """What is in a loop.

    Parameters
    ----------
    material : the loop's sound
    bars : how many bars of the song one repetition takes
    slots : in a bar
    rate_hz : frames per second
    """

    def __init__(self, material: Material, bars: Fraction, slots: int, rate_hz: int) -> None:
        self._bars = bars
        self._slots = slots
        powers, onsets = _heard(material, rate_hz)
        self._hops = len(powers)
        self._running = np.concatenate([np.zeros((1, BANDS)), np.cumsum(powers, axis=0)])
        frames = len(material.samples)
        self._onsets = onsets / frames  # in repetitions
        self._hit_length = min(1.0, HIT_SECONDS * rate_hz / frames)
        self._known: dict[Fraction, BarFeatures] = {}

    def bar(self, phase_bars: Fraction) -> BarFeatures:
        """What is in the bar that begins so many bars into the loop."""
        phase = phase_bars % self._bars
        if phase not in self._known:
            self._known[phase] = BarFeatures(self._bands(phase), self._hits(phase))
        return self._known[phase]

    def _bands(self, phase: Fraction) -> Powers:
        edges = [float((phase + Fraction(slot, self._slots)) / self._bars) for slot in range(self._slots + 1)]
        return np.diff(self._sums(np.array(edges)), axis=0) * (float(self._bars) * self._slots)

    def _sums(self, at: Powers) -> Powers:
        """Power added up from the loop's start to places in repetitions; a hop reaches half-way to its neighbours."""
        whole, part = np.divmod(at + 0.5 / self._hops, 1.0)
        inside = part * self._hops
        low = np.minimum(inside.astype(np.int64), self._hops - 1)
        rest = (inside - low)[:, None]
        there = self._running[low] + rest * (self._running[low + 1] - self._running[low])
        return np.asarray((there + whole[:, None] * self._running[-1]) / self._hops)

    def _hits(self, phase: Fraction) -> Powers:
        hits = np.zeros(self._slots)
        if not len(self._onsets):
            return hits
        ends = self._sums(self._onsets + self._hit_length)
        strengths = (ends - self._sums(self._onsets)).sum(axis=1) / self._hit_length
        # A slot of hits has its middle where the bar's slots begin: half a slot early is still on the beat.
        begin = float((phase - Fraction(1, 2 * self._slots)) / self._bars)
        along = (self._onsets - begin) % 1.0
        length = float(self._bars)
        while (along * length < 1).any():
            slots = np.floor(along * length * self._slots).astype(np.int64)
            inside = slots < self._slots
            np.add.at(hits, slots[inside], strengths[inside])
            along = along + 1.0
        return hits
