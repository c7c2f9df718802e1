"""Which loops go with a loop, or would go into a song, and why.

The same key is the weakest reason: loops in one key can clash in three of four bars. So chords are compared bar by
bar, as they would be heard; then how far a loop has to be stretched and moved, whether two loops crowd the bass, how
their rhythms lie to each other, and which role is still empty. The order is to choose by ear, and no number is shown.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import field
from fractions import Fraction
from pathlib import Path
from typing import Literal

import numpy as np

from mixer.loops.card import Card
from mixer.loops.measure.hearing import hear
from mixer.material.fit import Fit, Frame
from mixer.material.loop import LONGEST_SECONDS, fit
from mixer.music.chords import Chord, agree, clash, parse_chord
from mixer.recipe.model import Layer, LoopSource
from mixer.record import record
from mixer.signal.files import UnreadableSoundError, read_sound

MOST_BARS = 16
BASS_HZ, BASS_SHARE = 150.0, 0.4
TOGETHER, APART = 0.75, 0.4
NEAR_BEATS = Fraction(1, 10)
DENSE = 2.5  # onsets a beat beyond which everything falls together
PITCHLESS = ("drums", "percussion")
LEAST_STRENGTH = 0.3

Rhythm = Literal["together", "between", ""]


@record
class Heard:
    """What a loop's sound adds to its card.

    Parameters
    ----------
    onsets : where notes begin, as parts of the loop's length, 0 to 1
    low : whether much of it lies in the bass
    """

    onsets: tuple[float, ...]
    low: bool


Listen = Callable[[Card], Heard | None]


@record
class Placed:
    """A loop as it is heard in a song: fitted, its chords moved."""

    name: str
    fit: Fit
    chords: tuple[Chord | None, ...]
    heard: Heard | None


@record
class Bar:
    """Two chords heard in one bar, and how they go together."""

    number: int
    there: Chord
    new: Chord

    @property
    def agrees(self) -> bool:
        """One has all notes of the other."""
        return agree(self.there, self.new)

    @property
    def clashes(self) -> bool:
        """They hurt each other."""
        return clash(self.there, self.new)


@record
class Fits:
    """A loop that might go with what is there, and why.

    Parameters
    ----------
    card : the loop
    fit : how it would be played
    bars : chords against chords, bar by bar; empty where one side has none
    pitchless : it, or what is there, has no pitch that could clash
    same_role : what plays that role already
    crowds : what is strong in the bass already, where this one is too
    rhythm : how its notes lie to what is there
    same_set : it was made to go with what is there
    wrong_time : it is counted otherwise and cannot go with it
    """

    card: Card
    fit: Fit | None
    bars: tuple[Bar, ...] = ()
    pitchless: bool = False
    same_role: tuple[str, ...] = ()
    crowds: tuple[str, ...] = ()
    rhythm: Rhythm = ""
    same_set: bool = False
    wrong_time: bool = False

    @property
    def clashing(self) -> tuple[Bar, ...]:
        """Bars in which chords clash."""
        return tuple(bar for bar in self.bars if bar.clashes)

    @property
    def notes(self) -> tuple[int, int]:
        """How many of the notes of its chords are in what is there too, in whatever bar, and how many it has."""
        there = {note for bar in self.bars for note in bar.there.notes}
        new = {note for bar in self.bars for note in bar.new.notes}
        return len(new & there), len(new)

    @property
    def better_not(self) -> bool:
        """It clashes in half of the bars or more, or cannot be counted with the rest."""
        return self.wrong_time or (2 * len(self.clashing) >= max(1, len(self.bars)) and bool(self.clashing))

    @property
    def stretch(self) -> float:
        """How far it is stretched, as octaves of tempo, without sign."""
        return abs(math.log2(float(self.fit.stretch))) if self.fit else 0.0

    @property
    def stretched_far(self) -> bool:
        """Whether it suffers from how far it is stretched."""
        return self.fit is not None and self.card.limits.stretched_beyond(self.fit.stretch)

    @property
    def moved_far(self) -> bool:
        """Whether it suffers from how far it is transposed."""
        return self.fit is not None and self.card.limits.moved_beyond(self.fit.semitones)

    @property
    def suffers(self) -> bool:
        """Whether it suffers from either."""
        return self.stretched_far or self.moved_far


@record
class There:
    """What is there already: a loop, or the layers of a song."""

    frame: Frame
    placed: tuple[Placed, ...]
    sets: frozenset[str] = field(default_factory=frozenset)


def listen(card: Card) -> Heard | None:
    """Listen to a loop; None where its sound cannot be used."""
    try:
        sound = read_sound(Path(card.path), LONGEST_SECONDS)
    except UnreadableSoundError:
        return None
    start = int(card.downbeat_seconds * sound.rate_hz)
    length = int(card.bars * card.meter.bar_seconds(card.tempo_bpm) * sound.rate_hz)
    samples = sound.samples[start : start + length]
    if len(samples) < 64 or not samples.any():
        return None
    heard = hear(samples, sound.rate_hz)
    strong = heard.onsets[heard.strengths > LEAST_STRENGTH]
    power = np.square(np.abs(np.fft.rfft(samples, axis=0))).sum(axis=1)
    low = power[np.fft.rfftfreq(len(samples), 1 / sound.rate_hz) < BASS_HZ].sum() / max(float(power.sum()), 1e-30)
    share = tuple(float(at) for at in strong * sound.rate_hz / length)
    return Heard(share, card.role not in PITCHLESS and bool(low > BASS_SHARE))


def there_of_loop(card: Card, listening: Listen = listen) -> There:
    """What is there is one loop, at its own tempo and in its own key."""
    frame = Frame(card.tempo_bpm, card.meter, card.key)
    layer = Layer(card.name, LoopSource(card.name))
    return there_of_layers([(layer, card)], frame, listening)


def there_of_layers(layers: Iterable[tuple[Layer, Card]], frame: Frame, listening: Listen = listen) -> There:
    """What is there are the layers of a song, each with its loop's card."""
    placed = tuple(_placed(layer, card, frame, listening) for layer, card in layers if card.meter == frame.meter)
    sets = frozenset(one.fit.card.set for one in placed if one.fit.card.set)
    return There(frame, placed, sets)


