"""Where a loop's card says one thing and its sound, surely, another.

The same sound counted in half as many bars at half the tempo is no contradiction, nor is a card that uses only the
first bars of a longer recording. What a person has checked (`# checked` after the value) is never doubted.
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Literal

from mixer.loops.card import Card
from mixer.loops.measure.facts import Measured
from mixer.music.keys import Key, parse_key
from mixer.music.meter import parse_meter
from mixer.record import record

LEAST_DRIFT = 0.005
"""Half a hundredth: in 16 bars at 120 a beat is off by a third, which anyone hears (common practice, no source)."""


NEARLY_OCTAVE = 0.75
"""Tempos so far apart are more likely counted in half or double time."""


@record
class Doubt:
    """A card that is doubted.

    Parameters
    ----------
    kind : what it is about
    listed, sounds : what the card says, and what it would have to say: beats a minute, bars, or a key (None for none)
    drift : of a tempo, how much longer a bar lasts than the card says, as a part of it
    """

    kind: Literal["tempo", "bars", "key"]
    listed: float | Key | None
    sounds: float | Key | None
    drift: float = 0.0


def doubts(card: Card, found: Measured) -> list[Doubt]:
    """Hold a card against what was measured.

    Parameters
    ----------
    card : what a person, or an earlier measuring, says
    found : what was measured of its file

    Returns
    -------
    what is surely otherwise, and not checked by a person; mostly nothing
    """
    found_doubts = [_count(card, found), _key(card, found)]
    return [each for each in found_doubts if each is not None and each.kind not in card.checked]


def _count(card: Card, found: Measured) -> Doubt | None:
    meter = parse_meter(found.time or "")
    if found.tempo_bpm is None or found.bars is None or meter is None:
        return None
    if not {"tempo_bpm", "bars", "time"} <= set(found.sure):
        return None
    bar, listed_bar = meter.bar_seconds(Fraction(found.tempo_bpm)), card.meter.bar_seconds(card.tempo_bpm)
    share = float(found.bars * bar / (card.bars * listed_bar))
    if abs(share - 1) < LEAST_DRIFT:
        return None
    ratio = float(bar / listed_bar)
    octaves = math.log2(ratio)
    ratio /= 2.0 ** round(octaves) if abs(octaves) > NEARLY_OCTAVE else 1.0
    if abs(ratio - 1) >= LEAST_DRIFT:
        listed = float(card.tempo_bpm)
        return Doubt("tempo", listed, listed / ratio, ratio - 1)
    return Doubt("bars", card.bars, round(card.bars * share, 2)) if share < 1 else None


def _key(card: Card, found: Measured) -> Doubt | None:
    """A key whose notes are others; which of them is the tonic makes no difference to how a loop is moved."""
    if found.key is None or not _is_sure_of_notes(found, found.key):
        return None
    if card.key is not None and card.key.scale_root == found.key.scale_root:
        return None
    return Doubt("key", card.key, found.key)


def _is_sure_of_notes(found: Measured, key: Key) -> bool:
    """Whether the key is sure, or surely this one or the other with the same notes (Am F C G: A minor or C major)."""
    if "key" in found.sure:
        return True
    others = [parse_key(str(other)) for other in found.others.get("key", ())]
    return "chords" in found.sure and all(other is not None and other.scale_root == key.scale_root for other in others)
