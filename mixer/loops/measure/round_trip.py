"""How far a loop may be stretched and transposed before it suffers, learnt from the loop itself.

It is made longer and shorter again, and shorter and longer again, and what comes back is held against what went in.
Either way alone undoes much of its own harm (a note that was continued and then cut off is whole again), so the mean of
both counts, for slower and faster alike. To transpose is to stretch and to resample, and resampling harms nothing, so
the same trips tell how far a loop may be moved.

`benchmarks/stretch/limits.py` shows how these trips stand to the truth, and where `SUFFERS_DB` is from.
"""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from mixer.loops.limits import Limits
from mixer.loops.measure.facts import Measured
from mixer.music.meter import parse_meter
from mixer.record import replace
from mixer.signal.files import UnreadableSoundError, read_sound
from mixer.signal.fit import fit_loop
from mixer.signal.mel import distance_db, mel_powers

Samples = NDArray[np.float32]

# What comes back is so much less like the loop than after next to no stretch (noise never comes back the same).
SUFFERS_DB = 0.3
NEXT_TO_NONE_RATIO, FIRST_RATIO = 1.03, 1.25
# A tenth slower is borne by all: to tell of less would be to tell of nearly every song (common practice, no source).
LEAST_RATIO = 10 / 9
# Half or double time is nearer beyond the square root of two, and no key is further than six semitones.
MOST_RATIO = 1.5
# One trip tells enough of a loop that would suffer beyond this only.
FAR_FROM_IT = 1.84
LONGEST_SECONDS, MOST_SECONDS = 12.0, 120
STEP_PERCENT = 5


def limits_of(loop: Samples, rate_hz: int) -> Limits:
    """Learn a loop's limits.

    Parameters
    ----------
    loop : float32 array, shape (frames, 2), from the first downbeat to the last bar's end; its first 12 seconds count
    rate_hz : int > 0

    Returns
    -------
    all four of them; tempos in steps of 5 percent
    """
    ratio = max(LEAST_RATIO, _borne(Trips(loop[: round(LONGEST_SECONDS * rate_hz)], rate_hz)))
    semitones = int(12 * math.log2(ratio) + 0.1)
    return Limits(_steps(1 - 1 / ratio), _steps(ratio - 1), semitones, semitones)


def learnt(found: Measured) -> Measured:
    """Add its limits to what was measured of a file; what is no loop stays as it is."""
    meter = parse_meter(found.time or "")
    if found.tempo_bpm is None or found.bars is None or meter is None:
        return found
    try:
        sound = read_sound(found.path, MOST_SECONDS)
    except UnreadableSoundError:  # it has gone since it was measured
        return found
    start = round((found.first_downbeat_seconds or 0) * sound.rate_hz)
    frames = round(found.bars * meter.bar_seconds(Fraction(found.tempo_bpm)) * sound.rate_hz)
    loop = sound.samples[start : start + frames]
    if not loop.any():
        return found
    loop = np.pad(loop, ((0, frames - len(loop)), (0, 0)))
    return replace(found, limits=limits_of(loop, sound.rate_hz))


def _steps(share: float) -> int:
    """Give percents, rounded down to a step, unless the next is as near as half a percent."""
    return STEP_PERCENT * int((100 * share + 0.5) / STEP_PERCENT)


class Trips:
    """A loop sent there and back."""

    def __init__(self, loop: Samples, rate_hz: int) -> None:
        self._loop, self._rate_hz = loop, rate_hz
        self._before = mel_powers(loop, rate_hz)
        self._made: dict[float, float] = {}

    def harm_db(self, ratio: float) -> float:
        """Tell how much more a loop suffers from so many times longer and shorter than from next to none."""
        return self.unlike_db(ratio) - self.unlike_db(NEXT_TO_NONE_RATIO)

    def unlike_db(self, ratio: float) -> float:
        """Tell how unlike itself a loop comes back, mean of both ways."""
        if ratio not in self._made:
            frames = len(self._loop)
            self._made[ratio] = (self._trip_db(round(frames * ratio)) + self._trip_db(round(frames / ratio))) / 2
        return self._made[ratio]

    def _trip_db(self, frames: int) -> float:
        there = fit_loop(self._loop, self._rate_hz, max(1, frames))
        return distance_db(self._before, mel_powers(fit_loop(there, self._rate_hz, len(self._loop)), self._rate_hz))


def _borne(trips: Trips) -> float:
    """Find the ratio at which a loop begins to suffer: harm grows about evenly with the logarithm of the ratio."""
    if _where_it_suffers(FIRST_RATIO, trips.unlike_db(FIRST_RATIO)) > FAR_FROM_IT:
        return MOST_RATIO
    first_db = trips.harm_db(FIRST_RATIO)
    guess = _where_it_suffers(FIRST_RATIO, first_db)
    if guess > FAR_FROM_IT:
        return MOST_RATIO
    second = min(MOST_RATIO, max(LEAST_RATIO, guess))
    (low, low_db), (high, high_db) = sorted([(FIRST_RATIO, first_db), (second, trips.harm_db(second))])
    if low_db >= SUFFERS_DB:
        return _where_it_suffers(low, low_db)
    if high_db <= SUFFERS_DB:
        return min(MOST_RATIO, _where_it_suffers(high, high_db))
    return float(low * (high / low) ** ((SUFFERS_DB - low_db) / (high_db - low_db)))


def _where_it_suffers(ratio: float, harm_db: float) -> float:
    return float(ratio ** min(8.0, SUFFERS_DB / max(harm_db, 1e-3)))
