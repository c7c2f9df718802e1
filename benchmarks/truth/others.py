"""What is not composed here: the demo loops at other tempos and keys, backgrounds, and what is no loop at all."""

from __future__ import annotations

import io
import shutil
import subprocess
import tempfile
import zlib
from fractions import Fraction
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import soundfile

from benchmarks.truth import band, spoil
from benchmarks.truth.band import Note, Part
from benchmarks.truth.scores import NAMES
from demo_loops.making.playing import sound_of
from demo_loops.making.scores import LOOPS

SAID = (
    "The last boat leaves at nine. Please have your tickets ready, and mind the gap between the boat and the quay.",
    "Hello, this is table four. We wanted the drums to come in late, so that the ending feels bigger.",
    "One more time from the top, and this time a bit slower.",
    "My grandmother sold oranges here for thirty years, rain or shine.",
    "Is it recording? I think it is recording.",
    "Yesterday we walked along the harbour wall and counted eleven ships.",
)
# Said only to fit by, never in the set.
SAID_MORE = (
    "Table two has a question about the bass.",
    "We recorded this beside the ferry, and you can hear the gulls.",
    "First the shaker, then the drums, then everybody together until the end.",
    "I like the second version better because it leaves more room.",
    "Can you hear me? The microphone was off the whole time, so we have to start again from the beginning.",
    "It rained all week. On Friday the sun came out and the market was full.",
    "Four cats, three dogs and one very old parrot live above the bakery.",
    "Please keep this one, and throw the other away.",
)
# Said, and heard as songs, only in a set made later (`make --aside`).
SAID_LATER = (
    "The bridge is closed on Monday, so we walk to school along the canal this week.",
    "Stop the recording when the second bell has rung, not before.",
    "Our group wants a quiet beginning, then everything, then only the voices.",
    "He carried the double bass up four flights of stairs and never complained.",
    "Who left the tambourine on the radiator?",
    "There were eleven of us in the boat and only ten life jackets.",
)
SONGS_LATER = ("borrowed-boats", "nuits-du-port", "ten-lines")
MORE_SPOKEN, MORE_AIRS = 32, 30
VOICES = ("en", "en-us+f3", "en-gb+m3", "en+f2", "de", "fr", "en-us+m7", "es")
SONGS = ("harbour-lights", "market-morning", "old-carousel", "all-there-is")
SOUNDS = (122, 126, 125, 124)  # seashore, applause, helicopter, telephone are no loops with bars


@lru_cache(maxsize=1)
def others() -> list[tuple[str, str]]:
    """What there is, in a fixed order."""
    demo = [("demo", name) for name in LOOPS]
    again = [("again", name) for place, name in enumerate(LOOPS) if place % 3 == 0]
    rest = [("speech", str(n)) for n in range(len(SAID))] + [("hit", str(n)) for n in range(8)]
    rest += [("song", name) for name in SONGS] + [("air", str(n)) for n in range(3)]
    return [*demo, *again, *rest]


def other(folder: Path, number: int) -> dict[str, Any]:
    """Make one of them: after the last the first again, otherwise drawn."""
    source, what = others()[number % len(others())]
    make = {"demo": _demo, "again": _demo, "speech": _speech, "hit": _hit, "song": _song, "air": _air}[source]
    draw = np.random.RandomState(9000 + number)
    truth: dict[str, Any] = dict.fromkeys(
        ("role", "tempo_bpm", "bars", "time", "downbeat_seconds", "key"),
    )
    truth.update(source=source, aside=is_aside(number), name="says nothing", chords=[], difficulties=[], problems=[])
    truth.update(make(folder, what, number, draw))
    return truth


def is_aside(number: int) -> bool:
    """Whether it is set aside: of demo loops the same in every round, by name."""
    source, name = others()[number % len(others())]
    return zlib.crc32(name.encode()) % 3 == 0 if source in ("demo", "again") else number % len(others()) % 3 == 2


