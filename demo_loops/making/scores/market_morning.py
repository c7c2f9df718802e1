"""Market morning: 118 BPM, D major, D | Bm | G | A. Stalls going up in the sun."""

from __future__ import annotations

from fractions import Fraction

from demo_loops.making.instruments import air, cymbals, drums, keys, percussion, strings, weather
from demo_loops.making.loop import DRY, Family, Loop, Voice
from demo_loops.making.room import HALL, PARLOUR, QUAY, SHED
from demo_loops.making.score import Note, choked, chords, hits, line, random_of

MARKET_MORNING = Family("market morning", "118", "D major", ("D", "Bm", "G", "A"))


def _stall_stomp() -> Loop:
    closed = hits("closed hat", "6.2. 6.23 6.2. 6.23 | 6.2. 6.23 6.2. 6.34")
    opened = choked(hits("open hat", "..6. ..6. ..6. ..6. | ..6. ..6. ..6. ...."), closed, Fraction(1, 2))
    taken = {n.beat for n in opened}
    hats = [*(n for n in closed if n.beat not in taken), *opened]
    return MARKET_MORNING.loop(
        "stall-stomp",
        "drums",
        Voice(
            drums.kick(54, 0.12, 1.2),
            hits("kick", "9... 8... 9... 8... | 9... 8... 9..4 8..."),
            0,
            room_db=-26,
            late_ticks=0,
        ),
        Voice(drums.clap(), hits("clap", ".... 8... .... 8... | .... 8... .... 8..."), -1.5, 0.05, -12, 4),
        Voice(
            drums.snare(205, 0.9, 0.12), hits("snare", ".... 5... .2.. 5..2 | .... 5... .2.. 5467"), -3, -0.05, -14, 4
        ),
        Voice(cymbals.hat("stall", 0.2), hats, -9, 0.2, -18, 3),
        bars=2,
        room=SHED,
        drive=1.2,
        low_cut_hz=32,
    )


def _bicycle_bell() -> Loop:
    return MARKET_MORNING.loop(
        "bicycle-bell",
        "drums",
        Voice(drums.kick(56, 0.11, 0.7), hits("kick", "9... .... ..7. .... | 9... ..5. ..7. ...."), 0, room_db=-22),
        Voice(drums.rim(), hits("rim", ".... 8... .... 8..3 | .... 8... .... 8.4."), -3, 0.15, -10),
        Voice(
            cymbals.triangle(2100, 0.5),
            hits("closed triangle", "..3. ..4. ..3. .... | ..3. ..4. ..3. ....")
            + hits("open triangle", ".... .... .... ..6. | .... .... .... ...."),
            -12,
            -0.35,
            -8,
        ),
        Voice(cymbals.ride("bell ride", 0.3), hits("ride", "5... 6.3. 5... 6... | 5... 6.3. 5... 6.3."), -2, 0.3, -14),
        bars=2,
        room=PARLOUR,
        drive=0.9,
        low_cut_hz=32,
    )


def _bread_cart() -> Loop:
    roots = [("D2", "A2", "F#2"), ("B1", "F#2", "A2"), ("G1", "D2", "B1"), ("A1", "E2", "G2")]
    tune = " | ".join(f"{a}:.5!~ {a}:.5?~ r:.5 {a}:.5~ {b}:.5~ r:.25 {a}:.25?~ {c}:.5~ {a}:.5~" for a, b, c in roots)
    return MARKET_MORNING.loop(
        "bread-cart",
        "bass",
        Voice(strings.bass_string(0.12, 1700, 0.9, 1.5), line(tune, "note", 0.7), room_db=DRY, late_ticks=4),
        room=SHED,
        low_cut_hz=32,
    )


def _hopping_eel() -> Loop:
    roots = [("D2", "D3", "A2", "C3"), ("B1", "B2", "F#2", "A2"), ("G1", "G2", "D2", "F#2"), ("A1", "A2", "E2", "G2")]
    tune = " | ".join(
        f"r:.5 {h}:.25!~ {h}:.25?~ {a}:.5 {h}:.5~ r:.5 {h}:.5!~ {a}:.5 {f}:.25?~ {h}:.25~" for a, h, f, _ in roots
    )
    down = [
        Note(Fraction(4 * i), "note", 0.85, Fraction(2, 5), n[0].pitch)
        for i, n in enumerate(line(f"{r[0]}:1") for r in roots)
    ]
    return MARKET_MORNING.loop(
        "hopping-eel",
        "bass",
        Voice(
            strings.bass_filtered(520, 6.0, 0.07, 0.45), [*down, *line(tune, "note", 0.62)], room_db=DRY, late_ticks=3
        ),
        room=SHED,
        low_cut_hz=32,
    )


def _kettle_steam() -> Loop:
    voiced = ["A3 D4 F#4 A4", "B3 D4 F#4 B4", "B3 D4 G4 B4", "A3 C#4 E4 A4"]
    stabs = chords(voiced, "0:.7:.72 1.5:.3:.5 2:.3:.62 3:.45:.45:high 3.5:.45:.6", roll=3)
    return MARKET_MORNING.loop(
        "kettle-steam",
        "harmony",
        Voice(keys.tines(1.6, 1.1), stabs, room_db=-15, late_ticks=6),
        room=PARLOUR,
        low_cut_hz=120,
        colour=((150, 0.0), (280, -4.0), (900, 0.5), (2500, 4.0), (5000, 5.0), (9000, 2.0)),
    )


