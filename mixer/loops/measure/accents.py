"""What speaks for a reading by where its bars are divided: accents, long notes and changes at halves and at thirds.

Three beats and two are told from each other by what lies in the middle of a bar: in 6/8 the second beat, in 3/4 no
beat at all.
"""

from __future__ import annotations

from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from mixer.loops.measure.hearing import Heard
from mixer.loops.measure.pitches import Pitches
from mixer.loops.measure.readings import Reading
from mixer.record import record

Curve = NDArray[np.floating]

NEAR_SECONDS = 0.03

NAMES = (
    *(f"{what}: middle against thirds" for what in ("accent", "low accent", "middle accent", "turn", "note", "length")),
    *("notes on thirds of bars", "long on bars", "long on beats"),
    *("turns: bars against beats", "turns: beats", "turns: halves"),
)


@record
class Accents:
    """A sound's accents, to be held against many readings.

    Parameters
    ----------
    heard, pitches : the sound
    """

    heard: Heard
    pitches: Pitches

    def facts(self, r: Reading) -> list[float]:
        """Give what speaks for a reading, in the order of `NAMES`."""
        beat, bar = r.beat_seconds, r.beats_per_bar * r.beat_seconds
        bars, beats = r.origin_seconds + bar * np.arange(r.bars), r.origin_seconds + beat * np.arange(r.beats)
        inner = beats[np.arange(r.beats) % r.beats_per_bar > 0]
        middles = bars + bar / 2
        thirds = np.concatenate([bars + bar / 3, bars + bar * 2 / 3])
        in_bars = self._turn(bars[1:]) if r.bars > 1 else 0.0
        return [
            *(float(self.heard.at(middles, g).mean() - self.heard.at(thirds, g).mean()) for g in range(3)),
            self._turn(middles) - self._turn(thirds),
            self._struck(middles) - self._struck(thirds),
            self._long(middles, bar) - self._long(thirds, bar),
            self._struck(thirds),
            self._long(bars, bar) - self._long(inner, bar),
            self._long(beats, bar),
            in_bars - self._turn(inner),
            self._turn(inner),
            self._turn(beats + beat / 2),
        ]

    @cached_property
    def _lengths(self) -> Curve:
        """Seconds from each onset to the next."""
        return np.diff(np.append(self.heard.onsets, self.heard.seconds))

    def _nearest(self, moments: Curve) -> tuple[Curve, NDArray[np.intp]]:
        """How far the nearest onset is from each moment, and which it is; there must be one."""
        onsets = self.heard.onsets
        after = np.clip(np.searchsorted(onsets, moments), 1, max(1, len(onsets) - 1))
        before = after - 1
        after = np.minimum(after, len(onsets) - 1)
        which = np.where(np.abs(onsets[after] - moments) < np.abs(onsets[before] - moments), after, before)
        return np.abs(onsets[which] - moments), which

    def _struck(self, moments: Curve) -> float:
        """At what part of the moments a note begins."""
        return float((self._nearest(moments)[0] < NEAR_SECONDS).mean()) if len(self.heard.onsets) else 0.0

    def _long(self, moments: Curve, bar: float) -> float:
        """How long the notes are that begin at these moments, in bars; long notes are accents."""
        if not len(self.heard.onsets):
            return 0.0
        off, which = self._nearest(moments)
        return float((np.minimum(self._lengths[which] / bar, 1.0) * (off < NEAR_SECONDS)).mean())

    def _turn(self, moments: Curve) -> float:
        """How much the harmony turns at these moments, 0 to 1."""
        return float(self.pitches.turning_at(moments).mean())
