"""What the sampled instruments play: two bars of 4/4 for each kind of sound, in ticks of a twelfth of a beat."""

from __future__ import annotations

import numpy as np

from benchmarks.stretch.sampled import TICKS_PER_BEAT, Note, Part

BEAT = TICKS_PER_BEAT
KICK, SNARE, CLOSED, OPEN, CRASH, RIDE, TAMBOURINE, MARACAS = 36, 38, 42, 46, 49, 51, 54, 70
HIGH_CONGA, LOW_CONGA, CLAVES, WOODBLOCK = 62, 64, 75, 76
CHORDS = ((57, 60, 64, 69), (53, 57, 60, 65), (55, 60, 64, 67), (55, 59, 62, 67))


def _hits(**lines: str) -> tuple[Note, ...]:
    """Sixteenths as text, one sign each: `.` rest, 1 to 9 strength."""
    notes = []
    for key, line in lines.items():
        for step, sign in enumerate(line.replace(" ", "")):
            if sign != ".":
                notes.append(Note(step * BEAT // 4, int(key[1:]), 10 + 13 * int(sign), BEAT // 4))
    return tuple(notes)


def _swung(notes: tuple[Note, ...]) -> tuple[Note, ...]:
    """Every second sixteenth a twelfth of a beat later."""
    return tuple(Note(n.tick + (1 if n.tick % 6 == 3 else 0), n.key, n.velocity, n.ticks) for n in notes)


def _drums(program: int, notes: tuple[Note, ...], gain: float = 1.0) -> Part:
    return Part(program, notes, drums=True, gain=gain)


def _line(
    program: int, text: str, gain: float = 1.0, short: int = 0, velocities: tuple[int, ...] = (80, 87, 94, 101)
) -> Part:
    """`key:sixteenths` or `-:sixteenths` (rest) one after the other; notes end `short` ticks early."""
    notes, step = [], 0
    for number, word in enumerate(text.split()):
        key, steps = word.split(":")
        if key != "-":
            length = max(1, int(steps) * BEAT // 4 - short)
            notes.append(Note(step * BEAT // 4, int(key), velocities[number % len(velocities)], length))
        step += int(steps)
    return Part(program, tuple(notes), gain=gain)


def _chords(program: int, rhythm: str, gain: float = 1.0, spread: int = 0) -> Part:
    """Four chords of half a bar; the rhythm is eight sixteenths, `x` strikes and `-` holds; `spread` ticks a voice."""
    notes = []
    for bar, chord in enumerate(CHORDS):
        for step, sign in enumerate(rhythm):
            if sign == "x":
                held = len(rhythm[step + 1 :]) - len(rhythm[step + 1 :].lstrip("-")) + 1
                for voice, key in enumerate(chord):
                    tick = bar * 2 * BEAT + step * BEAT // 4 + voice * spread
                    notes.append(Note(tick, key, 84 - 6 * (step % 4), held * BEAT // 4 - voice * spread))
    return Part(program, tuple(notes), gain=gain)


def _struck(program: int, strengths: str) -> Part:
    """The same chords as `_hits` are written, each held until the next is struck."""
    signs = strengths.replace(" ", "")
    steps = [step for step, sign in enumerate(signs) if sign != "."]
    lengths = np.diff([*steps, len(signs)]).tolist()
    return Part(
        program,
        tuple(
            Note(step * BEAT // 4, key, 10 + 13 * int(signs[step]), length * BEAT // 4)
            for step, length in zip(steps, lengths, strict=True)
            for key in CHORDS[step // 8]
        ),
    )


ROCK = _hits(
    n36="9.....7.8....... 9.....7.8..6....",
    n38="....9..1....9..2 ....9..1.2..9567",
    n42="7.5.7.5.7.5.7.5. 7.5.7.5.7.5.7...",
    n46="................ ..............6.",
)
FUNK = _swung(
    _hits(
        n36="9..6......7..... 9..6..7...7.....",
        n38="....9..2.2..9..1 ....9..2.2.29..3",
        n42="7474747474747474 7474747474747474",
    )
)
RIDING = _hits(
    n36="8.......8....... 8.......8.6.....",
    n38="..............3. ....2........3..",
    n51="7...7.5.7...7.5. 7...7.5.7...7.5.",
    n49="8............... ................",
)
LATIN = _hits(
    n62="..7...7...7..47. ..7...7...7.4.7.",
    n64="6...6...6....... 6...6...6.....55",
    n75="7.....7.....7... ....7...7.......",
    n70="5252525252525252 5252525252525252",
)
WOOD = _swung(
    _hits(
        n76="7..5..7...5.7.55 7..5..7...5.7.55",
        n54="..6...6...6...6. ..6...6...6...6.",
        n77="6...6...6...6... 6...6...6...6...",
    )
)
BASS = "33:3 33:1 36:2 -:2 33:3 40:1 38:2 31:2 29:3 29:1 33:2 -:2 31:3 31:1 35:2 36:2"
SLOW_BASS = "33:6 40:2 29:8 36:6 43:2 31:8"
# Every note out of silence.
SPARSE_BASS = "31:2 -:3 33:2 -:1 28:3 -:2 36:2 -:2 33:1 -:3 29:3 -:2 40:2 -:1 31:1 -:2"
SOFT_AND_STRONG = (110, 45, 90, 60, 30)
SPARSE_LONG = "43:6 -:6 40:5 -:5 45:6 -:4"
TUNE = "69:3 72:1 76:4 74:2 72:2 69:4 67:3 69:1 72:4 71:2 67:2 71:4"
QUICK = (
    "69:1 71:1 72:1 76:1 74:2 72:2 69:1 72:1 77:1 76:1 74:2 69:2 "
    "67:1 72:1 76:1 79:1 76:2 72:2 71:1 74:1 79:1 74:1 71:2 67:2"
)
SOFT = "9.3.6.3. 8.2.5.33 9.3.6.3. 8.2.5.33"
LONG = "69:8 77:4 76:4 72:8 74:4 71:4"

SCORES: dict[str, tuple[str, tuple[Part, ...]]] = {
    "rock kit": ("drums", (_drums(0, ROCK),)),
    "funk kit": ("drums", (_drums(0, FUNK),)),
    "electronic kit": ("drums", (_drums(24, ROCK),)),
    "ride and crash": ("drums", (_drums(32, RIDING),)),
    "congas": ("percussion", (_drums(0, LATIN),)),
    "woodblocks": ("percussion", (_drums(0, WOOD),)),
    "finger bass": ("bass", (_line(33, BASS),)),
    "upright bass": ("bass", (_line(32, BASS, short=1),)),
    "synth bass": ("bass", (_line(38, SLOW_BASS),)),
    "piano": ("harmony", (_chords(0, "x---x-x-"),)),
    "guitar": ("harmony", (_chords(25, "x-x-x-xx", spread=0),)),
    "electric piano": ("harmony", (_chords(4, "x-----x-"),)),
    "organ": ("harmony", (_chords(16, "x-------"),)),
    "strings": ("harmony", (_chords(48, "x-------"),)),
    "pad": ("harmony", (_chords(89, "x-------"),)),
    "harpsichord, softly": ("struck softly", (_struck(6, SOFT),)),
    "steel guitar, softly": ("struck softly", (_struck(25, SOFT),)),
    "flute": ("melody", (_line(73, TUNE),)),
    "violin": ("melody", (_line(40, LONG),)),
    "trumpet": ("melody", (_line(56, TUNE, short=1),)),
    "marimba": ("melody", (_line(12, QUICK),)),
    "nylon guitar": ("melody", (_line(24, QUICK),)),
    "soft horn": ("melody", (_line(60, TUNE),)),
    "cello": ("bass", (_line(42, SLOW_BASS),)),
    "fretless bass": ("bass", (_line(35, BASS),)),
    "picked bass": ("soft starts", (_line(34, SPARSE_BASS, velocities=SOFT_AND_STRONG),)),
    "slap bass": ("soft starts", (_line(36, BASS, short=1, velocities=SOFT_AND_STRONG),)),
    "cello with rests": ("swells", (_line(42, SPARSE_LONG, velocities=SOFT_AND_STRONG),)),
    "clarinet with rests": ("swells", (_line(71, SPARSE_LONG, velocities=SOFT_AND_STRONG),)),
    "choir": ("melody", (_line(52, LONG),)),
    "kit and strings": ("both", (_drums(0, ROCK, 0.8), _chords(48, "x-------"))),
    "kit and piano": ("both", (_drums(0, FUNK, 0.8), _chords(0, "x---x-x-"))),
    "kit, bass, organ": ("both", (_drums(0, ROCK, 0.8), _line(33, BASS), _chords(16, "x-------", 0.6))),
    "kit and slow bass": ("both", (_drums(0, FUNK, 0.8), _line(38, SLOW_BASS))),
    "kit and legato violin": ("both", (_drums(0, RIDING, 0.8), _line(40, LONG))),
    "woodblocks and choir": ("both", (_drums(0, WOOD, 0.8), _chords(52, "x-------"))),
    "kit and pad": ("both", (_drums(24, FUNK, 0.7), _chords(89, "x-------"))),
    "kit and guitar": ("both", (_drums(0, ROCK, 0.7), _chords(25, "x-x-x-xx"))),
    "congas and flute": ("both", (_drums(0, LATIN), _line(73, TUNE))),
}
