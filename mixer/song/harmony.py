"""Where the chords of two layers clash, bar by bar, as their cards say them and as the song moves them.

A card's chords are what a person vouches for; what is not on a card is not guessed here.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations

from mixer.material.fit import Fit
from mixer.music.chords import Chord, clash, parse_chord
from mixer.record import record
from mixer.song.plan import HeardBar, Part, Plan, heard_bars

Halves = tuple[Chord | None, Chord | None]
Chords = dict[int, tuple[int, Halves]]
"""Of bars of the song, counted from 0: the section, and the chords of the bar's two halves."""


@record
class Clash:
    """A layer whose chords clash with those of others in a section.

    Parameters
    ----------
    new : the later of them in the recipe
    there : names of the others
    section : its name; of several of one name the first in which they clash
    bars : in the section, counted from 1
    pairs : the chords, such as "F over C"
    """

    new: Part
    there: tuple[str, ...]
    section: str
    bars: tuple[int, ...]
    pairs: tuple[str, ...]


def clashes(plan: Plan) -> list[Clash]:
    """Find clashes; layers with which one clashes in the same way are named together, sections of one name once."""
    heard = [(part, _chords(part, plan)) for part in plan.parts if part.fit.card.chords]
    found: dict[tuple[str, str, tuple[int, ...], tuple[str, ...]], Clash] = {}
    for (one, ones), (other, others) in combinations(heard, 2):
        for section, bars in _by_section(ones, others, plan).items():
            numbers, pairs = tuple(bars), tuple(dict.fromkeys(bars.values()))
            known = found.get((other.layer.name, section, numbers, pairs))
            there = (*known.there, one.layer.name) if known else (one.layer.name,)
            found[other.layer.name, section, numbers, pairs] = Clash(other, there, section, numbers, pairs)
    return list(found.values())


def _by_section(ones: Chords, others: Chords, plan: Plan) -> dict[str, dict[int, str]]:
    """The bars of each section, counted from 1, in which two layers clash, with the chords."""
    sections = plan.recipe.sections
    starts = [sum(section.bars for section in sections[:number]) for number in range(len(sections))]
    found: dict[str, dict[int, str]] = {}
    first: dict[str, int] = {}
    for bar in sorted(ones.keys() & others.keys()):
        number, halves = ones[bar]
        name = sections[number].name
        for there, new in zip(halves, others[bar][1], strict=True):
            if there and new and clash(there, new) and first.setdefault(name, number) == number:
                found.setdefault(name, {}).setdefault(bar - starts[number] + 1, f"{new} over {there}")
    return found


def _chords(part: Part, plan: Plan) -> Chords:
    """Of each bar of the song in which a layer is heard: its section, and the chords of the bar's two halves."""
    return {
        bar.song_bar: (bar.section, _halves(bar, part.fit)) for bar in heard_bars(part.layer, part.fit, plan.recipe)
    }


def _halves(bar: HeardBar, fit: Fit) -> Halves:
    first, second = (_chord(bar.phase_bars + half, fit) for half in (Fraction(0), Fraction(1, 2)))
    return first, second


def _chord(phase_bars: Fraction, fit: Fit) -> Chord | None:
    """The chord at a place in a loop, moved as the loop is."""
    own_bars = phase_bars * fit.card.bars / fit.bars
    chord = parse_chord(fit.card.chords[int(own_bars) % len(fit.card.chords)])
    return chord.moved(fit.semitones) if chord else None
