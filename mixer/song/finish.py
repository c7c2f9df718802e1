"""A mix becomes a song: as loud as songs are delivered, with no peak above the ceiling, in bounded memory.

What goes in: a mix that can be gone through any number of times. What comes out: what was measured and decided
(`Finished`), and the finished sound block by block, float32, before dither.

One pass surveys the mix (`survey`). From that alone the gain is found, with the limiter's curve and what the limiter
takes from the loudness (`outlook`). The second pass, as often as asked for, turns the sound up and along the curve; it
is gone through once more than asked for where the limiter takes so much that foreseeing the loudness is not enough.
What is kept between the passes is 2 bytes for 16 frames and 4 bytes for about 48: 0.6 MB a minute.

Delivery: -16 LUFS (AES TD1008, 2021, music, within 0.2 LU) and at most -1 dBTP. A mix that would have to be limited
deeply or often to get there stays as loud as it gets without. A mix with nothing louder than -70 LUFS is silence to the
standard, and stays as it is unless it has peaks above the ceiling. One shorter than 0.4 s, which the standard does not
measure, is taken as if silence followed it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from mixer.record import record, replace
from mixer.signal.limiter import MARGIN_DB, Steps, apply_curve
from mixer.signal.loudness import LoudnessMeter
from mixer.signal.truepeak import CELL_FRAMES, decibels
from mixer.song.outlook import Limiting, Outlook, curve, outlook
from mixer.song.survey import Mix, Survey, resolve_peaks, silence_after, survey

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from mixer.signal.blocks import Samples

__all__ = ["CEILING_DBTP", "TARGET_LUFS", "Finished", "Limiting", "Mix", "finish"]

TARGET_LUFS = -16.0
CEILING_DBTP = -1.0
GREATEST_GAIN_DB = 40.0
"""A mix so quiet that it would need more is nearly silence; turning that up brings up little but its noise."""
TOLERANCE_LU = 0.2
"""AES TD1008 speaks of 0.2 LU around the target."""
CLOSE_LU = 0.015
TRUSTED_LOSS_LU = 0.1
"""Where the limiter takes more than this from the loudness, what comes out is measured instead of foreseen. What is
foreseen was off by up to a fifth of what the limiter took, most for rumble, which the standard hardly hears."""
ROUNDS = 8
RESOLVE_MARGIN_DB = 1.0


@record
class Finished:
    """The finished song.

    Attributes
    ----------
    gain_db : what the mix was turned up by, a multiple of 0.01 dB
    loudness_lufs : integrated loudness of what comes out; None for silence (nothing louder than -70 LUFS)
    true_peak_dbtp : true peak of what comes out; None where every sample is zero
    limited : where the limiter worked, and how much
    as_near_as_allowed : the loudness asked for was not reached, since that would have taken too much limiting or gain
    """

    gain_db: float
    loudness_lufs: float | None
    true_peak_dbtp: float | None
    limited: Limiting
    as_near_as_allowed: bool
    _mix: Mix
    _survey: Survey
    _ceiling_dbtp: float

    def blocks(self) -> Iterator[Samples]:
        """The finished sound, float32 before dither, shape (frames, 2) each; as often as wanted, the same each time."""
        factor = np.float32(10 ** (self.gain_db / 20))
        values = _CurveReader(curve(self._survey, self.gain_db, self._ceiling_dbtp))
        at = 0
        for block in self._mix.blocks():
            out = block * factor
            apply_curve(out, values.read(at, at + len(out)), at % CELL_FRAMES)
            at += len(out)
            yield out


class _CurveReader:
    """Gives the curve's values for one block after another."""

    def __init__(self, pieces: Iterator[Steps]) -> None:
        self._pieces = pieces
        self._values = np.zeros(0, np.int32)
        self._first = 0

    def read(self, start_frame: int, end_frame: int) -> Steps:
        """Values at the borders of all cells that these frames touch."""
        first, last = start_frame // CELL_FRAMES, -(-end_frame // CELL_FRAMES)
        self._values = self._values[first - self._first :]
        self._first = first
        while len(self._values) <= last - first:
            self._values = np.concatenate([self._values, next(self._pieces)])
        return self._values[: last - first + 1]


