"""The manners of playing of which loops are composed.

A manner names the tempos at which people play it (common practice, no source), so that a fast loop has fewer notes
to a beat than a slow one, as in a teacher's collection.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

Draw = np.random.RandomState
BEATS = {"4/4": 4, "3/4": 3, "6/8": 2}
"""Beats to a bar, as they are counted (dotted in 6/8)."""


@dataclass(frozen=True)
class Manner:
    """How a role is played: metre, tempos, name, swing in triplets or straight."""

    role: str
    name: str
    time: str
    slowest: int
    fastest: int
    swung: bool = False


MANNERS = (
    Manner("drums", "rock", "4/4", 92, 164),
    Manner("drums", "sixteenths", "4/4", 64, 108),
    Manner("drums", "four to the floor", "4/4", 112, 140),
    Manner("drums", "half time", "4/4", 120, 168),
    Manner("drums", "broken", "4/4", 84, 176),
    Manner("drums", "ride", "4/4", 100, 180, swung=True),
    Manner("drums", "shuffle", "4/4", 80, 132, swung=True),
    Manner("drums", "waltz", "3/4", 90, 180),
    Manner("drums", "six", "6/8", 60, 100),
    Manner("percussion", "shaker", "4/4", 72, 128),
    Manner("percussion", "congas", "4/4", 84, 126),
    Manner("percussion", "tambourine", "4/4", 80, 160),
    Manner("percussion", "clave", "4/4", 90, 150),
    Manner("percussion", "claps", "4/4", 80, 150),
    Manner("percussion", "triangle", "3/4", 84, 160),
    Manner("percussion", "six shaker", "6/8", 60, 104),
    Manner("bass", "eighths", "4/4", 84, 168),
    Manner("bass", "root and fifth", "4/4", 72, 150),
    Manner("bass", "walking", "4/4", 100, 180, swung=True),
    Manner("bass", "syncopated", "4/4", 68, 120),
    Manner("bass", "octaves", "4/4", 110, 140),
    Manner("bass", "waltz", "3/4", 84, 176),
    Manner("bass", "six", "6/8", 60, 100),
    Manner("harmony", "held", "4/4", 60, 140),
    Manner("harmony", "strummed", "4/4", 72, 140),
    Manner("harmony", "broken chords", "4/4", 64, 132),
    Manner("harmony", "stabs", "4/4", 84, 132),
    Manner("harmony", "quarters", "4/4", 72, 152),
    Manner("harmony", "waltz", "3/4", 84, 176),
    Manner("harmony", "six", "6/8", 60, 100),
    Manner("melody", "tune", "4/4", 72, 160),
    Manner("melody", "busy tune", "4/4", 64, 116),
    Manner("melody", "swung tune", "4/4", 84, 168, swung=True),
    Manner("melody", "waltz", "3/4", 84, 168),
    Manner("melody", "six", "6/8", 60, 100),
    Manner("voice", "ooh", "4/4", 66, 132),
    Manner("voice", "waltz", "3/4", 84, 150),
)
