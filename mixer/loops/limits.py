"""How far a loop may be stretched and transposed before it suffers: what its card says, or what is usual.

What is usual is common practice, no source. A card says it relative to the loop (so much slower, so many semitones
higher) and not as tempos and keys, so that it stays right when a person corrects the loop's tempo or key.
"""

from __future__ import annotations

from fractions import Fraction

from mixer.record import record

USUAL_STRETCH, USUAL_SEMITONES = Fraction(13, 10), 5


@record
class Limits:
    """What the card of a loop says; None where it says nothing.

    Parameters
    ----------
    slower_percent, faster_percent : of its own tempo
    lower_semitones, higher_semitones : from its own pitch
    """

    slower_percent: int | None = None
    faster_percent: int | None = None
    lower_semitones: int | None = None
    higher_semitones: int | None = None

    def tempos_bpm(self, own_bpm: Fraction) -> tuple[Fraction, Fraction] | None:
        """Slowest and fastest tempo at which a loop of this tempo sounds well; None unless the card says both."""
        if self.slower_percent is None or self.faster_percent is None:
            return None
        return own_bpm * (100 - self.slower_percent) / 100, own_bpm * (100 + self.faster_percent) / 100

    def semitones(self) -> tuple[int, int] | None:
        """How far down and up it sounds well, both counted from 0; None unless the card says both."""
        if self.lower_semitones is None or self.higher_semitones is None:
            return None
        return self.lower_semitones, self.higher_semitones

    def stretched_beyond(self, stretch: Fraction) -> bool:
        """Whether a loop suffers; `stretch` is its length in the song / its own."""
        if stretch > 1:
            most = USUAL_STRETCH if self.slower_percent is None else Fraction(100, 100 - self.slower_percent)
            return stretch > most
        most = USUAL_STRETCH if self.faster_percent is None else Fraction(100 + self.faster_percent, 100)
        return 1 / stretch > most

    def moved_beyond(self, semitones: int) -> bool:
        """Whether a loop suffers from so many semitones up (positive) or down."""
        most = self.higher_semitones if semitones > 0 else self.lower_semitones
        return abs(semitones) > (USUAL_SEMITONES if most is None else most)


NOT_KNOWN = Limits()
