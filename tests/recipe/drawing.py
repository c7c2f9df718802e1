"""Draws songs that are right: every name known, every span inside its section, no fade longer than what plays."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import strategies as st

from tests.recipe.drawn import (
    LEVELS,
    LOOPS,
    NAMES,
    PANS,
    PITCHES,
    SECTIONS,
    TEMPOS,
    TEXTS,
    TOPS,
    DrawnEntry,
    DrawnSection,
    DrawnSong,
    Spans,
)
from tests.recipe.meaning import Meant, bars_of, section_meaning


@st.composite
def songs(draw: st.DrawFn) -> DrawnSong:
    names = draw(st.lists(st.sampled_from(NAMES), min_size=1, max_size=5, unique_by=str.casefold))
    layers = {name: draw(layer_details()) for name in names}
    sections: list[DrawnSection] = []
    above: list[Meant] = []
    for name in draw(st.lists(st.sampled_from(SECTIONS), min_size=1, max_size=6)):
        section = draw(later_section(name, names, above)) if above else draw(new_section(name, names, first=True))
        sections.append(section)
        above.append(section_meaning(section, above, names))
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
    heard = len(bars_of(found.spans, bars))
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
