"""Ferry town: 96 BPM, A minor, Am | F | C | G, lightly swung. A harbour in the evening, before the last boat."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from demo_loops.making.instruments import air, cymbals, drums, keys, percussion, strings, weather
from demo_loops.making.loop import DRY, Family, Loop, Voice
from demo_loops.making.room import HALL, PARLOUR, QUAY, SHED
from demo_loops.making.score import Note, choked, chords, hits, line, random_of

FERRY_TOWN = Family("ferry town", "96", "A minor", ("Am", "F", "C", "G"))
SWING = 0.16


def swung(kind: str, grid: str) -> list[Note]:
    """A grid of sixteenths, lightly swung as all of this town is."""
    return hits(kind, grid, swing=SWING)


def _tin_roof() -> Loop:
    closed = swung(
        "closed hat", "7254 6.5. 7254 6.42 | 7254 6.5. 7254 6... | 7254 6.5. 7254 6.42 | 7254 6.5. 72.. ...."
    )
    opened = choked(
        swung("open hat", ".... .... .... .... | .... .... .... ..6. | .... .... .... .... | .... .... ...."),
        closed,
        Fraction(1),
    )
    return FERRY_TOWN.loop(
        "tin-roof",
        "drums",
        Voice(
            drums.kick(52, 0.14),
            swung("kick", "9... ..4. .8.. .... | 9... ...5 ..8. .... | 9... ..4. .8.. .... | 9..6 ..4. .8.. ...."),
            0,
            room_db=-24,
        ),
        Voice(
            drums.snare(),
            swung("snare", ".... 8..2 .2.. 8... | .... 8..2 .2.. 8..3 | .... 8..2 .2.. 8... | .... 8..2 .... 7.46"),
            -1,
            0.05,
            -13,
        ),
        Voice(cymbals.hat("tin"), [*closed, *opened], -8, 0.22, -18),
        Voice(
            drums.tom(148),
            swung("high tom", "|.... .... .... .... |.... .... .... .... |.... .... .... .... | .... .... ..7. .5.."),
            -3,
            0.25,
            -12,
        ),
        Voice(
            drums.tom(98, 0.28),
            swung("low tom", "|.... .... .... .... |.... .... .... .... |.... .... .... .... | .... .... ...6 ...."),
            -2,
            -0.3,
            -12,
        ),
        room=SHED,
        drive=1.1,
        low_cut_hz=32,
        colour=((60, -1.0), (120, -1.0), (700, 1.0), (8000, 0.0), (15_000, -3.0)),
    )


def _wet_cardboard() -> Loop:
    return FERRY_TOWN.loop(
        "wet-cardboard",
        "drums",
        Voice(
            drums.kick(58, 0.10, 0.35, 0.7),
            swung("kick", "9... .... ..6. .... | 9... ...4 ..7. .... | 9... .... ..6. .... | 9... ...4 ..7. ..3."),
            0,
            room_db=-20,
        ),
        Voice(
            drums.cardboard(),
            swung("cardboard", ".... 8... .... 8... | .... 8... .... 8..2 | .... 8... .... 8... | .... 8... .2.. 8.34"),
            -1,
            -0.08,
            -13,
        ),
        Voice(
            cymbals.hat("foot", bright=0.95, closed_s=0.022),
            swung(
                "closed hat", "3.5. 3.5. 3.5. 3.5. | 3.5. 3.5. 3.5. 3.52 | 3.5. 3.5. 3.5. 3.5. | 3.5. 3.5. 3.5. 3.5."
            ),
            -3,
            0.3,
            -16,
        ),
        room=SHED,
        drive=1.0,
        low_cut_hz=32,
        colour=((60, 0.0), (300, -1.5), (1500, 1.0), (9000, 1.0), (15_000, -2.0)),
    )


def _slow_tide() -> Loop:
    tune = (
        "A1:1.5! r:.5 A1:.5? C2:.5 E2:1 | F1:1.5! r:.5 F1:.5? A1:.5 C2:1 | "
        "C2:1.5! r:.5 C2:.5? B1:.5 G1:1 | G1:1.5! r:.5 G1:.5? B1:.5 D2:.5 G1:.5?"
    )
    return FERRY_TOWN.loop(
        "slow-tide",
        "bass",
        Voice(strings.bass_string(soft_hz=1150), line(tune), room_db=DRY),
        room=SHED,
        drive=0.6,
        low_cut_hz=30,
    )


def _mooring_rope() -> Loop:
    bars = [("A1", "A2", "E2", "G2"), ("F1", "F2", "C2", "E2"), ("C2", "C3", "G2", "B2"), ("G1", "G2", "D2", "F2")]
    tune = " | ".join(
        f"{low}:.5!~ r:.25 {low}:.25?~ {high}:.5~ r:.25 {low}:.25~ "
        f"r:.5 {low}:.5~ {fifth}:.5~ {seventh}:.25?~ {high}:.25~"
        for low, high, fifth, seventh in bars
    )
    return FERRY_TOWN.loop(
        "mooring-rope",
        "bass",
        Voice(strings.bass_filtered(400, 6.0), line(tune), room_db=DRY),
        room=SHED,
        low_cut_hz=30,
    )


def _paper_lantern() -> Loop:
    right = chords(["E4 A4 C5", "F4 A4 C5", "E4 G4 C5", "D4 G4 B4"], "0:1.4:.62 1.5:.45:.42 2.5:.9:.55 ", roll=6)
    passing = line("r:3.5 B4:.5 | r:3.5 D5:.5 | r:3.5 B4:.5 | r:3 D5:.5 C5:.5?", "passing", 0.4)
    left = line(
        "A2:1.5 E3:.5 A3:1 E3:1? | F2:1.5 C3:.5 F3:1 C3:1? | C3:1.5 G3:.5 C4:1 G3:1? | G2:1.5 D3:.5 G3:1 D3:.5? B2:.5?",
        "left",
        0.55,
    )
    return FERRY_TOWN.loop(
        "paper-lantern",
        "harmony",
        Voice(strings.hammer(), [*left, *right, *passing], room_db=-14, late_ticks=8),
        room=PARLOUR,
        low_cut_hz=60,
        colour=((120, 0.0), (250, -2.5), (450, -1.5), (1500, 1.0), (3000, 3.5), (6000, 3.0)),
    )


def _fog_lamp() -> Loop:
    held = chords(["A3 E4 A4 C5", "A3 F4 A4 C5", "G3 E4 G4 C5", "G3 D4 G4 B4"], "0:4:.75")
    return FERRY_TOWN.loop(
        "fog-lamp",
        "harmony",
        Voice(air.warm(1600), held, room_db=-14, late_ticks=0),
        room=HALL,
        low_cut_hz=110,
        colour=((150, 0.0), (300, -2.0), (1200, 0.0), (6000, -2.0)),
    )


def _net_mender() -> Loop:
    bars = [
        ("A2", "E3", "C4", "A3", "E4"),
        ("F2", "C3", "C4", "A3", "F4"),
        ("C3", "G3", "C4", "E4", "G4"),
        ("G2", "D3", "D4", "B3", "G4"),
    ]
    tune = " | ".join(
        f"{a}:.5! {c}:.25? {d}:.5 {e}:.5 {c}:.25? {d}:.5 {b}:.5 {e}:.5! {d}:.25? {c}:.25" for a, b, c, d, e in bars
    )
    longer = [replace(n, beats=max(n.beats, Fraction(5, 4))) for n in line(tune, "pluck", 0.62)]
    return FERRY_TOWN.loop(
        "net-mender",
        "harmony",
        Voice(strings.pluck(0.19, 1.0, 4200, 0.3), longer, 0, -0.12, -15),
        room=PARLOUR,
        low_cut_hz=70,
        colour=((120, -2.0), (250, -2.5), (800, 0.0), (2500, 3.5), (5000, 4.0), (9000, 0.0)),
    )


def _gull_song() -> Loop:
    tune = (
        "E5:1.5! D5:.5 C5:.5 D5:.5 E5:1 | C5:2 r:.5 A4:.5? C5:.5 D5:.5 | "
        "E5:1.5! G5:.5 E5:1 D5:.5? C5:.5 | D5:2.5! r:.5 B4:.5? D5:.5"
    )
    return FERRY_TOWN.loop(
        "gull-song", "melody", Voice(air.reed(), line(tune, "reed", 0.62), 0, 0.08, -12, 6), room=HALL, low_cut_hz=140
    )


def _glass_buoy() -> Loop:
    tune = (
        "r:.5 A5:.5 E5:.5? C6:1.5! r:1 | r:.5 A5:.5 F5:.5? C6:1 A5:.5? r:1 | "
        "r:.5 G5:.5 E5:.5? C6:1.5! r:1 | r:.5 G5:.5 D5:.5? B5:1 D5:1.5? |"
        "E5:1 A5:.5? C6:.5 E6:1.5! r:.5 | F5:1 A5:.5? C6:.5 F6:1! C6:1? | "
        "E5:1 G5:.5? C6:.5 E6:1.5! r:.5 | D5:1 G5:.5? B5:.5 D6:2"
    )
    low = " | ".join(f"{root}:4" for root in ("A4", "F4", "C5", "G4") * 2)
    return FERRY_TOWN.loop(
        "glass-buoy",
        "melody",
        Voice(keys.glass_bars(), [*line(tune, "glass", 0.6), *line(low, "low glass", 0.42)], 0, -0.1, -15, 6),
        bars=8,
        room=HALL,
        low_cut_hz=200,
    )


def _rice_jar() -> Loop:
    grid = "7253 8253 7253 8254 | 7253 8253 7253 8.54 | 7253 8253 7253 8254 | 7253 8253 72.. 8565"
    both = swung("toward", grid)
    strokes = [replace(n, kind="shake away" if i % 2 else "shake toward") for i, n in enumerate(both)]
    return FERRY_TOWN.loop(
        "rice-jar",
        "percussion",
        Voice(percussion.shaker(), strokes, 0, 0, -24, 7),
        room=SHED,
        low_cut_hz=300,
        drive=2.2,
    )


def _knuckle_crate() -> Loop:
    return FERRY_TOWN.loop(
        "knuckle-crate",
        "percussion",
        Voice(percussion.crate(), swung("crate low", "8..3 .... .6.. .... | 8..3 .... .6.. ...4"), 0, 0, -16),
        Voice(
            percussion.crate(118),
            swung("crate slap", ".... 7.2. ..2. 7.23 | .... 7.2. ..2. 7.5."),
            -2,
            0.15,
            -15,
        ),
        Voice(
            percussion.block(1150),
            swung("block", "..4. ..5. .... ..4. | ..4. ..5. ..3. ...."),
            -9,
            -0.35,
            -12,
        ),
        bars=2,
        room=SHED,
        low_cut_hz=50,
        drive=1.8,
    )


def _quay_rain() -> Loop:
    chance = random_of("quay-rain", "drops")
    drops = tuple(
        Note(
            Fraction(int(chance.randint(0, 16 * 240)), 240),
            "drop",
            float(chance.uniform(0.1, 0.8) ** 2),
            Fraction(1, 4),
        )
        for _ in range(150)
    )
    gutter = swung("drip", "..5. .... .... .3.. | .... ..4. ..3. .... | ..5. .... .... .... | .... ..4. .... 3.2.")
    return FERRY_TOWN.loop(
        "quay-rain",
        "background",
        Voice(weather.bed(weather.RAIN), (Note(Fraction(0), "rain", 0.8, Fraction(16)),), 0, room_db=-40),
        Voice(
            weather.bed(weather.LAPPING, 0.3, 0.9), (Note(Fraction(0), "water", 0.7, Fraction(16)),), -2, room_db=-40
        ),
        Voice(weather.drop(), drops, -5, 0, -12, 0),
        Voice(weather.drip(), gutter, -9, 0.5, -8, 0),
        room=QUAY,
        low_cut_hz=90,
    )


LOOPS = [
    _tin_roof(),
    _wet_cardboard(),
    _slow_tide(),
    _mooring_rope(),
    _paper_lantern(),
    _fog_lamp(),
    _net_mender(),
    _gull_song(),
    _glass_buoy(),
    _rice_jar(),
    _knuckle_crate(),
    _quay_rain(),
]
