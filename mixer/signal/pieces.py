"""The pieces of a loop between its onsets, and what each of them is: what rings, what is held, what is let go.

That is told from the sound of each piece alone. What rings has been dying away all along since its attack; what is held
has not; a note is let go where it begins to fall much faster than before.

What becomes of them at another length: see `slices`.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from mixer.signal.notes import is_one_note
from mixer.signal.windows import WINDOW_SECONDS

Samples = NDArray[np.float32]
Frames = NDArray[np.int64]

# A piece that loses at least so much each second, and never comes back by more than that, rings; others are held.
RINGING_DB_PER_SECOND = 4.0
COMES_BACK_DB = 6.0
# Longer than this it loses for such a share of the time; what beats or trembles falls about half of it.
LONG_SECONDS = 1.0
FALLING_SHARE = 0.7
LEVEL_SECONDS = 0.03
# A note is let go where, after so long, it begins to lose so much each second, and so many times more than before, and
# does not come back (a vibrato does).
SHORTEST_NOTE_SECONDS = 0.09
LET_GO_DB_PER_SECOND = 60.0
LET_GO_TIMES = 3.0
LET_GO_LEVELS = 3
# It may be falling for so many levels before; had it been dying away in the half of it before those, it rang.
LET_GO_EARLY_LEVELS = 2
DYING_DB_PER_SECOND = 10.0
# That moment is then told to so long; until then it has lost next to nothing.
KNEE_SECONDS, KNEE_DB = 0.01, 1.5
# Pieces shorter than this hold too few cycles to be stretched, and are treated as ringing.
SHORTEST_HELD_SECONDS = 0.05
# Where tones were taken out, half of the windows in which they were found reaches so far before an onset.
SHADOW_SECONDS = WINDOW_SECONDS / 2
# A hit brings new tones too, and has its onset: so near to one nothing else begins.
ALONE_SECONDS = 0.1
# What a piece is; any other number is after how many frames its note is let go, negative if it rang until then.
RINGING, HELD = -1, 0


def piece_kinds(samples: Samples, rate_hz: int, onsets: Frames, *, rest: bool = False) -> list[int]:
    """What each piece between onsets is: `RINGING`, `HELD`, or after how many frames its note is let go.

    That is negative where it rang until then.

    Parameters
    ----------
    samples : float32 array, shape (frames, channels), circular
    rate_hz : int > 0
    onsets : int64 array, sorted; there may be none
    rest : whether it is what is left of a loop from which tones were taken. Those leave a faint shadow before each
        onset: what is held only with that was dying away.
    """
    ends = _ends(samples, onsets)
    kinds = [_kind(between(samples, *each), rate_hz) for each in ends]
    if not rest:
        return kinds
    shadow = round(SHADOW_SECONDS * rate_hz)
    return [
        _kind(between(samples, start, max(end - shadow, (start + end) // 2)), rate_hz) if kind == HELD else kind
        for kind, (start, end) in zip(kinds, ends, strict=True)
    ]


def piece_kinds_again(samples: Samples, rate_hz: int, onsets: Frames, before: Frames, kinds: list[int]) -> list[int]:
    """The same for other onsets than `before`, whose pieces are of these kinds: asked where they are other pieces."""
    known = dict(zip(_ends(samples, before), kinds, strict=True))
    again = _ends(samples, onsets)
    return [known[ends] if ends in known else _kind(between(samples, *ends), rate_hz) for ends in again]


def more_may_begin(samples: Samples, rate_hz: int, onsets: Frames, kinds: list[int]) -> bool:
    """Whether there are no onsets, or a long piece that is not one note."""
    least = {kind: (2 if kind == HELD else 3) * ALONE_SECONDS * rate_hz for kind in set(kinds)}
    pieces = zip(_ends(samples, onsets), kinds, strict=True)
    long = [(start, end) for (start, end), kind in pieces if end - start > least[kind]]
    return not (kinds and all(is_one_note(between(samples, *ends), rate_hz) for ends in long))


def with_notes(samples: Samples, rate_hz: int, onsets: Frames, begins: Frames, *, in_line: bool = False) -> Frames:
    """The onsets, and where else a note begins that is alone until the next; sorted.

    Arguments as for `piece_kinds`; `begins` is where notes may begin that have no attack.
    """
    every = np.sort(np.concatenate([onsets, far_from(onsets, begins, rate_hz, len(samples))]))
    pieces = _ends(samples, every)
    kept = [at for at, end in pieces if in_line or at in onsets or is_one_note(between(samples, at, end), rate_hz)]
    return np.array(kept, np.int64)


def far_from(onsets: Frames, places: Frames, rate_hz: int, frames: int) -> Frames:
    """Those of the places, in a circle of so many frames, that are no part of an onset."""
    apart = (places[:, None] - onsets) % frames
    far: Frames = places[(np.minimum(apart, frames - apart) > ALONE_SECONDS * rate_hz).all(axis=1)]
    return far


def drawn_to(onsets: Frames, places: Frames, within_frames: float, frames: int) -> Frames:
    """The onsets, in a circle of so many frames, each moved to the nearest of the places if that is so near; sorted."""
    if len(onsets) == 0 or len(places) == 0:
        return onsets
    apart = (places - onsets[:, None] + frames // 2) % frames - frames // 2
    nearest = np.argmin(np.abs(apart), axis=1)
    near = np.abs(apart[np.arange(len(onsets)), nearest]) < within_frames
    drawn: Frames = np.array(sorted(set(np.where(near, places[nearest], onsets).tolist())), np.int64)
    return drawn


def between(samples: Samples, start: int, end: int) -> Samples:
    """Not to be written to: it is copied only where it goes round the join."""
    if start >= 0 and end <= len(samples):
        return samples[start:end]
    return samples.take(np.arange(start, end), axis=0, mode="wrap")


def _ends(samples: Samples, onsets: Frames) -> list[tuple[int, int]]:
    """Between which frames each piece lies."""
    return list(zip(onsets.tolist(), np.append(onsets[1:], onsets[:1] + len(samples)).tolist(), strict=True))


def _kind(source: Samples, rate_hz: int) -> int:
    """`RINGING`, `HELD`, or, for a note that is let go, how many frames after its attack (below 0 if it rang)."""
    if len(source) < SHORTEST_HELD_SECONDS * rate_hz:
        return RINGING
    levels_db = _levels_db(source, rate_hz)
    let_go = _let_go(levels_db, len(source) / rate_hz / len(levels_db))
    if let_go is not None:
        ends = (round((let_go + more) * len(source) / len(levels_db)) for more in (0, LET_GO_LEVELS))
        after = _knee(source, rate_hz, *ends)
        return -after if _dies(levels_db, let_go, len(source) / rate_hz / len(levels_db)) else after
    return RINGING if _rings(levels_db, len(source) / rate_hz) else HELD


def _let_go(levels_db: NDArray[np.float64], seconds: float) -> int | None:
    """Which of the levels, `seconds` apart, is the last before a fall that is much faster than what was lost so far."""
    loudest = int(np.argmax(levels_db[: len(levels_db) // 2]))
    at = np.arange(max(1, math.ceil(SHORTEST_NOTE_SECONDS / seconds)), len(levels_db) - LET_GO_LEVELS)
    if len(at) == 0:
        return None
    after = (levels_db[at] - levels_db[at + LET_GO_LEVELS]) / LET_GO_LEVELS / seconds
    if not (after > LET_GO_DB_PER_SECOND).any():
        return None
    before = np.maximum(levels_db[loudest] - levels_db[at], 0) / np.maximum(at - loudest, 1) / seconds
    later = np.maximum.accumulate(levels_db[::-1])[::-1][at + LET_GO_LEVELS]
    falls = (after > LET_GO_DB_PER_SECOND) & (after > LET_GO_TIMES * before) & (later < levels_db[at] - COMES_BACK_DB)
    return int(at[np.argmax(np.where(falls, after - before, 0))]) if falls.any() else None


def _dies(levels_db: NDArray[np.float64], let_go: int, seconds: float) -> bool:
    """Whether a note that is let go after so many levels, `seconds` apart, had been dying away until just before."""
    middle, last = let_go // 2, let_go - LET_GO_EARLY_LEVELS
    lost_db = float(levels_db[middle] - levels_db[last])
    dying = last > middle and lost_db > DYING_DB_PER_SECOND * seconds * (last - middle)
    return dying and _rings(levels_db[: let_go + 1], seconds * let_go)


def _knee(source: Samples, rate_hz: int, start: int, end: int) -> int:
    """The frame, between these, at which level begins to fall: where it is furthest above the line from end to end."""
    step = max(1, round(KNEE_SECONDS * rate_hz))
    count = (end - start) // step
    if count < LET_GO_LEVELS:
        return start
    power = np.square(source[start : start + count * step]).reshape(count, -1).sum(axis=1).astype(np.float64)
    levels_db = 10 * np.log10(power + 1e-6 * power.max() + 1e-20)
    above_db = levels_db - np.linspace(levels_db[0], levels_db[-1], count)
    knee = int(np.argmax(np.where(levels_db > levels_db[0] - KNEE_DB, above_db, -np.inf)))
    return start + step * knee + (step // 2 if knee else 0)


def _rings(levels_db: NDArray[np.float64], seconds: float) -> bool:
    """Whether the piece, so many seconds long, has been dying away all along since its attack.

    The usual loss counts, not the whole: a held note that is let go at the end has lost nothing before.
    """
    falling = levels_db[int(np.argmax(levels_db[: len(levels_db) // 2])) :]
    lag = max(1, len(falling) // 4)
    losses_db = np.sort(falling[:-lag] - falling[lag:])
    loss_db = float(losses_db[(len(losses_db) - 1) // 2] + losses_db[len(losses_db) // 2]) / 2
    if seconds > LONG_SECONDS and losses_db[int((1 - FALLING_SHARE) * len(losses_db))] <= 0:
        return False
    comes_back_db = float((falling - np.minimum.accumulate(falling)).max())
    return loss_db > RINGING_DB_PER_SECOND * lag * seconds / len(levels_db) and comes_back_db < COMES_BACK_DB


def _levels_db(source: Samples, rate_hz: int) -> NDArray[np.float64]:
    """Level of equal stretches of the piece, at least four, no lower than 60 dB under the loudest."""
    count = max(4, round(len(source) / (LEVEL_SECONDS * rate_hz)))
    edges = np.arange(count) * len(source) // count * source.shape[1]
    power = np.add.reduceat(np.square(source.reshape(-1)), edges).astype(np.float64)
    levels_db: NDArray[np.float64] = 10 * np.log10(power + 1e-6 * power.max() + 1e-20)
    return levels_db
