"""Composes loops by fixed rules and drawn numbers: every role, several manners of playing each, any key and metre.

A manner names the tempos at which people play it (common practice, no source), so that a fast loop has fewer notes
to a beat than a slow one, as in a teacher's collection.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np

from benchmarks.truth.band import Note, Part

Draw = np.random.RandomState
Chords = list[tuple[int, int, int]]

MAJOR = ((0, 7, 9, 5), (0, 9, 5, 7), (0, 5, 7, 0), (0, 5, 0, 7), (0, 4, 5, 7), (0, 9, 2, 7), (0, 7, 5, 5), (9, 5, 0, 7))
MINOR = ((0, 8, 3, 10), (0, 10, 8, 10), (0, 5, 10, 3), (0, 5, 7, 0), (0, 3, 10, 5), (0, 8, 10, 0), (0, 10, 5, 7))
SCALES = {"major": (0, 2, 4, 5, 7, 9, 11), "minor": (0, 2, 3, 5, 7, 8, 10)}
MINOR_CHORDS = {"major": {2, 4, 9}, "minor": {0, 5, 7}}
NAMES = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")


@dataclass(frozen=True)
class Manner:
    """How a role is played: metre, tempos, name of the function below, swing in triplets or straight."""

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
PROGRAMS = {
    "bass": (32, 33, 34, 35, 36, 38, 39, 43),
    "harmony": (0, 4, 5, 6, 11, 16, 19, 24, 25, 27, 48, 50, 89, 90, 21),
    "melody": (0, 9, 11, 12, 13, 22, 24, 40, 56, 65, 68, 71, 73, 75, 80, 105),
    "voice": (52, 53, 54, 85),
}
HELD = (48, 50, 89, 90, 16, 19, 21)


@dataclass(frozen=True)
class Score:
    """A loop as written. Beats are those that are counted (dotted in 6/8)."""

    role: str
    manner: str
    time: str
    bars: int
    parts: tuple[Part, ...]
    key: str | None
    chords: tuple[str, ...]
    pickup_beats: Fraction = Fraction(0)

    @property
    def beats_per_bar(self) -> int:
        return {"4/4": 4, "3/4": 3, "6/8": 2}[self.time]


def compose(manner: Manner, bars: int, tonic: int, mode: str, draw: Draw, *, upbeat: bool) -> Score:
    """Write a loop; the same numbers give the same loop."""
    beats = {"4/4": 4, "3/4": 3, "6/8": 2}[manner.time]
    if manner.role in ("drums", "percussion"):
        parts = _struck(manner, bars, draw)
        key, symbols = None, ()
    else:
        roots = _roots(bars, mode, draw)
        symbols = tuple(NAMES[(tonic + r) % 12] + ("m" if r in MINOR_CHORDS[mode] else "") for r in roots)
        chords = [_triad(tonic + r, minor=r in MINOR_CHORDS[mode]) for r in roots]
        key = f"{NAMES[tonic]} {mode}"
        scale = sorted((tonic + step) % 12 for step in SCALES[mode])
        notes = {"bass": _bass, "harmony": _harmony, "melody": _melody, "voice": _melody}[manner.role](
            manner, chords, scale, beats, draw
        )
        programs = PROGRAMS[manner.role]
        program = int(programs[draw.randint(len(programs))])
        if manner.name == "held":
            program = int(HELD[draw.randint(len(HELD))])
        parts = [Part(program, tuple(notes), pan=int(draw.choice((40, 64, 64, 64, 90))))]
    pickup = Fraction(0)
    if upbeat:
        pickup = Fraction(1) if manner.time != "6/8" else Fraction(1, 3)
        parts = [_with_upbeat(part, pickup, draw) for part in parts]
    parts = [_by_hand(part, swung=manner.swung, draw=draw) for part in parts]
    return Score(manner.role, manner.name, manner.time, bars, tuple(parts), key, symbols, pickup)


def _roots(bars: int, mode: str, draw: Draw) -> list[int]:
    pool = MAJOR if mode == "major" else MINOR
    four = pool[draw.randint(len(pool))]
    if bars == 1:
        return [0]
    if bars == 2:
        return [0, four[1]] if four[0] == 0 else [0, 7]
    return [four[bar % 4] for bar in range(bars)]


def _triad(root: int, *, minor: bool) -> tuple[int, int, int]:
    return root % 12, (root + (3 if minor else 4)) % 12, (root + 7) % 12


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


KICK, RIM, SNARE, CLAP, CLOSED, OPEN, RIDE, CRASH = 36, 37, 38, 39, 42, 46, 51, 49
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


def _struck(manner: Manner, bars: int, draw: Draw) -> list[Part]:
    steps, lines = (DRUMS if manner.role == "drums" else PERCUSSION)[manner.name]
    notes: list[Note] = []
    for key, choices in lines:
        notes += _grid(choices[draw.randint(len(choices))], steps, key, bars)
    beats = {"4/4": 4, "3/4": 3, "6/8": 2}[manner.time]
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


def _low(pitch_class: int) -> int:
    return 28 + (pitch_class - 28) % 12


def _bass(manner: Manner, chords: Chords, _scale: list[int], beats: int, draw: Draw) -> list[Note]:
    notes: list[Note] = []
    figures = {
        "eighths": ["0r 1/2r 1r 3/2r 2r 5/2r 3r 7/2r", "0r 1/2r 1r 3/2r 2r 5/2r 3f 7/2f"],
        "root and fifth": ["0r:2 2f:2", "0r:3/2 3/2f:1/2 2f:3/2 7/2r:1/2", "0r:1 1r:1 2f:1 3f:1"],
        "syncopated": [
            "0r:3/4 3/4r:3/4 3/2r:1/2 5/2f:1/2 3r:1",
            "0r:1/4 1/2r:1/4 3/4o:1/4 3/2f:1/2 5/2r:1/4 11/4r:1/4 7/2f:1/2",
        ],
        "octaves": ["0r 1/2o 1r 3/2o 2r 5/2o 3r 7/2o"],
        "waltz": ["0r:2", "0r:1 2f:1", "0r:3"],
        "six": ["0r:2/3 2/3r:1/3 1f:2/3 5/3r:1/3", "0r:1 1f:1"],
    }
    figure = None if manner.name == "walking" else figures[manner.name][draw.randint(len(figures[manner.name]))]
    for bar, chord in enumerate(chords):
        root = _low(chord[0])
        if figure is None:
            steps = [root, root + (chord[1] - chord[0]) % 12, root + 7, root + int(draw.choice((9, 10, 5, 2)))]
            if draw.rand() < 0.5:
                steps[1:3] = steps[2:0:-1]
            notes += [
                Note(Fraction(bar * beats + i), k, 95 - 8 * (i % 2), Fraction(9, 10)) for i, k in enumerate(steps)
            ]
            continue
        for word in figure.split():
            place, _, length = word.partition(":")
            key = root + {"r": 0, "f": 7, "o": 12}[place[-1]]
            at = Fraction(place[:-1])
            notes.append(Note(bar * beats + at, key, 104 - 12 * (at.denominator > 1), Fraction(length or "2/5")))
    return notes


def _voicing(chord: tuple[int, int, int]) -> list[int]:
    base = 53
    keys = sorted(base + (pitch - base) % 12 for pitch in chord)
    return [*keys, keys[0] + 12]


def _harmony(manner: Manner, chords: Chords, _scale: list[int], beats: int, draw: Draw) -> list[Note]:
    rhythms = {
        "held": ["0:4", "0:4", "0:2 2:2"],
        "strummed": ["0:1 1:1/2 3/2:1/2 5/2:1/2 3:1/2 7/2:1/2", "0:1 1:1 3/2:1/2 2:1 3:1 7/2:1/2"],
        "stabs": ["0:1/2 3/2:1/3 3:1/3", "1/2:1/4 3/2:1/4 5/2:1/4 7/2:1/4", "0:1/4 3/4:1/4 3/2:1/2 5/2:1/2"],
        "quarters": ["0:1 1:1 2:1 3:1"],
        "waltz": ["1:1/2 2:1/2", "1:3/4 2:3/4"],
        "six": ["0:1/3 1/3:1/3 2/3:1/3 1:1/3 4/3:1/3 5/3:1/3", "0:1 1:1"],
    }
    notes: list[Note] = []
    with_bass = draw.rand() < 0.5 or manner.name == "waltz"
    rhythm = None if manner.name == "broken chords" else rhythms[manner.name][draw.randint(len(rhythms[manner.name]))]
    order = [(0, 2, 1, 2), (0, 1, 2, 3), (0, 1, 2, 1)][draw.randint(3)]
    step = Fraction(1, 2) if draw.rand() < 0.5 else Fraction(1, 4)
    for bar, chord in enumerate(chords):
        keys = _voicing(chord)
        start = bar * beats
        if with_bass:
            notes.append(
                Note(Fraction(start), _low(chord[0]) + 12, 88, Fraction(beats if manner.name != "waltz" else 1))
            )
        if rhythm is None:
            notes += [
                Note(start + i * step, keys[order[i % 4]], 92 if i % 4 == 0 else 76, step * 2)
                for i in range(int(beats / step))
            ]
            continue
        for word in rhythm.split():
            at, length = map(Fraction, word.split(":"))
            for voice, key in enumerate(keys):
                roll = Fraction(voice, 60) if manner.name == "strummed" else Fraction(0)
                notes.append(Note(start + at + roll, key, 92 - 14 * (at.denominator > 1), length))
    return notes


def _melody(manner: Manner, chords: Chords, scale: list[int], beats: int, draw: Draw) -> list[Note]:
    rhythms = {
        "tune": ["1 1/2 1/2 1 1", "3/2 1/2 1 1", "1/2 1/2 1 1/2 1/2 1", "1 1 2", "2 1 1/2 1/2"],
        "busy tune": ["1/2 1/4 1/4 1/2 1/2 1 1", "1/4 1/4 1/2 1 1/2 1/2 1", "3/4 1/4 1/2 1/2 1/2 1/2 1"],
        "swung tune": ["2/3 1/3 1 2/3 1/3 1", "1 2/3 1/3 2/3 1/3 1", "2/3 1/3 2/3 1/3 2"],
        "waltz": ["2 1", "1 1 1", "3/2 1/2 1", "1 1/2 1/2 1"],
        "six": ["2/3 1/3 2/3 1/3", "1/3 1/3 1/3 1", "1 2/3 1/3", "1/3 1/3 1/3 1/3 1/3 1/3"],
        "ooh": ["2 2", "1 1 2", "3 1", "3/2 1/2 2"],
    }
    pool = rhythms[manner.name]
    shapes = [pool[draw.randint(len(pool))] for _ in range(2)]
    order = [0, 1, 0, 1] if draw.rand() < 0.6 else [0, 0, 0, 1]
    low = int(draw.choice((60, 62, 65))) if manner.role == "voice" else int(draw.choice((64, 67, 69, 72)))
    notes: list[Note] = []
    key = low
    for bar, chord in enumerate(chords):
        beat = Fraction(bar * beats)
        for word in shapes[order[bar % 4]].split():
            length = Fraction(word)
            on_beat = (beat - bar * beats) % 1 == 0
            allowed = [k for k in range(low - 5, low + 13) if k % 12 in (chord if on_beat or bar == 0 else scale)]
            near = sorted(allowed, key=lambda k: (abs(k - key), k))[: 4 if on_beat else 3]
            key = int(near[draw.randint(len(near))])
            if bar == len(chords) - 1 and beat + length == (bar + 1) * beats and draw.rand() < 0.4:
                break  # a rest at the end
            notes.append(Note(beat, key, 100 if on_beat else 82, length * Fraction(9, 10)))
            beat += length
    return notes


def _with_upbeat(part: Part, pickup: Fraction, draw: Draw) -> Part:
    """Notes before the first bar: what leads from the end of the loop into its start."""
    early = [n for n in part.notes if n.beat < 1] or list(part.notes[:1])
    steps = [pickup] if draw.rand() < 0.4 else [pickup, pickup / 2]
    found = [replace(early[int(draw.randint(len(early)))], beat=-step, beats=pickup / 2, velocity=78) for step in steps]
    return replace(part, notes=(*found, *part.notes))


def _by_hand(part: Part, *, swung: bool, draw: Draw) -> Part:
    """Notes that are not struck by a machine: a little uneven in strength, a few milliseconds in time."""
    notes = []
    for n in part.notes:
        beat = n.beat
        if swung and not part.drums and (beat % 1) == Fraction(1, 2):
            beat += Fraction(1, 6)
        late = Fraction(int(draw.randint(0, 6)), 960) if beat % 1 else Fraction(0)
        notes.append(replace(n, beat=beat + late, velocity=int(np.clip(n.velocity + draw.randint(-6, 7), 1, 127))))
    return replace(part, notes=tuple(notes))
