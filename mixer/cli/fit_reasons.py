"""What both ways to ask what fits have in common: each loop is listened to once, and why it fits is said in words."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from mixer.cli.common import Progress
from mixer.words.english import fits as words
from mixer.words.say import printable

if TYPE_CHECKING:
    from mixer.coach.fits import Fits, Heard, There
    from mixer.loops.card import Card

WIDTH = 76


class Listening:
    """Listens to each loop once, and says so where that takes time."""

    def __init__(self) -> None:
        self._heard: dict[Path, Heard | None] = {}
        self._progress = Progress()

    def __call__(self, card: Card) -> Heard | None:
        """Listen to a loop."""
        if card.path not in self._heard:
            from mixer.coach.listened import listen_once  # noqa: PLC0415 - help comes without it

            self._progress(f"{words.LISTENING} {printable(card.name)}", len(self._heard) / max(1, len(self._heard) + 8))
            self._heard[card.path] = listen_once(card)
        return self._heard[card.path]

    def done(self) -> None:
        """Say no more."""
        self._progress.clear()


def reasons(one: Fits, there: There) -> list[str]:
    """Say why a loop goes with what is there, or does not."""
    if one.wrong_time or one.fit is None:
        return [words.wrong_time(str(one.card.meter), str(there.frame.meter))]
    card, fit = one.card, one.fit
    without = words.NO_CHORDS if not one.pitchless else words.NO_PITCH if card.key is None else words.NOTHING_TO_CLASH
    harmony = words.chords(one.bars) if one.bars else without
    stretch, well = float(fit.stretch), card.limits.tempos_bpm(card.tempo_bpm)
    tempos = well and (float(well[0]), float(well[1]))
    counted = fit.bars != card.bars
    return [
        *([words.same_set(card.set)] if one.same_set else []),
        harmony,
        *([words.notes(*one.notes)] if one.notes[0] < one.notes[1] else []),
        *([words.moved(fit.semitones, far=one.moved_far, well=card.limits.semitones())] if fit.semitones else []),
        words.tempo(float(card.tempo_bpm), stretch, far=one.stretched_far, well=tempos),
        *([words.time_change(card.bars, f"{float(fit.bars):g}")] if counted else []),
        words.role(card.role, one.same_role),
        *([words.crowds(one.crowds)] if one.crowds else []),
        *([words.RHYTHM[one.rhythm]] if one.rhythm else []),
    ]
