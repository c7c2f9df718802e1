"""Where a loop's card says one thing and its sound another: told, with what it would do to the song. The card counts.

Only what was measured surely is set against a card, and only where the loop would drift: the same sound counted in half
as many bars at half the tempo is no contradiction. The program's own loops are held to their cards by its tests.
"""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from mixer.loops.card import Card
from mixer.loops.library import demo_loops_folder
from mixer.music.meter import parse_meter
from mixer.song.plan import Plan
from mixer.words.problem import Place, Problems

if TYPE_CHECKING:
    from mixer.loops.measure.measured import Measured

LEAST_DRIFT = 0.005
"""Half a hundredth: in 16 bars at 120 a beat is off by a third, which anyone hears (common practice, no source)."""
TOLD_AT_BAR = 8


def doubt_cards(plan: Plan, problems: Problems) -> None:
    """Tell loops that are heard in a song and sound as if they had another tempo than their cards say.

    Parameters
    ----------
    plan : the song
    problems : grows
    """
    ours = demo_loops_folder()
    known: dict[Path, Measured] = {}
    for part in plan.parts:
        card = part.fit.card
        if not part.cues or ours in card.path.parents:
            continue
        if card.path not in known:
            from mixer.loops.measure.measured import measure  # noqa: PLC0415 - loads numpy; most songs need none

            known[card.path] = measure(card.path)
        length = _sounding_length(known[card.path])
        if length is None or abs(length / _length(card) - 1) < LEAST_DRIFT:
            continue
        # What the song takes for a bar of the loop lasts longer or shorter in the file.
        early = float(TOLD_AT_BAR * plan.frame.bar_seconds) * (1 - length / _length(card))
        facts = {"name": card.name, "listed": float(card.tempo_bpm), "sounds": known[card.path].tempo_bpm}
        problems.tell(
            "card-tempo", part.layer.at.get("loop", Place(plan.recipe.file)), bar=TOLD_AT_BAR, early=early, **facts
        )


def _length(card: Card) -> float:
    return float(card.bars * card.meter.bar_seconds(card.tempo_bpm))


def _sounding_length(found: Measured) -> float | None:
    """How long the loop lasts by its sound; None where that is not sure."""
    if found.tempo_bpm is None or found.bars is None or not {"tempo_bpm", "bars", "time"} <= set(found.sure):
        return None
    meter = parse_meter(found.time or "")
    return None if meter is None else float(found.bars * meter.bar_seconds(Fraction(found.tempo_bpm)))
