"""A card: what is known of one loop. People write and correct it; the program believes it."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

from mixer.loops.limits import NOT_KNOWN, Limits
from mixer.music.keys import Key
from mixer.music.meter import Meter
from mixer.record import record


@record
class Card:
    """What the catalog says of a loop.

    Parameters
    ----------
    name : under which recipes find it
    path : its sound file
    tempo_bpm, meter, bars : how it is counted
    downbeat_seconds : from the start of the file to bar 1
    key : None for a loop without one (drums, rain)
    chords : one for each bar; empty where there are none
    role : drums, bass, harmony, melody, percussion, voice or background
    limits : how far it may be stretched and transposed before it suffers
    set : loops of one set are made to go together; may be empty
    maker, licence : for the credits; may be empty
    may_be : what the maker says yes to; what is not named must be asked
    checked : what a person has listened to and found right (`# checked` after it), and so is never doubted
    beside_recipe : it lies in a recipe's own folders, so it may be someone's recording, and no copy of it is kept
    """

    name: str
    path: Path
    tempo_bpm: Fraction
    meter: Meter
    bars: int
    role: str
    downbeat_seconds: Fraction = Fraction(0)
    key: Key | None = None
    chords: tuple[str, ...] = ()
    limits: Limits = NOT_KNOWN
    set: str = ""
    maker: str = ""
    licence: str = ""
    may_be: tuple[str, ...] = ()
    checked: frozenset[str] = frozenset()
    beside_recipe: bool = False