def _orange_crate() -> Loop:
    voiced = ["A3 D4 F#4 A4", "B3 D4 F#4 B4", "B3 D4 G4 B4", "A3 C#4 E4 A4"]
    strums = chords(
        voiced,
        "0:.9:.75 1:.45:.62 1.5:.3:.4:high:up 2.5:.45:.55:high:up 3:.45:.68 3.5:.45:.42:high:up",
        roll=14,
        kind="strum",
    )
    return MARKET_MORNING.loop(
        "orange-crate",
        "harmony",
        Voice(strings.pluck(0.14, 0.7, 3800, 0.2), strums, 0, 0.15, -16, 6),
        room=PARLOUR,
        low_cut_hz=120,
        colour=((150, -2.0), (300, -3.0), (900, 0.0), (2500, 2.5), (6000, 3.0)),
    )


def _penny_kite() -> Loop:
    tune = (
        "F#5:.5! A5:.5 D6:1! A5:.5 F#5:.5? A5:1 | "
        "B5:1! A5:.5 F#5:.5? D5:1 r:.5 E5:.5? | G5:.5! A5:.5 B5:1! D6:.5 B5:.5? G5:1 | "
        "A5:1.5! G5:.5 E5:1 r:.5 E5:.5?"
    )
    return MARKET_MORNING.loop(
        "penny-kite",
        "melody",
        Voice(air.whistle(), line(tune, "whistle", 0.6), 0, 0.1, -12, 5),
        room=HALL,
        low_cut_hz=250,
    )


def _spoon_dance() -> Loop:
    tune = (
        "D5:.5! F#5:.25? A5:.5 D5:.25? F#5:.5! A5:.5 r:.5 F#5:.5 A5:.5 | "
        "D5:.5! F#5:.25? B5:.5 D5:.25? F#5:.5! B5:.5 r:.5 F#5:.5 A5:.5 |"
        "D5:.5! G5:.25? B5:.5 D5:.25? G5:.5! B5:.5 r:.5 G5:.5 B5:.5 | "
        "C#5:.5! E5:.25? A5:.5 C#5:.25? E5:.5! A5:.5 r:.25 E5:.25? G5:.5 E5:.5"
    )
    return MARKET_MORNING.loop(
        "spoon-dance",
        "melody",
        Voice(keys.wood_bars(), line(tune, "wood", 0.66), 0, -0.12, -14, 5),
        room=PARLOUR,
        low_cut_hz=200,
        colour=((500, 0.0), (1000, 0.0), (3000, 3.0), (9000, 3.0)),
    )


def _pepper_mill() -> Loop:
    return MARKET_MORNING.loop(
        "pepper-mill",
        "percussion",
        Voice(percussion.shaker(percussion.PEPPER, 0.011, 0.022), hits("shake", "7354 7354 7354 7354"), 0, 0, -24, 5),
        Voice(cymbals.jingles(), hits("tambourine", ".... 7..2 .... 8..."), 0, 0.3, -14, 5),
        bars=1,
        room=SHED,
        low_cut_hz=250,
        drive=2.0,
    )


def _cork_drum() -> Loop:
    return MARKET_MORNING.loop(
        "cork-drum",
        "percussion",
        Voice(
            percussion.hand_drum(205),
            hits("high open", "...6 .... .... ..76 | ...6 .... .6.. ..7.")
            + hits("high slap", ".... 8... .... 7... | .... 8... .... 7...")
            + hits("high heel", "4.2. ..3. 4.23 ..3. | 4.2. ..3. 4.2. ...3"),
            0,
            0.2,
            -14,
        ),
        Voice(
            percussion.hand_drum(138, 0.2), hits("low open", "7... ..5. .... .... | 7... ..5. .... ..65"), 0, -0.25, -14
        ),
        bars=2,
        room=SHED,
        low_cut_hz=60,
        drive=1.2,
    )


def _square_murmur() -> Loop:
    chance = random_of("square-murmur", "people")
    said = tuple(
        Note(
            Fraction(int(chance.randint(0, 16 * 240)), 240),
            "syllable",
            float(chance.uniform(0.25, 0.8)),
            Fraction(1, 4),
        )
        for _ in range(170)
    )
    return MARKET_MORNING.loop(
        "square-murmur",
        "background",
        Voice(weather.bed(weather.MURMUR, 0.6), (Note(Fraction(0), "murmur", 0.5, Fraction(16)),), -6, room_db=-40),
        Voice(weather.syllable(), said, 0, 0, -2, 0),
        room=QUAY,
        low_cut_hz=110,
    )


LOOPS = [
    _stall_stomp(),
    _bicycle_bell(),
    _bread_cart(),
    _hopping_eel(),
    _kettle_steam(),
    _orange_crate(),
    _penny_kite(),
    _spoon_dance(),
    _pepper_mill(),
    _cork_drum(),
    _square_murmur(),
]
