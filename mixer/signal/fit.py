"""A loop fitted to another length and pitch: what lets any loop be used at the song's tempo and in its key.

In goes a circular loop (its end joins its start), float32, shape (frames, 2); out comes the same sound, circular, at
exactly the length asked for. How it is done depends on what the loop is made of, and that is measured from the sound:
no single method suits all (Driedger & Mueller, "A review of time-scale modification of music signals", Applied
Sciences 6(2):57, 2016). Hits and notes (`onsets`, `struck`, `notes`, `new_tones`, `begins`) are cut (`pieces`) and
moved (`slices`), held sound goes through a phase vocoder (`vocoder`), noise in shorter windows (`flatness`); tones
that are held while hits go by are taken out first (`held`). To transpose, the loop is stretched by the pitch ratio
first and resampled after, which keeps the pitch exact.

Deliberately left out: which length and how many semitones; that is arithmetic of music.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mixer.record import replace
from mixer.signal.begins import where_notes_begin
from mixer.signal.blocks import Samples
from mixer.signal.envelope import colour_put_back
from mixer.signal.flatness import is_noise
from mixer.signal.held import HIGHEST_HZ, held_tones, where_tones_begin
from mixer.signal.hits import are_clear, are_hits
from mixer.signal.new_tones import tones_come_later
from mixer.signal.notes import is_line, notes_begin
from mixer.signal.onsets import attack_starts, find_rises
from mixer.signal.pieces import (
    HELD,
    RINGING,
    SHADOW_SECONDS,
    drawn_to,
    more_may_begin,
    piece_kinds,
    piece_kinds_again,
    with_notes,
)
from mixer.signal.resample import resample_loop
from mixer.signal.slices import Known, move_pieces
from mixer.signal.struck import with_struck
from mixer.signal.vocoder import stretch_circle
from mixer.signal.windows import window_for

Frames = NDArray[np.int64]

# Shorter loops than this are too short for windows, and are only resampled.
SHORTEST_FRAMES = 64
# Tones are looked for where so many of the pieces are held to their ends, and taken out if so many hits are left.
LEAST_HELD_SHARE = 0.15
LEAST_HITS = 3
# Tones that begin at more than this share of the hits, and beside which less than this of their power is left, are what
# is struck there. By themselves they would not be cut where a chord that rings is struck again, and come early or late.
OWN_HITS, OWN_REST = 1 / 4, 0.1
# The least rate at which they are looked for: more than three times the highest of them.
TONES_RATE_HZ = 20_000
# What a window holds of a tone reaches so far.
TONES_SPREAD_HZ = 100.0
# A frame too many or too few is spread over the last so many.
SPREAD_FRAMES = 4096


def fit_loop(
    samples: Samples, rate_hz: int, length_frames: int, semitones: float = 0.0, *, keep_colour: bool = False
) -> Samples:
    """The loop at another length, and at another pitch if asked.

    Parameters
    ----------
    samples : float32 array, shape (frames, 2), circular, at least one frame
    rate_hz : int > 0, frames per second
    length_frames : int > 0, the length of the result
    semitones : float, up (positive) or down; each is a frequency ratio of 2**(1/12)
    keep_colour : whether it is a voice, whose colour stays when its pitch moves (see `envelope`)

    Returns
    -------
    float32 array, shape (length_frames, 2), circular; the input itself if neither length nor pitch change

    Raises
    ------
    ValueError
        If the loop is empty or not of shape (frames, 2), or the length is not positive.
    """
    if samples.ndim != 2 or samples.shape[1] != 2 or len(samples) == 0:
        raise ValueError(f"a loop has shape (frames, 2), not {samples.shape}")
    if length_frames < 1:
        raise ValueError(f"a loop cannot be {length_frames} frames long")
    if length_frames == len(samples) and semitones == 0:
        return samples
    alike = np.array_equal(samples[:, 0], samples[:, 1])  # then half of the work is enough
    pitch_ratio = 2 ** (semitones / 12)
    stretched_frames = max(1, round(length_frames * pitch_ratio))
    stretched = _stretch(samples[:, :1] if alike else samples, rate_hz, stretched_frames, pitch_ratio)
    moved = resample_loop(stretched, length_frames)
    if keep_colour and semitones:
        moved = colour_put_back(moved, rate_hz, semitones)
    return np.repeat(moved, 2, axis=1) if alike else moved


def _stretch(samples: Samples, rate_hz: int, length_frames: int, pitch_ratio: float) -> Samples:
    """The loop at another length and its own pitch, which is multiplied afterwards."""
    if length_frames == len(samples):
        return samples
    if min(length_frames, len(samples)) < SHORTEST_FRAMES:
        return resample_loop(samples, length_frames)
    rises, soft = find_rises(samples, rate_hz)
    onsets = attack_starts(samples, rate_hz, rises)
    onsets, kinds = with_struck(samples, rate_hz, onsets, piece_kinds(samples, rate_hz, onsets), soft)
    if kinds.count(HELD) == len(kinds) and is_noise(samples, window_for(rate_hz, len(samples))):
        return stretch_circle(samples, rate_hz, length_frames)  # a drop in the rain is not worth two seams
    more = more_may_begin(samples, rate_hz, onsets, kinds)
    if not more and kinds.count(RINGING) == len(kinds):
        return _at_begins(samples, rate_hz, length_frames, onsets, kinds, Known(pitch_ratio=pitch_ratio))
    lower = _lower(samples, rate_hz)
    cuts, in_line = _notes(samples, lower, rate_hz, onsets, more=more)
    known = Known(line=in_line, pitch_ratio=pitch_ratio)
    kinds = piece_kinds_again(samples, rate_hz, cuts, onsets, kinds)
    # Where most notes begin without an attack there are no hits between them; and nothing is held through a line.
    if kinds.count(HELD) > LEAST_HELD_SHARE * len(kinds) and len(cuts) <= 2 * len(onsets):
        only_line = _is_only_line(lower, rate_hz, onsets) if more else in_line
        apart = None if only_line else _taken_apart(samples, lower, rate_hz, length_frames, onsets, known)
        if apart is not None:
            return apart
    return _at_begins(samples, rate_hz, length_frames, cuts, kinds, known)


def _notes(samples: Samples, lower: Samples, rate_hz: int, onsets: Frames, *, more: bool) -> tuple[Frames, bool]:
    """The onsets, and where else notes begin if more may; and whether there is a line in the loop."""
    every = _every(rate_hz)
    cuts = onsets
    if more:
        begins, in_line = notes_begin(lower, rate_hz // every)
        cuts = with_notes(samples, rate_hz, onsets, begins * every, in_line=in_line)
    else:
        in_line = _is_only_line(lower, rate_hz, onsets)
    return _begins(samples, lower, rate_hz, cuts) if in_line else cuts, in_line


def _is_only_line(lower: Samples, rate_hz: int, onsets: Frames) -> bool:
    every = _every(rate_hz)
    return is_line(lower, rate_hz // every, _scaled(onsets, every))


def _begins(samples: Samples, lower: Samples, rate_hz: int, cuts: Frames) -> Frames:
    """Where the notes of a line begin that were found at these places."""
    every, soft = _every(rate_hz), ~are_hits(samples, rate_hz, cuts)
    begins = cuts.copy()
    begins[soft] += every * tones_come_later(lower, rate_hz // every, cuts[soft] // every)
    return np.unique(begins % len(samples))


def _taken_apart(
    samples: Samples, lower: Samples, rate_hz: int, length_frames: int, onsets: Frames, known: Known
) -> Samples | None:
    """Tones and hits by themselves, if there are both. They are cut where both begin."""
    every = _every(rate_hz)
    low_hz, low_frames = rate_hz // every, len(lower)
    tones = held_tones(lower, low_hz, _scaled(onsets, every))
    if tones is None:
        return None
    rest = samples - _spread(resample_loop(tones, low_frames * every, "HQ"), len(samples))
    hits = _hits(samples, rest, rate_hz, onsets)
    kinds = piece_kinds(rest, rate_hz, hits, rest=True)
    if len(kinds) - kinds.count(HELD) < LEAST_HITS:
        return None
    starts = where_tones_begin(tones, low_hz, _scaled(hits, every))
    if len(starts) > OWN_HITS * len(hits) and np.square(rest).mean() < OWN_REST * np.square(tones).mean():
        return None
    tone_kinds = piece_kinds(tones, low_hz, starts)
    low_frames = -(-length_frames // every)
    low = replace(known, highest_hz=HIGHEST_HZ + TONES_SPREAD_HZ)
    moved = _cut(tones, low_hz, low_frames, starts, tone_kinds, low)
    moved = _spread(resample_loop(moved, low_frames * every, "HQ"), length_frames)
    return move_pieces(rest, rate_hz, length_frames, hits, kinds, replace(known, rest=True)) + moved


def _hits(samples: Samples, rest: Samples, rate_hz: int, onsets: Frames) -> Frames:
    """Where hits begin that are found without the tones: where they are clear with them, as they were found then."""
    clear = onsets[are_clear(samples, rate_hz, onsets)]
    within, frames = SHADOW_SECONDS * rate_hz, len(samples)
    rises = drawn_to(find_rises(rest, rate_hz)[0], clear, within, frames)
    known = np.isin(rises, clear)
    others = attack_starts(rest, rate_hz, rises[~known], rest=True)
    return drawn_to(np.concatenate([rises[known], others]), clear, within, frames)


def _every(rate_hz: int) -> int:
    """Of how many frames one is left where tones are looked for."""
    return max(1, rate_hz // TONES_RATE_HZ)


def _lower(samples: Samples, rate_hz: int) -> Samples:
    """The loop at the rate at which tones are looked for: exactly a fraction of its own, which resamples faster."""
    every = _every(rate_hz)
    low_frames = -(-len(samples) // every)
    return resample_loop(_spread(samples, low_frames * every), low_frames, "HQ")


def _scaled(onsets: Frames, every: int) -> Frames:
    scaled: Frames = np.floor(onsets / every + 0.5).astype(np.int64)
    return scaled


def _spread(samples: Samples, frames: int) -> Samples:
    """A circular loop with a few frames more or fewer, spread over its last tenth of a second: not to be heard."""
    if frames == len(samples):
        return samples
    over = min(SPREAD_FRAMES, frames, len(samples))
    at = frames - over + np.arange(over) * ((over + len(samples) - frames) / over)
    before = np.floor(at).astype(np.int64)
    share = (at - before).astype(np.float32)[:, None]
    last = samples.take(before, axis=0, mode="wrap") * (1 - share)
    last += samples.take(before + 1, axis=0, mode="wrap") * share
    return np.concatenate([samples[: frames - over], last])


def _at_begins(
    samples: Samples, rate_hz: int, length_frames: int, cuts: Frames, kinds: list[int], known: Known
) -> Samples:
    """Cut where the notes begin, with those that were found late."""
    cuts, kinds = where_notes_begin(samples, rate_hz, cuts, kinds, in_line=known.line)
    return _cut(samples, rate_hz, length_frames, cuts, kinds, known)


def _cut(samples: Samples, rate_hz: int, length_frames: int, onsets: Frames, kinds: list[int], known: Known) -> Samples:
    """Cut where there is something to cut at."""
    if len(onsets):
        return move_pieces(samples, rate_hz, length_frames, onsets, kinds, known)
    return stretch_circle(samples, rate_hz, length_frames, known.highest_hz)
