"""A right recipe as plain data before it is written: what it may hold, and what the values that are written say."""

from __future__ import annotations

from dataclasses import dataclass, field

LOOPS = ("tin-roof", "wet-cardboard", "slow-tide", "paper-lantern", "rice-jar", "gull-song")
# Names that people give: several scripts, figures inside, signs that YAML wants for itself elsewhere, key words.
NAMES = (
    "drums",
    "bass",
    "left piano",
    "太鼓",
    "βαθιά",
    "дощ",
    "فانوس",
    "ढोल",
    "می‌خوانم",
    "tune b",
    "pad 2",
    "loop #2",
    "über-low",
    "it's me",
    "hum & strum",
    "Like-minded",
    "voice",
    "loop",
)
SECTIONS = (
    *("intro", "verse", "verse 2", "chorus", "Refrain", "はじまり", "στροφή", "كورس", "the end", "part #4", "b-side"),
    *("8 miles", "play time", "alike", "without you", "everything"),
)
TEXTS = (
    "Harbour Lights",
    "#1 Hit: the best",
    "*Stars* & more",
    "- dash -",
    "ночь",
    "@home!",
    "50 % off?",
    "1:30",
    "no",
    "~",
    "{braces} and [brackets]",
    "> quoted",
    "null",
    "👩‍👩‍👧 us",
    "it's",
    '5" rain',
)
# As it is written, and what it says in decibels, in parts of a side, in bars.
LEVELS = {"-6": -6.0, "+3": 3.0, "0": 0.0, "pp": -12.0, "mf": 0.0, "ff": 6.0, "-2.5 dB": -2.5, "+1,5": 1.5}
PANS = {"left 20": -0.2, "right 100": 1.0, "centre": 0.0, "center": 0.0, "Left 5 %": -0.05}
TEMPOS = {"40": 40.0, "96": 96.0, "92.5": 92.5, "92,5": 92.5, "120 bpm": 120.0, "240": 240.0, "٩٦": 96.0}
PITCHES = {"+12": 12, "-5": -5, "0": 0, "as recorded": "as recorded"}
TOPS = {
    "by": TEXTS,
    "about": TEXTS,
    "key": ("A minor", "Am", "Eb major", "F# dorian", "B♭ major"),
    "time": ("4/4", "3/4", "6/8", "12/8"),
    "habits": ("verse and chorus", "dance", "rounds and cycles", "none"),
    "may be heard": ("class", "school", "home"),
    "ending": ("last hit", "stop"),
}
Spans = tuple[tuple[int, int | None], ...]  # first and last bar, None to the end; none of them: all bars


@dataclass(frozen=True)
class DrawnEntry:
    layer: str
    spans: Spans = ()
    details: dict[str, str] = field(default_factory=dict, hash=False)  # key word, value


@dataclass(frozen=True)
class DrawnSection:
    name: str
    bars: int | None = None  # None where it follows from another section
    like: str = ""
    entries: tuple[DrawnEntry, ...] | None = None  # None where nothing is written
    everything: Spans | None = None
    without: tuple[tuple[str, Spans], ...] = ()
    nothing: bool = False
    other: dict[str, str] = field(default_factory=dict, hash=False)  # key word, value


@dataclass(frozen=True)
class DrawnSong:
    title: str
    tempo: str
    top: dict[str, str] = field(hash=False)
    layers: dict[str, dict[str, str]] = field(hash=False)  # name; key word, value
    sections: tuple[DrawnSection, ...] = ()
