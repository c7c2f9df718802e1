"""Loops for drums and percussion: bars written as rows of steps; for each instrument one of several rows is drawn."""

from __future__ import annotations

from fractions import Fraction

from benchmarks.truth.band import Note, Part
from benchmarks.truth.manners import BEATS, Draw, Manner

KICK, SNARE, CLAP, CLOSED, OPEN, RIDE, CRASH = 36, 38, 39, 42, 46, 51, 49
DRUMS: dict[str, tuple[int, tuple[tuple[int, tuple[str, ...]], ...]]] = {
    "rock": (
        4,
        (
            (KICK, ("9.......9.......", "9.....7.9.......|9.......9.7.....", "9.....8...8.....")),
            (SNARE, ("....9.......9...", "....9.......9...|....9.......9..4", "....9..2....9...")),
            (CLOSED, ("7.5.7.5.7.5.7.5.", "7.4.6.4.7.4.6.4.", "6...6...6...6...")),
        ),
    ),
    "sixteenths": (
        4,
        (
            (KICK, ("9.....7.8.......", "9..7....8..7....", "9.......87......|9..6....8.....7.")),
            (SNARE, ("....9.......9...", "....9..2.2..9...", "....9..2....9..2")),
            (CLOSED, ("7354735473547354", "7254625472546254", "6343634363436343")),
        ),
    ),
    "four to the floor": (
        4,
        (
            (KICK, ("9...9...9...9...",)),
            (CLAP, ("....8.......8...", "....8.......8..3", "....7.......7...|....7.......7.6.")),
            (OPEN, ("..6...6...6...6.", "..7...7...7...7.")),
            (CLOSED, ("5.3.5.3.5.3.5.3.", "................", "5243524352435243")),
        ),
    ),
    "half time": (
        4,
        (
            (KICK, ("9.....6.........", "9...............|9.....8.......6.", "9..7............")),
            (SNARE, ("........9.......", "........9.......|........9.....4.")),
            (CLOSED, ("6.4.6.4.6.4.6.4.", "6.4.6.446.4.6.4.", "7.5.7.5.7.557.5.")),
        ),
    ),
    "broken": (
        4,
        (
            (KICK, ("9.9.......98....", "9.......7.9.....|9.9.......9.....", "9..9....9.9.....")),
            (SNARE, ("....9..3.3..9..3", "....9..4....9...|....9..4.4....9.", "....9.....4.9..3")),
            (CLOSED, ("7.6.7.6.7.6.7.6.", "7.5.7.6.7.5.7.5.")),
        ),
    ),
    "ride": (
        3,
        (
            (RIDE, ("7..8.57..8.5", "7..7.47..7.4")),
            (44, ("...7.....7..", "...6.....6..")),
            (KICK, ("4..4..4..4..", "6.........5.|5...........")),
            (SNARE, ("............", ".....3......|........4...")),
        ),
    ),
    "shuffle": (
        3,
        (
            (KICK, ("9.....9.....", "9....79.....", "9..8..9..8..")),
            (SNARE, ("...9.....9..", "...9.....9.3")),
            (CLOSED, ("7.57.57.57.5", "6.46.46.46.4")),
        ),
    ),
    "waltz": (
        4,
        (
            (KICK, ("9...........", "9...........|9.......6...")),
            (SNARE, ("....6...6...", "....7...7...|....7...7.4.", "........7...")),
            (CLOSED, ("6...5...5...", "6.4.5.4.5.4.", "7...6.4.6...")),
        ),
    ),
    "six": (
        3,
        (
            (KICK, ("9.....", "9.6...", "9....6|9.....")),
            (SNARE, ("...9..", "...9..|...9.4")),
            (CLOSED, ("745645", "634534", "6.46.4")),
        ),
    ),
}
PERCUSSION: dict[str, tuple[int, tuple[tuple[int, tuple[str, ...]], ...]]] = {
    "shaker": (4, ((70, ("8354735483547354", "7254725472547254", "8.54735.8.547354")),)),
    "congas": (
        4,
        (
            (62, ("....7.......7...", "...5....8..5....")),
            (63, ("..5...56..5...56", "6...5...6...5...")),
            (64, ("......77......77", "..........7.77..")),
        ),
    ),
    "tambourine": (4, ((54, ("4.4.8.4.4.4.8.4.", "....8.......8...|....8.......8.5.", "5343834353438343")),)),
    "clave": (
        4,
        (
            (75, ("8..8..8...8.8...", "..8.8...8..8..8.")),
            (70, ("5.3.5.3.5.3.5.3.", "................")),
            (56, ("................", "6...5...6...5...", "6.4.5.4.6.4.5.4.")),
        ),
    ),
    "claps": (
        4,
        (
            (39, ("....8.......8...", "....8.......8.6.|....8.......8...")),
            (76, ("6..5..6...5.6...", "7..5..5.7..5..5.")),
        ),
    ),
    "triangle": (
        4,
        (
            (81, ("7...........", "7.......5...")),
            (80, ("....5...5...", "....5.4.....")),
            (54, ("..........5.", "............")),
        ),
    ),
    "six shaker": (3, ((70, ("835735", "745645")), (54, ("......", "...6..")))),
}


def struck(manner: Manner, bars: int, draw: Draw) -> list[Part]:
    steps, lines = (DRUMS if manner.role == "drums" else PERCUSSION)[manner.name]
    notes: list[Note] = []
    for key, choices in lines:
        notes += _grid(choices[draw.randint(len(choices))], steps, key, bars)
    beats = BEATS[manner.time]
    if manner.role == "drums" and bars >= 2 and draw.rand() < 0.5:  # a fill at the end
        start = bars * beats - 1
        notes = [n for n in notes if n.beat < start or n.key == KICK]
        fill = (Fraction(1, 2), Fraction(3, 4)) if steps == 4 else (Fraction(1, 3), Fraction(2, 3))
        notes += [
            Note(start + at, int(draw.choice((38, 45, 48, 43))), 95, Fraction(1, 4)) for at in (Fraction(0), *fill)
        ]
    if manner.role == "drums" and draw.rand() < 0.25:
        notes.append(Note(Fraction(0), CRASH, 100, Fraction(2)))
    kit = int(draw.choice((0, 0, 8, 16, 24, 25, 40))) if manner.role == "drums" else 0
    return [Part(kit, tuple(notes), drums=True)]


def _grid(text: str, steps: int, key: int, bars: int, *, accent: int = 0) -> list[Note]:
    """A bar of steps, again and again: a digit is a hit of that strength, a dot a rest; several bars by `|`."""
    lines = [line.replace(" ", "") for line in text.split("|")]
    notes = []
    for bar in range(bars):
        line = lines[bar % len(lines)]
        beats = Fraction(len(line), steps)
        for step, sign in enumerate(line):
            if sign != ".":
                beat = bar * beats + Fraction(step, steps)
                notes.append(Note(beat, key, min(127, 10 + 13 * int(sign) + accent), Fraction(1, steps)))
    return notes
