"""Right recipes made by a generator, in either spelling, with what they must come to.

A song is drawn as plain data first; `short` and `long` write it in the two spellings of the language.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from hypothesis import strategies as st

LOOPS = ("tin-roof", "wet-cardboard", "slow-tide", "paper-lantern", "rice-jar", "gull-song")
# Names that people give: several scripts, figures inside, signs that YAML wants for itself elsewhere.
NAMES = (
    "drums",
    "bass",
    "left piano",
    "太鼓",
    "βαθιά",
    "дощ",
    "فانوس",
    "tune b",
    "loop #2",
    "über-low",
    "it's me",
    "hum & strum",
)
SECTIONS = ("intro", "verse", "verse 2", "chorus", "Refrain", "はじまり", "στροφή", "the end", "part #4", "b-side")
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
)


@dataclass(frozen=True)
class DrawnSection:
    name: str
    bars: int
    heard: dict[str, tuple[tuple[int, int], ...]] = field(hash=False)  # spans; empty for the whole section
    meant: str = ""


@dataclass(frozen=True)
class DrawnSong:
    title: str
    tempo: str
    layers: dict[str, str] = field(hash=False)
    sections: tuple[DrawnSection, ...] = ()


@st.composite
def songs(draw: st.DrawFn) -> DrawnSong:
    names = draw(st.lists(st.sampled_from(NAMES), min_size=1, max_size=5, unique=True))
    layers = {name: draw(st.sampled_from(LOOPS)) for name in names}
    count = draw(st.integers(1, 5))
    sections = []
    for name in draw(st.lists(st.sampled_from(SECTIONS), min_size=count, max_size=count, unique=True)):
        bars = draw(st.integers(1, 16))
        who = draw(st.lists(st.sampled_from(names), min_size=1, unique=True))
        heard = {layer: draw(spans(bars)) for layer in names if layer in who}
        sections.append(DrawnSection(name, bars, heard, draw(st.sampled_from(("", *TEXTS)))))
    tempo = draw(st.sampled_from(("40", "96", "92.5", "92,5", "120 bpm", "240")))
    return DrawnSong(draw(st.sampled_from(TEXTS)), tempo, layers, tuple(sections))


@st.composite
def spans(draw: st.DrawFn, bars: int) -> tuple[tuple[int, int], ...]:
    if draw(st.booleans()):
        return ()
    cuts = sorted(draw(st.lists(st.integers(1, bars), min_size=2, max_size=4, unique=True))) if bars > 1 else [1, 1]
    pairs = [(cuts[n], cuts[n + 1]) for n in range(0, len(cuts) - 1, 2)]
    return () if pairs == [(1, bars)] else tuple(pairs)


def _spans(pairs: tuple[tuple[int, int], ...]) -> str:
    return ", ".join(f"{a}-{b}" if a != b else f"{a}" for a, b in pairs)


def _head(song: DrawnSong) -> list[str]:
    return [f"title: {song.title}", f"tempo: {song.tempo}", "layers:"]


def short(song: DrawnSong) -> str:
    lines = [*_head(song), *(f"  {name}: {loop}" for name, loop in song.layers.items()), "sections:"]
    for section in song.sections:
        heard = ", ".join(f"{layer} {_spans(pairs)}".rstrip() for layer, pairs in section.heard.items())
        lines.append(f"  - {section.name}, {section.bars} bar{'s' if section.bars != 1 else ''}: {heard}")
        if section.meant:
            lines.append(f"    meant: {section.meant}")
    return "\n".join([*lines, ""])


def long(song: DrawnSong) -> str:
    lines = [*_head(song)]
    for name, loop in song.layers.items():
        lines += [f"  {name}:", f"    loop: {loop}"]
    lines.append("sections:")
    for section in song.sections:
        lines += [f"  - name: {section.name}", f"    bars: {section.bars}"]
        if section.meant:
            lines.append(f"    meant: {section.meant}")
        lines.append("    play:")
        for layer, pairs in section.heard.items():
            lines += [f"      {layer}:", *([f"        in bars: {_spans(pairs)}"] if pairs else [])]
    return "\n".join([*lines, ""])
