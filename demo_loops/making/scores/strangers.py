"""Loops from elsewhere: other tempos and other keys. They fit the sets once they are stretched or transposed.

`night-bus` and `deep-hold` have ferry town's chords in other keys (E minor, C minor), `blue-crane` those of market
morning in G major.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from demo_loops.making.instruments import cymbals, drums, keys, percussion, strings
from demo_loops.making.loop import DRY, Loop, Voice
from demo_loops.making.room import HALL, PARLOUR, SHED
from demo_loops.making.score import chords, hits, line


def _night_bus() -> Loop:
    held = chords(["B3 E4 G4", "C4 E4 G4", "B3 D4 G4", "A3 D4 F#4"], "0:1.9:.6 2.25:.5:.42 3:.95:.5", roll=8)
    low = line("E3:2 B3:2? | C3:2 G3:2? | G3:2 D3:2? | D3:2 A3:2?", "low", 0.5)
    return Loop(
        "night-bus",
        "harmony",
        "84.5",
        4,
        (Voice(keys.tines(1.4, 1.6), [*held, *low], room_db=-13, late_ticks=8),),
        key="E minor",
        chords="Em | C | G | D",
        room=PARLOUR,
        low_cut_hz=90,
        colour=((120, -1.0), (280, -4.5), (800, 2.0), (2500, 6.0), (6000, 4.0)),
    )


def _deep_hold() -> Loop:
    tune = (
        "C2:.75!~ C2:.75~ C2:.5?~ r:.5 G2:.5~ Bb2:.5? C3:.5 | "
        "Ab1:.75!~ Ab1:.75~ Ab1:.5?~ r:.5 Eb2:.5~ G2:.5? Ab2:.5 | "
        "Eb2:.75!~ Eb2:.75~ Eb2:.5?~ r:.5 Bb2:.5~ D3:.5? Eb3:.5 | "
        "Bb1:.75!~ Bb1:.75~ Bb1:.5?~ r:.5 F2:.5~ Ab2:.5? Bb2:.5"
    )
    return Loop(
        "deep-hold",
        "bass",
        "101.25",
        4,
        (Voice(strings.bass_filtered(300, 4.0, 0.16, 0.6), line(tune), room_db=DRY),),
        key="C minor",
        chords="Cm | Ab | Eb | Bb",
        room=SHED,
        low_cut_hz=32,
    )


def _blue_crane() -> Loop:
    tune = (
        "B4:.5! D5:.5 G5:1 D5:.5? B4:.5 D5:1 | B4:.5! E5:.5 G5:1 E5:.5? B4:.5 E5:1 | "
        "C5:.5! E5:.5 G5:.5 A5:.5 G5:1 E5:1? | D5:.5! F#5:.5 A5:1 F#5:.5? E5:.5 D5:1?"
    )
    longer = [replace(n, beats=n.beats + Fraction(1, 2)) for n in line(tune, "pluck", 0.66)]
    return Loop(
        "blue-crane",
        "melody",
        "126",
        4,
        (Voice(strings.pluck(0.3, 1.0, 2900, 0.3), longer, room_db=-12),),
        key="G major",
        chords="G | Em | C | D",
        room=HALL,
        low_cut_hz=180,
    )


def _sluice_gate() -> Loop:
    return Loop(
        "sluice-gate",
        "drums",
        "88",
        2,
        (
            Voice(
                drums.kick(48, 0.17),
                hits("kick", "9..5 .... ..8. ...3 | 9... ..6. .58. ....", swing=0.3),
                0,
                room_db=-22,
            ),
            Voice(
                drums.snare(172, 1.1, 0.19),
                hits("snare", ".... 8..2 .3.. 8... | .... 8..2 .... 8.23", swing=0.3),
                -1,
                room_db=-10,
            ),
            Voice(
                cymbals.hat("sluice", bright=0.9),
                hits("closed hat", "6.4. 6.42 6.4. 6.4. | 6.4. 6.42 6.4. 6.42", swing=0.3),
                -9,
                -0.2,
                -16,
            ),
        ),
        room=PARLOUR,
        drive=1.1,
        low_cut_hz=32,
    )


def _hull_knock() -> Loop:
    return Loop(
        "hull-knock",
        "percussion",
        "110",
        1,
        (
            Voice(percussion.plate_knock(), hits("knock", "7..4 ..6. ..3. 5..."), 0, -0.2, -12),
            Voice(percussion.scrape(), hits("scrape", ".... 5... .... ..4."), -4, 0.35, -14),
        ),
        room=PARLOUR,
        low_cut_hz=100,
    )


LOOPS = [_night_bus(), _deep_hold(), _blue_crane(), _sluice_gate(), _hull_knock()]
