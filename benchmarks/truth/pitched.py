"""Loops for bass, harmony and melody over given chords: figures of which one is drawn, or steps drawn note by note."""

from __future__ import annotations

from fractions import Fraction

from benchmarks.truth.band import Note
from benchmarks.truth.manners import Draw, Manner

Chords = list[tuple[int, int, int]]


def _low(pitch_class: int) -> int:
    return 28 + (pitch_class - 28) % 12


def bass(manner: Manner, chords: Chords, _scale: list[int], beats: int, draw: Draw) -> list[Note]:
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


def harmony(manner: Manner, chords: Chords, _scale: list[int], beats: int, draw: Draw) -> list[Note]:
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


def melody(manner: Manner, chords: Chords, scale: list[int], beats: int, draw: Draw) -> list[Note]:
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