def _placed(layer: Layer, card: Card, frame: Frame, listening: Listen) -> Placed:
    fitted = fit(layer, card, frame)
    return Placed(layer.name, fitted, _chords(fitted), listening(card))


def _chords(fitted: Fit) -> tuple[Chord | None, ...]:
    """A loop's chords in the song, two for each of the song's bars; empty where it has none."""
    card = fitted.card
    own = [parse_chord(text) for text in card.chords]
    if not own:
        return ()
    factor = fitted.bars / card.bars
    halves = int(2 * fitted.bars) or 1
    found = [own[int(Fraction(half, 2) / factor) % len(own)] for half in range(halves)]
    return tuple(chord.moved(fitted.semitones) if chord else None for chord in found)


def fitting(there: There, cards: Iterable[Card], listening: Listen = listen) -> list[Fits]:
    """Judge loops against what is there, best first; those that are there already are left out."""
    present = {one.fit.card.path for one in there.placed}
    found = [judged(there, card, listening) for card in cards if card.path not in present]
    return sorted(found, key=lambda one: (one.better_not, _cost(one), one.card.name))


def judged(there: There, card: Card, listening: Listen = listen) -> Fits:
    """Judge one loop against what is there."""
    same_role = tuple(one.name for one in there.placed if one.fit.role == card.role)
    if card.meter != there.frame.meter:
        return Fits(card, None, same_role=same_role, wrong_time=True)
    new = _placed(Layer(card.name, LoopSource(card.name)), card, there.frame, listening)
    low = new.heard is not None and new.heard.low
    return Fits(
        card,
        new.fit,
        bars=_bars(there.placed, new),
        pitchless=card.key is None or all(one.fit.card.key is None for one in there.placed),
        same_role=same_role,
        crowds=tuple(one.name for one in there.placed if low and one.heard is not None and one.heard.low),
        rhythm=_rhythm(there, new),
        same_set=bool(card.set) and card.set in there.sets,
    )


def _bars(placed: Sequence[Placed], new: Placed) -> tuple[Bar, ...]:
    """Chords against chords: of what is there, the harmony counts; without one, the first layer that has chords."""
    with_chords = [one for one in placed if any(one.chords)]
    if not with_chords or not any(new.chords):
        return ()
    there = min(with_chords, key=lambda one: one.fit.role != "harmony").chords
    halves = min(2 * MOST_BARS, math.lcm(len(there), len(new.chords)))
    found: dict[int, Bar] = {}
    for half in range(halves):
        one, other = there[half % len(there)], new.chords[half % len(new.chords)]
        if one and other:
            bar = Bar(half // 2 + 1, one, other)
            known = found.get(bar.number)
            if known is None or (known.agrees and not bar.agrees) or (bar.clashes and not known.clashes):
                found[bar.number] = bar
    return tuple(found.values())


def _rhythm(there: There, new: Placed) -> Rhythm:
    """Whether its notes begin with those of what is there, or between them."""
    beats = there.frame.meter.beats
    one = _beats([placed for placed in there.placed if placed.heard], beats)
    other = _beats([new] if new.heard else [], beats)
    if len(one) < 2 or len(other) < 2:
        return ""
    span = max(one.max(), other.max(), 1.0)
    if len(one) / span > DENSE:
        return ""
    gaps = np.abs(other[:, None] - one[None, :]).min(axis=1)
    share = float((gaps < float(NEAR_BEATS)).mean())
    return "together" if share >= TOGETHER else "between" if share <= APART else ""


def _beats(placed: Sequence[Placed], beats_per_bar: int) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """Beats of the first bars at which something begins."""
    found: list[float] = []
    for one in placed:
        length = float(one.fit.bars) * beats_per_bar
        turns = max(1, round(4 * beats_per_bar / length))
        starts = one.heard.onsets if one.heard else ()
        found += [turn * length + at * length for turn in range(turns) for at in starts]
    return np.array(sorted(at for at in found if at < 4 * beats_per_bar), np.float64)


def _cost(one: Fits) -> float:
    """What speaks against a loop, for the order alone; weights by ear, no source."""
    count = max(1, len(one.bars))
    apart = sum(not bar.agrees for bar in one.bars) / count
    unknown = not one.bars and not one.pitchless
    return (
        2.0 * apart
        + 3.0 * len(one.clashing) / count
        + 0.8 * unknown
        + 4.0 * one.stretch
        + 0.06 * abs(one.fit.semitones if one.fit else 0)
        + 0.9 * (one.stretched_far + one.moved_far)
        + 0.9 * bool(one.same_role)
        + 0.5 * bool(one.crowds)
        - 0.4 * one.same_set
        - 0.1 * (one.rhythm == "between")
    )
