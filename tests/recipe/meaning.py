"""What a drawn song must come to, worked out from the language's rules alone, on sets of bars."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from tests.recipe.drawn import LEVELS, PANS, DrawnEntry, DrawnSection, DrawnSong, Spans


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
        found.append(section_meaning(section, found, list(song.layers)))
    return found


def section_meaning(section: DrawnSection, above: list[Meant], layers: list[str]) -> Meant:
    says = section.entries is not None or section.everything is not None or section.nothing
    wanted = section.like or ("" if says else section.name)
    base = next((each for each in reversed(above) if each.name.casefold() == wanted.casefold()), None)
    bars = section.bars if section.bars is not None else base.bars
    heard = {name: _fitted(each, base.bars, bars) for name, each in base.heard.items()} if base else {}
    if section.everything is not None:
        heard |= {name: _heard(DrawnEntry(name, section.everything), bars) for name in layers}
    heard |= {entry.layer: _heard(entry, bars) for entry in section.entries or ()}
    for name, spans in section.without:
        taken = bars_of(spans, bars)
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


def bars_of(spans: Spans, bars: int) -> frozenset[int]:
    if not spans:
        return frozenset(range(1, bars + 1))
    return frozenset(bar for a, b in spans for bar in range(a, (bars if b is None else b) + 1))


def _heard(entry: DrawnEntry, bars: int) -> Heard:
    details = entry.details
    return Heard(
        bars_of(entry.spans, bars),
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
