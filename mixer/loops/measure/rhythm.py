"""What speaks for a reading by its rhythm alone, wherever bars begin: how long notes are, and when they come again."""

from __future__ import annotations

from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from mixer.loops.measure.hearing import Heard
from mixer.loops.measure.pitches import Pitches
from mixer.loops.measure.readings import Reading, events
from mixer.record import record

Curve = NDArray[np.floating]

# Notes that swell are found so exactly.
NEAR_SECONDS, SAME_SECONDS = 0.07, 0.06
# Nothing is left to chance beyond this.
MOST_CHANCE = 0.9

NAMES = (
    *(f"lengths in {what}" for what in ("halves", "thirds", "beats", "bars")),
    *(f"rhythm like {what} later" for what in ("a bar", "a beat", "half a bar")),
)


@record
class Rhythm:
    """When notes begin in a sound, to be held against many readings.

    Parameters
    ----------
    heard, pitches : the sound
    """

    heard: Heard
    pitches: Pitches

    @cached_property
    def _begins(self) -> Curve:
        """Seconds at which notes begin, struck or not, sorted."""
        return np.sort(events(self.heard, self.pitches)[0])

    def facts(self, r: Reading) -> list[float]:
        """Give what speaks for a reading, in the order of `NAMES`."""
        moments = self._begins
        moments = moments[(moments > r.origin_seconds - SAME_SECONDS) & (moments < r.end_seconds - SAME_SECONDS)]
        beat, bar = r.beat_seconds, r.beats_per_bar * r.beat_seconds
        if len(moments) < 2:
            return [0.0] * len(NAMES)
        lengths = np.diff(moments)
        steps = (beat / 2, beat / 3, beat, bar)
        return [
            *(_multiples(lengths, step) for step in steps),
            *(_again(moments, later, r) for later in (bar, beat, bar / 2)),
        ]


def _multiples(lengths: Curve, step: float) -> float:
    """How near lengths are to whole multiples of a step, beyond what chance would give."""
    counts = np.round(lengths / step)
    reach = min(NEAR_SECONDS, 0.4 * step)
    near = np.maximum(0.0, 1 - np.abs(lengths - counts * step) / reach) * (counts > 0)
    return float(near.mean()) - reach / step


def _again(moments: Curve, later: float, r: Reading) -> float:
    """What part of the notes another follows at just this distance, beyond what chance would give."""
    before = moments[moments + later < r.end_seconds - 0.03]
    if not len(before):
        return 0.0
    wanted = before + later
    after = np.clip(np.searchsorted(moments, wanted), 1, len(moments) - 1)
    off = np.minimum(np.abs(moments[after] - wanted), np.abs(moments[after - 1] - wanted))
    chance = min(MOST_CHANCE, 2 * SAME_SECONDS * len(moments) / max(r.beats * r.beat_seconds, 0.1))
    return (float((off < SAME_SECONDS).mean()) - chance) / (1 - chance)
