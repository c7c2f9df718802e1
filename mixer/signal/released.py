"""Chords that ring until a key or a string is let go softly: when that is, and how fast they are damped then.

A damper or a finger takes a tenth of a second, and a room answers longer: level alone shows it late or not at all. What
is bright shows it, for the room answers that less, and dies evenly before. In a loop made shorter such a chord was cut
off while it still rang, and the next was not heard as clearly. It has to be let go sooner, and is damped as it was.

What dies by itself loses less and less. What beats comes back.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mixer.signal.pieces import between

Samples = NDArray[np.float32]
Frames = NDArray[np.int64]
Curve = NDArray[np.float64]

# Brightness is told in steps, no lower than so far below a piece's brightest.
STEP_SECONDS, FLOOR = 0.01, 1e-6
# How fast it falls is told over so many steps after each, fewer at the end of a piece; and from its brightest, which is
# no earlier than the second, to there, over so many at least.
MOST_STEPS, LEAST_STEPS, EARLIEST, LEAST_BEFORE = 5, 3, 2, 6
# A chord is let go where it begins to fall by so much more each second, and so many times faster.
LEAST_DB_PER_SECOND, LEAST_TIMES, SLOWEST_DB_PER_SECOND = 75.0, 3.0, 5.0
# That is so many times more than it strays from an even fall before.
LEAST_STRAYS, LEAST_STRAY_DB = 3.0, 0.3
# So many steps later it has fallen by so much, by less where there are fewer, and does not come back.
LATER_STEPS, LATER_DB = 8, 5.0
# The last of a piece may hold the rise of the next.
NEXT_SECONDS = 0.005
# Notes of a loop are let go if so many of them are, and so many at least.
LEAST_SHARE, FEWEST = 0.25, 2
# What is low is as bright once in each of its cycles, which last longer than a step.
LOW_HZ = 300.0
SILENCE = 1e-14


def released_after(samples: Samples, rate_hz: int, starts: Frames, ends: Frames) -> tuple[Frames, float]:
    """After how many frames each piece of a circular loop that rings is let go, and what is usually lost then.

    Parameters
    ----------
    samples : float32 array, shape (frames, channels), circular
    rate_hz : int > 0
    starts, ends : int64 arrays, between which frames each piece lies

    Returns
    -------
    int64 array : frames from the start of each piece, 0 for those that are not let go, or all if too few are
    float : decibels a second, more than was lost before
    """
    after = np.zeros(len(starts), np.int64)
    count = int(len(samples) / (STEP_SECONDS * rate_hz))
    if len(starts) < FEWEST or count < LATER_STEPS:
        return after, 0.0
    step = len(samples) / count
    firsts = np.ceil(starts / step).astype(np.int64)
    counts = ((ends - NEXT_SECONDS * rate_hz) / step).astype(np.int64) - firsts
    rows = np.flatnonzero(counts >= EARLIEST + LEAST_BEFORE + LEAST_STEPS)
    if len(rows) < FEWEST:
        return after, 0.0
    powers = _bright(samples, count).take(firsts[rows, None] + np.arange(counts[rows].max()), mode="wrap")
    falls: list[float] = []
    for row, let_go, fall in zip(*_let_go(powers, counts[rows], step / rate_hz), strict=True):
        number = rows[row]
        start, end = int(starts[number]), int(ends[number])
        if not _is_low(between(samples, start, end), rate_hz):
            after[number] = round((firsts[number] + let_go) * step) - start
            falls.append(fall)
    if len(falls) < max(FEWEST, LEAST_SHARE * len(starts)):
        return np.zeros_like(after), 0.0
    return after, float(np.sort(falls)[len(falls) // 2])


def _is_low(piece: Samples, rate_hz: int) -> bool:
    slope = np.diff(piece, axis=0)
    least = (2 * np.pi * LOW_HZ / rate_hz) ** 2
    return float(np.square(slope).sum()) < least * float(np.square(piece).sum())


def _bright(samples: Samples, count: int) -> Curve:
    """Power of the slope in so many steps round the loop."""
    flat, channels = np.ascontiguousarray(samples).reshape(-1), samples.shape[1]
    slope = np.zeros_like(flat)
    np.subtract(flat[channels:], flat[:-channels], out=slope[channels:])
    edges = np.arange(count) * len(samples) // count * channels
    return np.add.reduceat(np.square(slope, out=slope), edges).astype(np.float64)


def _let_go(powers: Curve, counts: Frames, seconds: float) -> tuple[list[int], list[int], list[float]]:
    """Which rows are let go, at which of their steps, so many seconds long, and by how many decibels a second.

    Of each row the first `counts` are meant.
    """
    steps = np.arange(powers.shape[1])
    meant = steps < counts[:, None]
    floor = FLOOR * np.max(powers, axis=1, where=meant, initial=SILENCE)[:, None]
    levels_db = 10 * np.log10(powers + floor)
    half = steps < counts[:, None] // 2
    brightest = np.maximum(EARLIEST, np.argmax(np.where(half, levels_db, -np.inf), axis=1))[:, None]
    asked = (steps >= brightest + LEAST_BEFORE) & (steps <= counts[:, None] - LEAST_STEPS)
    seen = np.clip(counts[:, None] - steps, LEAST_STEPS, MOST_STEPS)
    before = np.maximum(_falls(levels_db, brightest, steps + 1 - brightest), 0) / seconds
    after = _falls(levels_db, steps[None], seen) / seconds
    more = np.where(asked, (after - before) * seen / MOST_STEPS, 0)
    faster = after >= LEAST_TIMES * np.maximum(before, SLOWEST_DB_PER_SECOND)
    every, best = np.arange(len(powers)), np.argmax(more, axis=1)
    rows = np.flatnonzero((more[every, best] >= LEAST_DB_PER_SECOND) & faster[every, best])
    kept, places, falls = [], [], []
    for row in rows.tolist():
        levels, k = levels_db[row, : counts[row]], int(best[row])
        from_brightest = levels[int(brightest[row, 0]) : min(k + MOST_STEPS, len(levels))]
        knee = int(brightest[row, 0]) + _knee(from_brightest)
        strays = _strays(levels[int(brightest[row, 0]) : knee + 1])
        if _stays(levels, knee) and more[row, k] * MOST_STEPS * seconds > LEAST_STRAYS * strays:
            kept.append(row)
            places.append(knee)
            falls.append(float(more[row, k] * MOST_STEPS / seen[row, k]))
    return kept, places, falls


def _knee(levels_db: Curve) -> int:
    """Which of the levels parts two lines that are nearest to them: an even fall and a faster one."""
    at = np.arange(LEAST_BEFORE, len(levels_db) - LEAST_STEPS + 1)
    steps = np.arange(len(levels_db))
    sums = [np.pad(np.cumsum(each), (1, 0)) for each in (levels_db, levels_db * steps, levels_db**2)]
    errors = np.zeros(len(at))
    for first, last in ((np.zeros_like(at), at + 1), (at, np.full_like(at, len(levels_db)))):
        many = last - first
        total, moment, squares = (each[last] - each[first] for each in sums)
        moment = moment - (first + (many - 1) / 2) * total
        errors += squares - total**2 / many - 12 * moment**2 / (many * (many**2 - 1.0))
    return int(at[np.argmin(errors)])


def _stays(levels_db: Curve, let_go: int) -> bool:
    """Whether it does not come back."""
    steps = min(LATER_STEPS, len(levels_db) - 1 - let_go)
    later_db = float(levels_db[let_go + steps :].max())
    return later_db <= float(levels_db[let_go]) - LATER_DB * steps / LATER_STEPS


def _strays(levels_db: Curve) -> float:
    """How far levels are from the nearest line."""
    fall = float(_falls(levels_db[None], np.zeros((1, 1), np.int64), np.full((1, 1), len(levels_db)))[0, 0])
    return max(LEAST_STRAY_DB, float(np.std(levels_db + fall * np.arange(len(levels_db)))))


def _falls(levels_db: Curve, firsts: Frames, counts: Frames) -> Curve:
    """How much each row loses from step to step in so many from the first on: the slope of the nearest line."""
    steps = np.arange(levels_db.shape[1])
    so_far, weighted = (np.pad(np.cumsum(each, axis=1), ((0, 0), (1, 0))) for each in (levels_db, levels_db * steps))
    shape = np.broadcast_shapes(firsts.shape, counts.shape, (len(levels_db), 1))
    first = np.broadcast_to(firsts, shape)
    last = np.clip(first + counts, 0, len(steps))
    total, moment = (
        np.take_along_axis(each, last, axis=1) - np.take_along_axis(each, first, axis=1) for each in (so_far, weighted)
    )
    many = np.maximum(counts, 2)
    falls: Curve = -12 * (moment - (first + (many - 1) / 2) * total) / (many * (many**2 - 1.0))
    return falls
