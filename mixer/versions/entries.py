"""What changed in what a layer does where it is heard: when it comes and goes, how loud, where, with which fades.

The same change in several sections is one change with several passages; one that holds wherever the layer is heard
is so throughout.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from mixer.song.plan import Part
from mixer.versions.change import Both, Change, Passage, Value
from mixer.versions.playing import Playing, Scene

Found = tuple[str, Both[Value], Passage]


def entry_changes(layer: int, parts: Both[Part], pairs: Sequence[Both[Scene]]) -> list[Change]:
    """Find what changed in what one layer does.

    Parameters
    ----------
    layer : its number
    parts : the layer in both versions
    pairs : the sections that both versions have
    """
    names = Both(parts.old.layer.name, parts.new.layer.name)
    shared = [pair for pair in pairs if layer in pair.old.playing and layer in pair.new.playing]
    found = [each for pair in pairs for each in _in_section(layer, pair)]
    grouped: dict[tuple[str, Both[Value]], list[Passage]] = {}
    for kind, value, passage in found:
        grouped.setdefault((kind, value), []).append(passage)
    changes = [
        Change(kind, value, names, tuple(passages), throughout=_everywhere(kind, passages, shared))
        for (kind, value), passages in grouped.items()
    ]
    return [*_levels(layer, parts, names, shared), *changes]


def _everywhere(kind: str, passages: Sequence[Passage], shared: Sequence[Both[Scene]]) -> bool:
    return kind not in ("plays", "enters", "leaves", "rests") and len(passages) == len(shared) > 1


def _in_section(layer: int, pair: Both[Scene]) -> Iterator[Found]:
    old, new = pair.old.playing.get(layer), pair.new.playing.get(layer)
    if old is None and new is None:
        return
    if old is None or new is None:
        yield "plays", Both(old.spans if old else None, new.spans if new else None), _same_bars(pair, old or new)
        return
    yield from _bars(pair, old, new)
    whole = Both(pair.old.heard_stretch(layer), pair.new.heard_stretch(layer))
    values: list[tuple[str, Value, Value]] = [
        ("pan", old.pan, new.pan),
        ("fade-in", old.fade_in_bars, new.fade_in_bars),
        ("fade-out", old.fade_out_bars, new.fade_out_bars),
    ]
    for kind, before, after in values:
        if before != after:
            yield kind, Both(before, after), whole
    offsets, new_offsets = dict(zip(old.bars, old.offsets, strict=True)), dict(zip(new.bars, new.offsets, strict=True))
    differ = [bar for bar in offsets.keys() & new_offsets.keys() if offsets[bar] != new_offsets[bar]]
    if old.begins != new.begins and differ:
        first, last = min(differ), max(differ)
        yield "phase", Both(old.begins, new.begins), Both(pair.old.stretch(first, last), pair.new.stretch(first, last))


def _same_bars(pair: Both[Scene], playing: Playing | None) -> Passage:
    """Give the bars in which a layer is heard in one version, in both as far as they are so long."""
    first, last = (playing.bars[0], playing.bars[-1]) if playing else (1, 1)
    sides = [
        scene.stretch(first, min(last, scene.section.bars)) if first <= scene.section.bars else None
        for scene in (pair.old, pair.new)
    ]
    return Both(*sides)


def _bars(pair: Both[Scene], old: Playing, new: Playing) -> Iterator[Found]:
    """When it comes and goes. What lies in the bars by which a section grew or shrank is no change by itself."""
    lengths = pair.old.section.bars, pair.new.section.bars
    if _goes_with_length(set(old.bars), set(new.bars), *lengths):
        return
    first, last = Both(old.bars[0], new.bars[0]), Both(old.bars[-1], new.bars[-1])
    other_start = first.old != first.new
    other_end = last.old != last.new and (last.old, last.new) != lengths
    if len(old.spans) > 1 or len(new.spans) > 1 or (other_start and other_end):
        bars = set(old.bars) ^ set(new.bars)
        yield "rests", Both(old.spans, new.spans), _clipped(pair, min(bars), max(bars))
    elif other_start:
        low, high = sorted((first.old, first.new))
        yield "enters", Both(first.old, first.new), _clipped(pair, low, high - 1)
    elif other_end:
        low, high = sorted((last.old, last.new))
        yield "leaves", Both(last.old, last.new), _clipped(pair, low + 1, high)


def _goes_with_length(old: set[int], new: set[int], old_length: int, new_length: int) -> bool:
    common = min(old_length, new_length)
    if {bar for bar in old if bar <= common} != {bar for bar in new if bar <= common}:
        return False
    beyond = {bar for bar in old | new if bar > common}
    return not beyond or (common in old and len(beyond) == max(old_length, new_length) - common)


def _clipped(pair: Both[Scene], first: int, last: int) -> Passage:
    """Give the same bars in both versions, at least one in each."""
    sides = []
    for scene in (pair.old, pair.new):
        end = min(last, scene.section.bars)
        sides.append(scene.stretch(min(first, end), end))
    return Both(*sides)


def _levels(layer: int, parts: Both[Part], names: Both[str], shared: Sequence[Both[Scene]]) -> Iterator[Change]:
    """How loud: where it is louder or softer by the same everywhere, that is one change."""
    values = [Both(pair.old.playing[layer].level_db, pair.new.playing[layer].level_db) for pair in shared]
    passages = [Both(pair.old.heard_stretch(layer), pair.new.heard_stretch(layer)) for pair in shared]
    differences = {round(value.new - value.old, 3) for value in values}
    if len(shared) > 1 and len(differences) == 1 and differences != {0}:
        own = Both(round(parts.old.layer.level_db, 3), round(parts.new.layer.level_db, 3))
        first = values[0] if len(set(values)) == 1 or round(own.new - own.old, 3) not in differences else own
        yield Change("level", Both(first.old, first.new), names, tuple(passages), throughout=True)
        return
    grouped: dict[Both[float], list[Passage]] = {}
    for value, passage in zip(values, passages, strict=True):
        if value.old != value.new:
            grouped.setdefault(value, []).append(passage)
    for value, places in grouped.items():
        yield Change("level", Both(value.old, value.new), names, tuple(places))
