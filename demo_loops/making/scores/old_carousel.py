"""Old carousel: 108 BPM in three, D minor, Dm | Bb | Gm | A. It turns behind the harbour office on Sundays."""

from __future__ import annotations

from demo_loops.making.instruments import air, cymbals, drums, keys, percussion, strings
from demo_loops.making.loop import Loop, Voice
from demo_loops.making.room import HALL, PARLOUR, SHED
from demo_loops.making.score import chords, hits, line

SET = "old carousel"
CHORDS = "Dm | Bb | Gm | A"


def _loop(name: str, role: str, *voices: Voice, **more: object) -> Loop:
    pitched = {"key": "D minor", "chords": CHORDS} if role in {"bass", "harmony", "melody"} else {}
    return Loop(name, role, "108", int(more.pop("bars", 4)), voices, 3, family=SET, **{**pitched, **more})


def _wooden_horse() -> Loop:
    return _loop(
        "wooden-horse", "drums",
        Voice(drums.kick(56, 0.12, 0.5), tuple(hits("kick", "9... .... .... | 8... .... ..4.")), 0, room_db=-22),
        Voice(drums.snare(215, 1.1, 0.11, 0.05), tuple(hits("snare", ".... 5..2 6... | .... 5... 6.33")), -4, 0.06, -12),
        Voice(cymbals.hat("horse", bright=0.85), tuple(hits("closed hat", "..3. 5.3. 5.3. | ..3. 5.3. 5.3.")), -10, 0.28, -16),
        Voice(cymbals.ride("horse ride", 0.6), tuple(hits("ride", "4... .... .... | .... .... ....")), -9, -0.3, -14),
        bars=2, room=PARLOUR, drive=0.9, low_cut_hz=32,
    )


def _turning_wheel() -> Loop:
    tune = "D2:1.5! r:.5 A2:.5? A1:.5? | Bb1:1.5! r:.5 F2:.5? Bb1:.5? | G1:1.5! r:.5 D2:.5? G1:.5? | A1:1.5! r:.5 E2:.5? C#2:.5?"
    return _loop("turning-wheel", "bass", Voice(strings.bass_string(0.25, 800, 1.0, 0.9), tuple(line(tune, "note", 0.7)), room_db=-28), room=SHED, low_cut_hz=32)


def _painted_pony() -> Loop:
    voiced = ["A3 D4 F4", "Bb3 D4 F4", "Bb3 D4 G4", "A3 C#4 E4"]
    pumped = chords(voiced, "1:.6:.62 2:.6:.55", kind="reed", beats_per_bar=3)
    low = line("D3:.8! r:2.2 | Bb2:.8! r:2.2 | G2:.8! r:2.2 | A2:.8! r:2.2", "low reed", 0.5)
    return _loop("painted-pony", "harmony", Voice(air.reed(9, 0.85, 0.6, 0.016), tuple([*low, *pumped]), 0, 0, -14, 4), room=PARLOUR, low_cut_hz=90,
                 colour=((150, 0.0), (300, -2.0), (900, 0.0), (3000, 0.0)))


def _ticket_tune() -> Loop:
    tune = "D6:1! A5:.5 F5:.5? A5:1 | D6:.5! F6:.5 D6:1 Bb5:1? | G5:.5! Bb5:.5 D6:1 Bb5:.5? G5:.5 | A5:1! C#6:.5 E6:.5 A5:1?"
    return _loop("ticket-tune", "melody", Voice(keys.comb_teeth(), tuple(line(tune, "tooth", 0.65)), 0, -0.1, -12, 4), room=HALL, low_cut_hz=250)


def _brass_ring() -> Loop:
    return _loop(
        "brass-ring", "percussion",
        Voice(cymbals.triangle(), tuple(hits("open triangle", "7... .... .... ") + hits("closed triangle", ".... 5.3. 6...")), -2, -0.2, -12, 4),
        Voice(cymbals.jingles(), tuple(hits("jingle", ".... 4..3 5...")), -3, 0.3, -14, 5),
        bars=1, room=PARLOUR, low_cut_hz=300,
    )


LOOPS = [_wooden_horse(), _turning_wheel(), _painted_pony(), _ticket_tune(), _brass_ring()]