def finish(
    mix: Mix,
    target_lufs: float = TARGET_LUFS,
    ceiling_dbtp: float = CEILING_DBTP,
    measure: Callable[[Mix, float], Survey] = survey,
) -> Finished:
    """Bring a mix to its loudness, under the ceiling.

    Parameters
    ----------
    mix : the unfinished song, see `Mix`
    target_lufs : float, integrated loudness asked for
    ceiling_dbtp : float, the true peak that is allowed
    measure : surveys the mix, as `survey` does

    Returns
    -------
    Finished : what was decided; its `blocks()` give the sound

    Raises
    ------
    ValueError : if the mix holds values that are not finite numbers, or is not as long as it says
    """
    found = measure(mix, ceiling_dbtp - target_lufs)
    gain_db, coming = _decide(found, target_lufs, ceiling_dbtp)
    needed = _resolved_from(gain_db, ceiling_dbtp)
    if found.resolved_above > needed:
        levels, peak, resolved_above = resolve_peaks(mix, needed * 10 ** (-RESOLVE_MARGIN_DB / 20))
        found = replace(found, levels=levels, peak=peak, resolved_above=resolved_above)
        gain_db, coming = _decide(found, target_lufs, ceiling_dbtp)
    done = Finished(
        gain_db,
        _or_none(coming.loudness_lufs),
        _or_none(coming.true_peak_dbtp),
        coming.limiting,
        as_near_as_allowed=False,
        _mix=mix,
        _survey=found,
        _ceiling_dbtp=ceiling_dbtp,
    )
    if found.loudness_lufs() + gain_db - coming.loudness_lufs > TRUSTED_LOSS_LU:
        done = replace(done, loudness_lufs=_or_none(_measured(done)))
    too_low = done.loudness_lufs is not None and done.loudness_lufs < target_lufs - TOLERANCE_LU
    return replace(done, as_near_as_allowed=too_low)


def _or_none(level: float) -> float | None:
    return level if np.isfinite(level) else None


def _measured(done: Finished) -> float:
    """Integrated loudness of what comes out, taken from the sound itself."""
    found = done._survey  # noqa: SLF001 - what is kept for its blocks is of no use to others
    meter = LoudnessMeter(found.rate_hz)
    for block in done.blocks():
        meter.feed(block)
    meter.feed(silence_after(found.length_frames, found.rate_hz))
    return meter.integrated_lufs()


def _resolved_from(gain_db: float, ceiling_dbtp: float) -> float:
    """The level in the mix (linear) that comes out at the ceiling."""
    return float(10 ** ((ceiling_dbtp - MARGIN_DB - gain_db) / 20))


def _decide(found: Survey, target_lufs: float, ceiling_dbtp: float) -> tuple[float, Outlook]:
    """The gain, in whole 0.01 dB, and what comes of it."""
    loudness = found.loudness_lufs()
    gain_db = _rounded(min(target_lufs - loudness, GREATEST_GAIN_DB)) if np.isfinite(loudness) else 0.0
    coming = outlook(found, gain_db, ceiling_dbtp)
    if not np.isfinite(loudness):
        return gain_db, coming
    for _ in range(ROUNDS):
        if not coming.limiting.is_sensible:
            return _greatest_sensible(found, gain_db, ceiling_dbtp)
        missing = target_lufs - coming.loudness_lufs
        if abs(missing) <= CLOSE_LU or gain_db + missing > GREATEST_GAIN_DB:
            break
        gain_db = _rounded(gain_db + missing)
        coming = outlook(found, gain_db, ceiling_dbtp)
    return gain_db, coming


def _greatest_sensible(found: Survey, too_much_db: float, ceiling_dbtp: float) -> tuple[float, Outlook]:
    """The greatest gain below `too_much_db` with which the limiting is sensible, by halving."""
    high = round(100 * too_much_db)
    low = min(high - 1, int(np.floor(100 * (ceiling_dbtp - MARGIN_DB - decibels(found.peak)))))
    while high - low > 1:
        middle = (high + low) // 2
        if outlook(found, middle / 100, ceiling_dbtp).limiting.is_sensible:
            low = middle
        else:
            high = middle
    return low / 100, outlook(found, low / 100, ceiling_dbtp)


def _rounded(gain_db: float) -> float:
    return round(gain_db, 2)