def _write(folder: Path, name: str, samples: np.ndarray, rate_hz: int = band.RATE_HZ) -> str:
    soundfile.write(folder / name, np.clip(samples, -1, 32767 / 32768), rate_hz, subtype="PCM_16")
    return name


def _demo(folder: Path, name: str, number: int, draw: np.random.RandomState) -> dict[str, Any]:
    loop = LOOPS[name]
    tempo = Fraction(str(round(float(loop.tempo_bpm) * draw.uniform(0.8, 1.25), int(draw.choice((0, 0, 1, 2))))))
    up = int(draw.randint(-5, 7))
    samples = spoil.normal(sound_of(loop, tempo, up))
    difficulties = []
    if loop.beats_per_bar == 3:
        difficulties.append("3/4")
    if what := spoil.draw_one(spoil.CHANNELS, draw):
        samples = spoil.SPOILS[what](samples)
        difficulties.append(what)
    rate_hz = int(draw.choice(spoil.RATES_HZ))
    samples = spoil.at_rate(samples, band.RATE_HZ, rate_hz)
    key = _moved(loop.key, up) if loop.key != "none" else None
    worldly = loop.role == "background"
    stem, worth = spoil.named(500 + number, loop.role, float(tempo), key, loop.bars, draw)
    return {
        "file": _write(folder, f"{stem}.flac", samples, rate_hz),
        "kind": "loop",
        "role": loop.role,
        "tempo_bpm": None if worldly else float(tempo),
        "bars": None if worldly else loop.bars,
        "time": None if worldly else f"{loop.beats_per_bar}/4",
        "downbeat_seconds": None if worldly else 0.0,
        "key": key,
        "chords": [_moved(c, up) for c in loop.chords.split(" | ")] if loop.chords else [],
        "difficulties": difficulties,
        "problems": [what] if what and what != "mono" else [],
        "name": worth,
    }


def _moved(name: str, up: int) -> str:
    """A key or a chord so many semitones higher."""
    length = 2 if name[1:2] in ("#", "b") else 1
    letters = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
    pitch = letters[name[0]] + {"#": 1, "b": -1}.get(name[1:2], 0)
    return NAMES[(pitch + up) % 12] + name[length:]


