"""Old carousel: 108 BPM in three, D minor, Dm | Bb | Gm | A. It turns behind the harbour office on Sundays."""

from __future__ import annotations

from demo_loops.making.instruments import air, cymbals, drums, keys, strings
from demo_loops.making.loop import DRY, Family, Loop, Voice
from demo_loops.making.room import HALL, PARLOUR, SHED
from demo_loops.making.score import chords, hits, line

OLD_CAROUSEL = Family("old carousel", "108", "D minor", ("Dm", "Bb", "Gm", "A"), beats_per_bar=3)


def _wooden_horse() -> Loop:
    return OLD_CAROUSEL.loop(
        "wooden-horse",
        "drums",
        Voice(drums.kick(56, 0.12, 0.5), hits("kick", "9... .... .... | 8... .... ..4."), 0, room_db=-22),
        Voice(drums.snare(215, 1.1, 0.11, 0.05), hits("snare", ".... 5..2 6... | .... 5... 6.33"), -4, 0.06, -12),
        Voice(cymbals.hat("horse", bright=0.85), hits("closed hat", "..3. 5.3. 5.3. | ..3. 5.3. 5.3."), -10, 0.28, -16),
        Voice(cymbals.ride("horse ride", 0.6), hits("ride", "4... .... .... | .... .... ...."), -9, -0.3, -14),
        bars=2,
        room=PARLOUR,
        drive=0.9,
        low_cut_hz=32,
    )


def _turning_wheel() -> Loop:
    tune = (
        "D2:1.5! r:.5 A2:.5? A1:.5? | Bb1:1.5! r:.5 F2:.5? Bb1:.5? | "
        "G1:1.5! r:.5 D2:.5? G1:.5? | A1:1.5! r:.5 E2:.5? C#2:.5?"
    )
    return OLD_CAROUSEL.loop(
        "turning-wheel",
        "bass",
        Voice(strings.bass_string(0.25, 1000, 1.0, 1.0), line(tune, "note", 0.7), room_db=DRY),
        room=SHED,
        low_cut_hz=32,
    )


def _painted_pony() -> Loop:
    voiced = ["A3 D4 F4", "Bb3 D4 F4", "Bb3 D4 G4", "A3 C#4 E4"]
    pumped = chords(voiced, "1:.6:.62 2:.6:.55", kind="reed", beats_per_bar=3)
    low = line("D3:.8! r:2.2 | Bb2:.8! r:2.2 | G2:.8! r:2.2 | A2:.8! r:2.2", "low reed", 0.5)
    return OLD_CAROUSEL.loop(
        "painted-pony",
        "harmony",
        Voice(air.reed(9, 0.85, 0.6, 0.016), [*low, *pumped], 0, 0, -14, 4),
        room=PARLOUR,
        low_cut_hz=90,
        colour=((150, 0.0), (300, -2.0), (900, 0.0), (2500, 2.0)),
    )


def _ticket_tune() -> Loop:
    tune = (
        "D6:1! A5:.5 F5:.5? A5:1 | D6:.5! F6:.5 D6:1 Bb5:1? | "
        "G5:.5! Bb5:.5 D6:1 Bb5:.5? G5:.5 | A5:1! C#6:.5 E6:.5 A5:1?"
    )
    return OLD_CAROUSEL.loop(
        "ticket-tune",
        "melody",
        Voice(keys.comb_teeth(), line(tune, "tooth", 0.65), 0, -0.1, -12, 4),
        room=HALL,
        low_cut_hz=250,
    )


def _brass_ring() -> Loop:
    return OLD_CAROUSEL.loop(
        "brass-ring",
        "percussion",
        Voice(
            cymbals.triangle(),
            hits("open triangle", "7... .... .... ") + hits("closed triangle", ".... 5.3. 6..."),
            -2,
            -0.2,
            -12,
            4,
        ),
        Voice(cymbals.jingles(), hits("jingle", ".... 4..3 5..."), -3, 0.3, -14, 5),
        bars=1,
        room=PARLOUR,
        low_cut_hz=300,
    )


LOOPS = [_wooden_horse(), _turning_wheel(), _painted_pony(), _ticket_tune(), _brass_ring()]
