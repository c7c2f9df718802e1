"""Notes and hits at another length: the loop is cut at its onsets, and every piece fitted between its new neighbours.

Each piece starts with its attack, sample for sample: it sounds as it was played, only elsewhere. What follows
depends on the piece. A drum or string that rings rings no longer when played slower: such a piece keeps its own
pace, is cut off where the next one comes sooner, and has its tail continued where it comes later (`tails`); its tones
give way slowly (`under`). A held note does last longer: between its attack and its end it is stretched by the vocoder,
and begins and ends at its own pace; if the piece is one note (`notes`), it goes on at its own pace for as long as it
can. A note that is let go before its piece ends is held until then, and dies away after that at its own pace; a string
that is damped rings until then (`damped`), and so does a chord that is let go softly (`released`). Which piece is what:
`pieces`.

Where there are no onsets there is nothing to cut: see `vocoder`.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from mixer.record import record, replace
from mixer.signal.damped import damped_after
from mixer.signal.hits import are_hits
from mixer.signal.lateness import frames_late
from mixer.signal.notes import is_one_note
from mixer.signal.pieces import HELD, RINGING, between
from mixer.signal.released import released_after
from mixer.signal.ringing import Tones, tones_at_end
from mixer.signal.tails import continued, is_long, rung_on
from mixer.signal.under import is_heard, ring_under
from mixer.signal.vocoder import stretch_piece

Samples = NDArray[np.float32]
Frames = NDArray[np.int64]
Curve = NDArray[np.float64]

# Before an attack the old piece gives way to the new one over this long: soon where it rings, so that nothing is heard
# twice; slowly where it is held, since its phases are no longer those of the source. What was let go gives way slowly
# too, as all of a line does, but before a hit: where no hit covers it, tones that give way soon are heard to knock.
FADE_SECONDS, SLOW_FADE_SECONDS = 0.005, 0.020
# The very end of a piece may hold the rise of the next attack, which must not be continued.
NEXT_SECONDS = 0.005
# What rings gives way over this long to itself as it was damped.
DAMPED_SECONDS = 0.015
# A held piece keeps its own pace for this long at its start and at its end, or for a third of it if it is short.
OWN_PACE_SECONDS = 0.046
# What is one note from its beginning to its end goes on at its own pace, but for a part towards its end, in which it is
# made so many times shorter or longer.
MOST_SHORTER, MOST_LONGER = 3.0, 2.0
# What is let go loses less than this each second if a key or a hand damps it softly: then it can be damped sooner.
SOFTLY_DB_PER_SECOND = 140.0
# What rang and is let go is damped within so long after that.
LET_GO_SECONDS = 0.15


@record
class Cut:
    """One piece: its frames in the source (`start` to `end`) and in the result (`place` to `until`)."""

    start: int
    end: int
    place: int
    until: int

    @property
    def least_frames(self) -> int:
        """The shorter of its two lengths."""
        return min(self.end - self.start, self.until - self.place)

    @property
    def longer(self) -> int:
        """By how many frames it is longer in the result."""
        return (self.until - self.place) - (self.end - self.start)


@record
class Known:
    """What is known of a loop that is cut."""

    highest_hz: float = math.inf
    """Above which there is nothing that need be kept where pieces are stretched."""
    rest: bool = False
    """Whether it is what is left where tones were taken out: then it is not asked which ring on."""
    line: bool = False
    """Whether there is a line in it, cut into its notes: then each piece that is held is one note."""
    pitch_ratio: float = 1.0
    """What its pitch is multiplied by afterwards, which divides all times."""
    softly_db_per_second: float = 0.0
    """What is lost more than before where chords that ring are let go softly (`released`); 0 if none are."""


def move_pieces(
    samples: Samples,
    rate_hz: int,
    length_frames: int,
    onsets: Frames,
    kinds: list[int],
    known: Known | None = None,
) -> Samples:
    """A circular loop whose pieces between onsets are fitted into another length.

    Parameters
    ----------
    samples : float32 array, shape (frames, channels), circular
    rate_hz : int > 0
    length_frames : int > 0
    onsets : int64 array, sorted, at least one: where the loop is cut
    kinds : what the pieces are, as `pieces.piece_kinds` tells
    known : what else is known of it

    Returns
    -------
    float32 array, shape (length_frames, channels), circular
    """
    known = known or Known()
    late = frames_late(onsets, len(samples), rate_hz)
    cuts = _cuts(onsets, len(samples), length_frames, (late, late * known.pitch_ratio))
    damped = [0] * len(cuts) if known.rest else _damped(samples, rate_hz, cuts, kinds)
    if not known.rest:
        kinds, known = _released(samples, rate_hz, cuts, kinds, damped, known)
    fades = _fades(samples, rate_hz, cuts, kinds, line=known.line)
    told = [
        _rung(samples, rate_hz, cut, fades[number - 1], rest=known.rest)
        if kinds[number] == RINGING and not damped[number]
        else None
        for number, cut in enumerate(cuts)
    ]
    out = np.zeros((length_frames, samples.shape[1]), np.float32)
    for number, cut in enumerate(cuts):
        lead, fade = fades[number - 1], fades[number]
        if damped[number]:
            piece = _until_damped(samples, rate_hz, cut, lead, damped[number])
        else:
            piece = _fitted(samples, rate_hz, cut, (lead, fade), kinds[number], told[number], known)
        rung = told[number - 1]
        if rung is not None:
            since = between(samples, cut.start - round(NEXT_SECONDS * rate_hz), cut.start)
            ring_under(piece, lead, rung[0], since, cuts[number - 1].longer, rate_hz)
        piece[:lead] *= _rise(lead)
        piece[-fade:] *= np.sqrt(_rise(fade)[::-1]) if kinds[number] == HELD else _rise(fade)[::-1]
        _lay(out, piece, (cut.place - lead) % length_frames)
    return out


def _lay(out: Samples, piece: Samples, at: int) -> None:
    """Add a piece to a circle from frame `at` on, round and round if it is longer."""
    done = 0
    while done < len(piece):
        count = min(len(piece) - done, len(out) - at)
        out[at : at + count] += piece[done : done + count]
        done += count
        at = 0


@lru_cache(maxsize=64)
def _rise(frames: int) -> Samples:
    rise = np.square(np.sin(np.pi / 2 * (np.arange(frames) + 0.5) / frames)).astype(np.float32)
    rise.flags.writeable = False
    return rise[:, None]


def _fades(samples: Samples, rate_hz: int, cuts: list[Cut], kinds: list[int], *, line: bool) -> list[int]:
    """How long before its end each piece begins to give way."""
    slowly = np.array([kind != RINGING or line for kind in kinds])
    asked = np.flatnonzero(slowly & (np.array(kinds) != HELD))
    slowly[asked] = ~are_hits(samples, rate_hz, np.array([cuts[number].end for number in asked], np.int64))
    seconds = np.where(slowly, SLOW_FADE_SECONDS, FADE_SECONDS).tolist()
    return [max(1, min(round(each * rate_hz), cut.least_frames // 4)) for each, cut in zip(seconds, cuts, strict=True)]


def _cuts(onsets: Frames, frames: int, length_frames: int, late: tuple[int, float]) -> list[Cut]:
    """The pieces and their places: what speaks a little late, in the source and in the result."""
    was, becomes = late
    places = np.floor(becomes + (onsets - was) * (length_frames / frames) + 0.5).astype(np.int64)
    ends = np.append(onsets[1:], onsets[0] + frames)
    untils = np.append(places[1:], places[0] + length_frames)
    return [Cut(*(int(edge) for edge in edges)) for edges in zip(onsets, ends, places, untils, strict=True)]


def _rung(samples: Samples, rate_hz: int, cut: Cut, lead: int, *, rest: bool) -> tuple[Tones, int] | None:
    """The tones in which a piece ends that rings, if they are asked for: to ring on, or to be heard with the next."""
    source = _but_the_next(samples, rate_hz, cut, lead)
    new = between(samples, cut.end, cut.end + len(source))
    long = is_long(cut.until - cut.place + lead - len(source), rate_hz)
    return tones_at_end(source, rate_hz) if long or (not rest and is_heard(source, new, rate_hz)) else None


def _but_the_next(samples: Samples, rate_hz: int, cut: Cut, lead: int) -> Samples:
    """`lead` frames of what comes before, and the piece but for the rise of the next."""
    return between(samples, cut.start - lead, max(cut.end - round(NEXT_SECONDS * rate_hz), cut.start + 1))


def _fitted(
    samples: Samples,
    rate_hz: int,
    cut: Cut,
    fades: tuple[int, int],
    kind: int,
    told: tuple[Tones, int] | None,
    known: Known,
) -> Samples:
    """The first of the fades of what comes before, and the piece fitted as what it is; it gives way over the second."""
    lead, fade = fades
    wanted = cut.until - cut.place + lead
    if kind == HELD:
        source = between(samples, cut.start - lead, cut.end).copy()
        # Cut off, its end would be a knock, which the vocoder spreads over a window before it. So half of its giving
        # way (in decibels) comes before, and half after, since what is spread does not end with it.
        source[-fade:] *= np.sqrt(_rise(fade)[::-1])
        return _stretched(source, rate_hz, *_held(source, rate_hz, wanted, lead, line=known.line), known.highest_hz)
    source = _but_the_next(samples, rate_hz, cut, lead)
    if kind < RINGING and known.softly_db_per_second and cut.longer < 0:
        return _let_go_sooner(source, wanted, rate_hz, cut, lead, -kind, known.softly_db_per_second)
    if kind != RINGING:
        ratio = (cut.until - cut.place) / (cut.end - cut.start)
        curves = _until_let_go(source, rate_hz, abs(kind), ratio, lead, line=known.line)
        source = _stretched(source, rate_hz, *curves, known.highest_hz)
    if kind == RINGING and is_long(wanted - len(source), rate_hz):
        return rung_on(source, wanted, rate_hz, told)
    return _as_long(source, wanted, rate_hz)


def _damped(samples: Samples, rate_hz: int, cuts: list[Cut], kinds: list[int]) -> list[int]:
    """After how many frames each piece that rings is damped; 0 for those that are not."""
    kind = np.array(kinds, np.int64)
    starts, ends = (np.array([getattr(cut, edge) for cut in cuts], np.int64) for edge in ("start", "end"))
    ends -= round(NEXT_SECONDS * rate_hz)
    damped = np.zeros(len(cuts), np.int64)
    rings, let_go = kind == RINGING, kind < RINGING
    damped[rings] = damped_after(samples, rate_hz, starts[rings], ends[rings])
    if let_go.any():
        until = np.minimum(ends, starts - kind + round(LET_GO_SECONDS * rate_hz))[let_go]
        among = int(np.count_nonzero(~rings & (kind != HELD)))
        damped[let_go] = damped_after(samples, rate_hz, starts[let_go], until, LET_GO_SECONDS, among)
    return [int(after) for after in damped]


def _released(
    samples: Samples, rate_hz: int, cuts: list[Cut], kinds: list[int], damped: list[int], known: Known
) -> tuple[list[int], Known]:
    """What the pieces are, with those that are let go while they ring; and how fast that damps them, if softly."""
    asked = [number for number, kind in enumerate(kinds) if kind <= RINGING and not damped[number]]
    starts, ends = (np.array([getattr(cuts[number], edge) for number in asked], np.int64) for edge in ("start", "end"))
    after, db_per_second = released_after(samples, rate_hz, starts, ends)
    let_go = dict(zip(asked, (-after).tolist(), strict=True))
    softly = db_per_second if db_per_second < SOFTLY_DB_PER_SECOND else 0.0
    kinds = [((kind == RINGING or softly) and let_go.get(number)) or kind for number, kind in enumerate(kinds)]
    return kinds, replace(known, softly_db_per_second=softly)


def _let_go_sooner(
    source: Samples, wanted: int, rate_hz: int, cut: Cut, lead: int, let_go: int, db_per_second: float
) -> Samples:
    """`lead` frames and a piece that rings as it did, but is let go sooner: there it is damped as it was."""
    out = _as_long(source, wanted, rate_hz)
    sooner = round(let_go * (cut.until - cut.place) / (cut.end - cut.start))
    over = np.clip(np.arange(wanted) - lead - sooner, 0, let_go - sooner)
    out *= (10 ** (-db_per_second / 20 / rate_hz * over)).astype(np.float32)[:, None]
    return out


def _until_damped(samples: Samples, rate_hz: int, cut: Cut, lead: int, damped: int) -> Samples:
    """`lead` frames of what comes before, and a piece that rings until it is damped: then too, and in the same way."""
    until, after = cut.start + damped, round(damped * (cut.until - cut.place) / (cut.end - cut.start))
    wanted = cut.until - cut.place - after
    fade = min(round(DAMPED_SECONDS * rate_hz), wanted)
    ringing = _as_long(between(samples, cut.start - lead, until), lead + after + fade, rate_hz)
    ringing[-fade:] *= _rise(fade)[::-1]
    silent = _as_long(between(samples, until, cut.end - round(NEXT_SECONDS * rate_hz)), wanted, rate_hz)
    silent[:fade] *= _rise(fade)
    silent[:fade] += ringing[-fade:]
    return np.concatenate([ringing[:-fade], silent])


def _as_long(source: Samples, wanted: int, rate_hz: int) -> Samples:
    """A sound that rings, cut off or its tail continued."""
    return source[:wanted].copy() if wanted <= len(source) else continued(source, wanted, rate_hz)


def _held(source: Samples, rate_hz: int, wanted: int, lead: int, *, line: bool) -> tuple[Curve, Curve]:
    """Where which of the frames is heard: `lead` frames and a piece at its own pace at both ends, stretched between."""
    frames = len(source)
    own = min(round(OWN_PACE_SECONDS * rate_hz) + lead, min(frames, wanted) // 3)
    first = _own_pace(source[lead:], rate_hz, own, frames - own, wanted - frames, line=line)
    at_output = np.array([0, first, wanted - own, wanted], np.float64)
    return at_output, np.array([0, first, frames - own, frames], np.float64)


def _own_pace(piece: Samples, rate_hz: int, least: int, until: int, longer: int, *, line: bool) -> int:
    """How far a note goes on at its own pace that has to be so much longer at frame `until`."""
    changed = longer / (MOST_LONGER - 1) if longer > 0 else -longer / (1 - 1 / MOST_SHORTER)
    first = until - math.ceil(changed)
    return first if first > least and (line or is_one_note(piece, rate_hz)) else least


def _until_let_go(
    source: Samples, rate_hz: int, let_go: int, ratio: float, lead: int, *, line: bool
) -> tuple[Curve, Curve]:
    """The same, but stretched only until the note is let go, and at its own pace from there."""
    held, stretched = let_go + lead, round(let_go * ratio) + lead
    own = min(round(OWN_PACE_SECONDS * rate_hz) + lead, min(held, stretched) // 2)
    first = _own_pace(source[lead:held], rate_hz, own, held, stretched - held, line=line)
    at_output = np.array([0, first, stretched, stretched + len(source) - held], np.float64)
    return at_output, np.array([0, first, held, len(source)], np.float64)


def _stretched(source: Samples, rate_hz: int, at_output: Curve, at_source: Curve, highest_hz: float) -> Samples:
    """Stretched by the vocoder, but for the first stretch, which is copied and gives way at its end."""
    own = int(at_output[1])
    fade = min(round(OWN_PACE_SECONDS * rate_hz), own) // 2
    piece = stretch_piece(source, rate_hz, at_output, at_source, highest_hz)
    rise = _rise(fade)
    piece[: own - fade] = source[: own - fade]
    piece[own - fade : own] = source[own - fade : own] * rise[::-1] + piece[own - fade : own] * rise
    return piece
