"""How tempo, mode, register and density are often heard; told only when it is asked for, beside the maker's own words.

Sources, from memory: K. Hevner, American Journal of Psychology 48 (1936) and 49 (1937); A. Gabrielsson and E. Lindström
in the Handbook of Music and Emotion (2010). They asked listeners who grew up with European and American music; that
others may hear otherwise is part of what is told. The limits between the words are common practice, no source.
"""

from __future__ import annotations

from typing import Literal

from mixer.coach.energy import Energy
from mixer.song.plan import Plan
from mixer.words.english import mood as words

Size = Literal["low", "middle", "high"]

SLOW_BPM, FAST_BPM = 84, 120
LOW_BANDS, HIGH_BANDS = 8.5, 10.5
"""Where in the 24 critical bands the middle of the sound lies."""
SPARSE_HZ, DENSE_HZ = 3.0, 6.5
"""Onsets a second."""


def mood(plan: Plan, energy: Energy) -> tuple[str, ...]:
    """Tell how a song's means are often heard; nothing of a silent song."""
    heard = [bar for bar in energy.detail if bar.energy > 0]
    if not heard:
        return ()
    whole = sum(bar.energy for bar in heard)
    brightness = sum(bar.energy * bar.brightness for bar in heard) / whole
    density_hz = sum(bar.onsets for bar in heard) / len(heard) / float(plan.frame.bar_seconds)
    told = [words.tempo(_size(float(plan.frame.tempo_bpm), SLOW_BPM, FAST_BPM))]
    key = plan.frame.key
    if key is not None and any(part.fit.card.key is not None for part in plan.parts if part.cues):
        told.append(words.mode(key.mode))
    told.append(words.register(_size(brightness, LOW_BANDS, HIGH_BANDS)))
    told.append(words.density(_size(density_hz, SPARSE_HZ, DENSE_HZ)))
    own = [plan.recipe.about, *dict.fromkeys(section.meant for section in plan.recipe.sections)]
    return (words.WHO, *told, words.own([text for text in own if text]))


def _size(value: float, low: float, high: float) -> Size:
    return "low" if value < low else "high" if value > high else "middle"