def spoken(folder: Path, number: int) -> dict[str, Any]:
    """Speech to fit by."""
    truth: dict[str, Any] = dict.fromkeys(("tempo_bpm", "bars", "time", "downbeat_seconds", "key"))
    truth.update(source="spoken", aside=False, name="says nothing", chords=[], difficulties=[], problems=[])
    said = _said(
        SAID_MORE[number % len(SAID_MORE)], VOICES[(number * 3 + number // 8) % len(VOICES)], 130 + 9 * (number % 7)
    )
    return {**truth, "file": _write(folder, f"{number} said.wav", *said), "kind": "speech", "role": "voice"}


def air(folder: Path, number: int) -> dict[str, Any]:
    """Backgrounds to fit by: sampled ones, and coloured noise that swells, crackles or both."""
    draw = np.random.RandomState(11_000 + number)
    frames = draw.randint(5, 20) * band.RATE_HZ
    if number % 3 == 0:
        program = (122, 123, 126, 125)[number // 3 % 4]
        part = Part(program, (Note(Fraction(0), int(draw.randint(45, 80)), 110, Fraction(60)),))
        samples = band.play([part], 0.5, 4, 2 * frames / band.RATE_HZ, wet=True)
    else:
        hz = np.fft.rfftfreq(frames, 1 / band.RATE_HZ) + 20
        colour = (hz / 1000) ** -draw.uniform(0.2, 1.2) * np.exp(-(np.log(hz / draw.uniform(200, 6000)) ** 2) / 4)
        noise = np.fft.irfft(np.fft.rfft(draw.standard_normal((2, frames))) * colour, frames).T
        turns = np.arange(frames) / band.RATE_HZ * draw.uniform(0.05, 0.4)
        samples = noise / np.abs(noise).max() * (1 + 0.6 * np.sin(2 * np.pi * turns))[:, None]
        if number % 3 == 2:
            ticks = np.zeros((frames, 2))
            at = draw.randint(0, frames, draw.randint(60, 300))
            ticks[at] = draw.uniform(0.1, 1, (len(at), 2)) ** 2
            click = np.exp(-np.arange(900) / draw.uniform(20, 250)) * draw.standard_normal(900)
            bursts = [np.convolve(side, click)[:frames] for side in ticks.T]
            samples = samples * 0.5 + np.stack(bursts, axis=1) * 0.3
    truth: dict[str, Any] = dict.fromkeys(("tempo_bpm", "bars", "time", "downbeat_seconds", "key"))
    truth.update(source="airs", aside=False, name="says nothing", chords=[], difficulties=[], problems=[])
    name = _write(folder, f"{number} air.wav", spoil.normal(np.asarray(samples, np.float32)))
    return {**truth, "file": name, "kind": "loop", "role": "background"}


def _said(text: str, voice: str, speed: int) -> tuple[np.ndarray, int]:
    if not shutil.which("espeak-ng"):
        raise SystemExit("the set needs espeak-ng (a development tool): apt install espeak-ng")
    command = ["espeak-ng", "-v", voice, "-s", str(speed), "--stdout", text]
    said = subprocess.run(command, capture_output=True, check=True).stdout
    samples, rate_hz = soundfile.read(io.BytesIO(said), dtype="float32", always_2d=True)
    return samples, int(rate_hz)


def _speech(folder: Path, what: str, number: int, _draw: np.random.RandomState) -> dict[str, Any]:
    later, which = number // len(others()), int(what)
    text = SAID_LATER[(which + later) % len(SAID_LATER)] if later else SAID[which]
    samples, rate_hz = _said(text, VOICES[which % 3 + later], 140 + 10 * which)
    return {
        "file": _write(folder, f"{500 + number} recording.wav", samples, rate_hz),
        "kind": "speech",
        "role": "voice",
    }


def _hit(folder: Path, what: str, number: int, draw: np.random.RandomState) -> dict[str, Any]:
    key = (36, 38, 49, 60, 40, 72, 39, 64)[int(what)]
    drums = int(what) in (0, 1, 2, 6)
    part = Part(0 if drums else int(draw.choice((0, 33, 24, 11))), (Note(Fraction(0), key, 110, Fraction(2)),), drums)
    samples = band.play([part], 0.5, 0, 3 + draw.uniform(0, 3), wet=True)
    return {"file": _write(folder, f"{500 + number} hit.wav", spoil.normal(samples)), "kind": "hit"}


def _song(folder: Path, what: str, number: int, _draw: np.random.RandomState) -> dict[str, Any]:
    import mixer  # noqa: PLC0415 - only here

    name = f"{500 + number} mixdown.flac"
    later = number // len(others())
    what = SONGS_LATER[later - 1] if later else what
    with tempfile.TemporaryDirectory() as place:
        song = Path(place) / "song.wav"
        recipe = mixer.load_recipe(Path(__file__).parents[2] / "recipes" / f"{what}.yaml")
        mixer.render(mixer.plan(recipe), song)
        samples, rate_hz = soundfile.read(song, dtype="float32")
    _write(folder, name, samples, rate_hz)
    return {"file": name, "kind": "song"}


def _air(folder: Path, what: str, number: int, draw: np.random.RandomState) -> dict[str, Any]:
    part = Part(SOUNDS[int(what)], (Note(Fraction(0), 60, 110, Fraction(40)),))
    samples = spoil.normal(band.play([part], 0.5, 4, 16 + draw.randint(0, 9), wet=True))
    return {"file": _write(folder, f"{500 + number} outside.wav", samples), "kind": "loop", "role": "background"}
