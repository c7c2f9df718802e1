"""Right recipes made by a generator, in either spelling, with what they must come to.

A song is drawn as plain data first; `short` and `long` write it in the two spellings of the language, and `meaning`
says what the language makes of it, worked out here from the language's rules alone, on sets of bars.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace

from hypothesis import strategies as st

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


# -- what it must come to ----------------------------------------------------------------------------


@dataclass(frozen=True)
class Heard:
    """A layer in a section: its bars, and whether it goes on where the section is made longer."""

    bars: frozenset[int]
    open_end: bool
    level_db: float = 0.0
    pan: float | None = None
    fade_in: float = 0.0
    fade_out: float = 0.0
    from_the_top: bool = False


@dataclass(frozen=True)
class Meant:
    """A section as it must turn out."""

    name: str
    bars: int
    heard: dict[str, Heard] = field(hash=False)
    meant: str = ""
    fade_in: float = 0.0
    fade_out: float = 0.0
    continues: frozenset[str] = frozenset()


def meaning(song: DrawnSong) -> list[Meant]:
    found: list[Meant] = []
    for section in song.sections:
        found.append(_meaning(section, found, list(song.layers)))
    return found


def _meaning(section: DrawnSection, above: list[Meant], layers: list[str]) -> Meant:
    says = section.entries is not None or section.everything is not None or section.nothing
    wanted = section.like or ("" if says else section.name)
    base = next((each for each in reversed(above) if each.name.casefold() == wanted.casefold()), None)
    bars = section.bars if section.bars is not None else base.bars
    heard = {name: _fitted(each, base.bars, bars) for name, each in base.heard.items()} if base else {}
    if section.everything is not None:
        heard |= {name: _heard(DrawnEntry(name, section.everything), bars) for name in layers}
    heard |= {entry.layer: _heard(entry, bars) for entry in section.entries or ()}
    for name, spans in section.without:
        taken = _bars(spans, bars)
        left = heard[name].bars - taken
        heard[name] = replace(heard[name], bars=left, open_end=heard[name].open_end and bars in left)
    heard = {name: _fades_fitted(each) for name, each in heard.items() if each.bars}
    return _with_other(base or Meant("", bars, {}), section, bars, heard)


def _with_other(base: Meant, section: DrawnSection, bars: int, heard: dict[str, Heard]) -> Meant:
    other = section.other
    return Meant(
        section.name,
        bars,
        heard,
        other.get("meant", base.meant),
        min(_number(other.get("fade in")) or base.fade_in, bars),
        min(_number(other.get("fade out")) or base.fade_out, bars),
        frozenset(filter(None, other["continue"].split(", "))) if "continue" in other else base.continues,
    )


def _bars(spans: Spans, bars: int) -> frozenset[int]:
    if not spans:
        return frozenset(range(1, bars + 1))
    return frozenset(bar for a, b in spans for bar in range(a, (bars if b is None else b) + 1))


def _heard(entry: DrawnEntry, bars: int) -> Heard:
    details = entry.details
    return Heard(
        _bars(entry.spans, bars),
        not entry.spans or any(last is None for _, last in entry.spans),
        LEVELS.get(details.get("level", "0"), 0.0),
        PANS.get(details.get("pan", "")),
        _number(details.get("fade in")),
        _number(details.get("fade out")),
        details.get("from the top") == "yes",
    )


def _fitted(heard: Heard, before: int, bars: int) -> Heard:
    grown = range(before + 1, bars + 1) if heard.open_end else ()
    return replace(heard, bars=frozenset(bar for bar in (*heard.bars, *grown) if bar <= bars))


def _fades_fitted(heard: Heard) -> Heard:
    most = len(heard.bars)
    return replace(heard, fade_in=min(heard.fade_in, most), fade_out=min(heard.fade_out, most))


def _number(value: str | None) -> float:
    return float(value.split()[0]) if value else 0.0


# -- drawing -----------------------------------------------------------------------------------------


@st.composite
def songs(draw: st.DrawFn) -> DrawnSong:
    names = draw(st.lists(st.sampled_from(NAMES), min_size=1, max_size=5, unique_by=str.casefold))
    layers = {name: draw(layer_details()) for name in names}
    sections: list[DrawnSection] = []
    above: list[Meant] = []
    for name in draw(st.lists(st.sampled_from(SECTIONS), min_size=1, max_size=6)):
        section = draw(later_section(name, names, above)) if above else draw(new_section(name, names, first=True))
        sections.append(section)
        above.append(_meaning(section, above, names))
    if {name for section in above for name in section.heard} != set(names):
        sections.append(DrawnSection("finale", 4, everything=()))
    top = {word: draw(st.sampled_from(values)) for word, values in TOPS.items() if draw(st.booleans())}
    if draw(st.booleans()):
        top["hear"] = draw(st.sampled_from([section.name for section in sections]))
    return DrawnSong(draw(st.sampled_from(TEXTS)), draw(st.sampled_from(sorted(TEMPOS))), top, layers, tuple(sections))


@st.composite
def layer_details(draw: st.DrawFn) -> dict[str, str]:
    found = {"loop": draw(st.sampled_from(LOOPS))}
    choices = {
        "level": sorted(LEVELS),
        "pan": sorted(PANS),
        "pitch": sorted(PITCHES),
        "role": ["drums", "bass", "melody"],
        "speed": ["half", "double", "as recorded"],
    }
    for word in draw(st.lists(st.sampled_from(sorted(choices)), max_size=2, unique=True)):
        found[word] = draw(st.sampled_from(choices[word]))
    return found


@st.composite
def new_section(draw: st.DrawFn, name: str, names: list[str], *, first: bool = False) -> DrawnSection:
    bars = draw(st.integers(1, 16))
    kind = draw(st.sampled_from(["entries", "entries", "everything", "nothing"]))
    if kind == "nothing":
        return DrawnSection(name, bars, nothing=True, other=draw(other_keys(bars, [])))
    who = draw(st.lists(st.sampled_from(names), min_size=kind == "entries", unique=True))
    entries = tuple(draw(entry(layer, bars)) for layer in who)
    everything = draw(spans(bars)) if kind == "everything" else None
    playing = names if kind == "everything" else who
    # A fade would be too long for what is left.
    faded = {each.layer for each in entries if {"fade in", "fade out"} & each.details.keys()}
    may_go = [layer for layer in playing if layer not in faded]
    out = draw(st.lists(st.sampled_from(may_go), max_size=1)) if len(may_go) > 1 else []
    without = tuple((layer, draw(spans(bars))) for layer in out)
    other = draw(other_keys(bars, [] if first else playing))
    return DrawnSection(name, bars, "", entries, everything, without, other=other)


@st.composite
def later_section(draw: st.DrawFn, name: str, names: list[str], above: list[Meant]) -> DrawnSection:
    """A new section, one like another, or one once more."""
    kind = draw(st.sampled_from(["new", "like", "again"]))
    again = next((each for each in reversed(above) if each.name.casefold() == name.casefold()), None)
    if kind == "new" or (kind == "again" and again is None):
        return draw(new_section(name, names))
    base = again if kind == "again" else draw(st.sampled_from(above))
    # The nearest of that name counts.
    base = next(each for each in reversed(above) if each.name.casefold() == base.name.casefold())
    if kind == "again":
        return DrawnSection(name)
    last = max([1, *(min(each.bars) for each in base.heard.values())])  # nobody is cut away
    bars = draw(st.one_of(st.none(), st.integers(last, 16)))
    length = bars or base.bars
    who = draw(st.lists(st.sampled_from(names), max_size=2, unique=True))
    entries = tuple(draw(entry(layer, length)) for layer in who) or None
    playing = [layer for layer in names if layer in base.heard and layer not in who]
    out = draw(st.lists(st.sampled_from(playing), max_size=1)) if playing else []
    without = tuple((layer, draw(spans(length))) for layer in out)
    return DrawnSection(name, bars, base.name, entries, without=without, other=draw(other_keys(length, names)))


@st.composite
def entry(draw: st.DrawFn, layer: str, bars: int) -> DrawnEntry:
    found = DrawnEntry(layer, draw(spans(bars)))
    heard = len(_bars(found.spans, bars))
    choices = {
        "level": sorted(LEVELS),
        "pan": sorted(PANS),
        "fade in": fades(heard),
        "fade out": fades(heard),
        "from the top": ["yes", "no"],
    }
    words = draw(st.lists(st.sampled_from(sorted(choices)), max_size=2, unique=True)) if draw(st.booleans()) else []
    return replace(found, details={word: draw(st.sampled_from(choices[word])) for word in words})


def fades(most: int) -> list[str]:
    return ["1 bar", "1", "0.5 bars", *(["2 bars", "1.5"] if most > 1 else [])]


@st.composite
def other_keys(draw: st.DrawFn, bars: int, may_continue: list[str]) -> dict[str, str]:
    choices = {"meant": TEXTS, "fade in": fades(bars), "fade out": fades(bars)}
    if may_continue:
        choices["continue"] = tuple(may_continue)
    words = draw(st.lists(st.sampled_from(sorted(choices)), max_size=2, unique=True)) if draw(st.booleans()) else []
    return {word: draw(st.sampled_from(choices[word])) for word in words}


@st.composite
def spans(draw: st.DrawFn, bars: int) -> Spans:
    if draw(st.booleans()):
        return ()
    cuts = sorted(draw(st.lists(st.integers(1, bars), min_size=1, max_size=4)))
    pairs: list[tuple[int, int | None]] = [(cuts[n], cuts[n + 1]) for n in range(0, len(cuts) - 1, 2)]
    pairs += [(cuts[-1], None)] if len(cuts) % 2 else []
    return tuple(pairs)


# -- writing -----------------------------------------------------------------------------------------


def said(pairs: Spans) -> str:
    return ", ".join(f"{a}-" if b is None else f"{a}" if a == b else f"{a}-{b}" for a, b in pairs)


def _head(song: DrawnSong) -> list[str]:
    return [f"title: {song.title}", f"tempo: {song.tempo}", *(f"{word}: {value}" for word, value in song.top.items())]


def _listed(section: DrawnSection, *, without: bool) -> str:
    who = ["nothing"] if section.nothing else []
    who += [f"everything {said(section.everything)}".rstrip()] if section.everything is not None else []
    who += [f"{each.layer} {said(each.spans)}".rstrip() for each in section.entries or ()]
    who += [f"without {_taken(section)}"] if without and section.without else []
    return ", ".join(who)


def _taken(section: DrawnSection) -> str:
    return ", ".join(f"{layer} {said(pairs)}".rstrip() for layer, pairs in section.without)


def short(song: DrawnSong) -> str:
    lines = [*_head(song), "layers:"]
    for name, details in song.layers.items():
        if len(details) == 1:
            lines.append(f"  {name}: {details['loop']}")
        else:
            lines.append(f"  {name}: {{{', '.join(f'{word}: {value}' for word, value in details.items())}}}")
    lines.append("sections:")
    for section in song.sections:
        head = f"  - {section.name}"
        head += f", {section.bars} bar{'s' if section.bars != 1 else ''}" if section.bars is not None else ""
        head += f", like {section.like}" if section.like else ""
        detailed = any(each.details for each in section.entries or ())
        listed = "" if detailed else _listed(section, without=True)
        below = [f"{word}: {value}" for word, value in section.other.items()]
        if detailed:
            below += _play(section)
        colon = ":" if listed or below else ""
        lines += [f"{head}{colon} {listed}".rstrip(), *(f"    {line}" for line in below)]
    return "\n".join([*lines, ""])


def long(song: DrawnSong) -> str:
    lines = ["layers:"]
    for name, details in song.layers.items():
        lines += [f"  {name}:", *(f"    {word}: {value}" for word, value in reversed(details.items()))]
    lines.append("sections:")
    for section in song.sections:
        lines.append(f"  - name: {section.name}")
        lines += [f"    bars: {section.bars}"] if section.bars is not None else []
        lines += [f"    like: {section.like}"] if section.like else []
        lines += [f"    {line}" for line in _play(section)]
        lines += [f"    {word}: {value}" for word, value in section.other.items()]
    return "\n".join([*lines, *_head(song), ""])


def _play(section: DrawnSection) -> list[str]:
    """The keys `play` and `without` of the long form."""
    lines = []
    if section.nothing:
        lines.append("play: nothing")
    elif section.entries or section.everything is not None:
        lines.append("play:")
        if section.everything is not None:
            lines.append(f"  everything: {said(section.everything)}".rstrip())
        for each in section.entries or ():
            details = {**({"in bars": said(each.spans)} if each.spans else {}), **each.details}
            lines += [f"  {each.layer}:", *(f"    {word}: {value}" for word, value in details.items())]
    return [*lines, *([f"without: {_taken(section)}"] if section.without else [])]


# -- other dress, same recipe ------------------------------------------------------------------------


def dressed(text: str, how: int) -> str:
    """The same recipe with other line ends, blank lines, wider steps, spaces at line ends, notes between the lines."""
    lines = text.split("\n")
    if how & 1:
        lines = [re.sub(r"^( *)(- )?", lambda m: m[1] * 2 + (m[2] or "") * 2, line) for line in lines]
        lines = [re.sub(r"^( *)- - ", r"\1-   ", line) for line in lines]
    if how & 2:
        lines = [part for line in lines for part in (line, "")]
    if how & 4:
        lines = [part for line in lines for part in (" # a note: with - signs", line)]
    if how & 8:
        lines = [f"{line}  " for line in lines]
    return ("\r\n" if how & 16 else "\r" if how & 32 else "\n").join(lines)
