"""Which layer and which section of the new version is which of the old one.

Layers go by their names, those that are left by their loops. Sections are aligned in order, as two sequences: the
alignment with the most points counts, and a section has points for its name and for what is heard in it. What is left
over on both sides and is plainly the same has moved.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import lru_cache

from mixer.song.plan import Part, Plan
from mixer.text.names import same_name
from mixer.versions.change import Both
from mixer.versions.playing import Scene

SAME_NAME = 4
ALIKE = 3
SAME_LENGTH = Fraction(1, 2)
ALIKE_ENOUGH = Fraction(1, 2)
"""Sections of different names are one section renamed if at least so much of what is heard in them is the same."""

Points = tuple[Fraction, int]


def pair_layers(old: Plan, new: Plan) -> list[Both[Part | None]]:
    """Pair the layers that are heard; those of the new version in its order, then those that are gone."""
    left = {same_name(part.layer.name): part for part in old.parts if part.cues}
    pairs = [Both(left.pop(same_name(part.layer.name), None), part) for part in new.parts if part.cues]
    for number, pair in enumerate(pairs):
        if pair.old is None and pair.new is not None:
            twin = next((form for form, part in left.items() if part.fit.card.name == pair.new.fit.card.name), None)
            if twin is not None:
                pairs[number] = Both(left.pop(twin), pair.new)
    return [*pairs, *(Both(part, None) for part in left.values())]


def pair_sections(old: Sequence[Scene], new: Sequence[Scene]) -> tuple[list[tuple[int, int]], list[tuple[int, int]]]:
    """Pair sections by their numbers in both versions: those that follow in order, and those that have moved.

    Where several alignments are equally good, the one that is taken does not depend on which version is the old one.
    """
    if _as_text(new) < _as_text(old):
        in_order, moved = pair_sections(new, old)
        return [(i, j) for j, i in in_order], [(i, j) for j, i in moved]
    points = _points_table(old, new)
    in_order = _alignment(points, len(old), len(new))
    left_old = set(range(len(old))) - {i for i, _ in in_order}
    left_new = set(range(len(new))) - {j for _, j in in_order}
    moved = []
    for i, j in sorted(points, key=lambda pair: (-points[pair], sum(pair), pair)):
        if i in left_old and j in left_new and points[i, j] >= SAME_NAME + ALIKE * ALIKE_ENOUGH:
            moved.append((i, j))
            left_old.remove(i)
            left_new.remove(j)
    return in_order, sorted(moved)


def _as_text(scenes: Sequence[Scene]) -> list[str]:
    return [repr((same_name(each.section.name), each.section.bars, sorted(each.playing.items()))) for each in scenes]


def _points_table(old: Sequence[Scene], new: Sequence[Scene]) -> dict[tuple[int, int], Fraction]:
    """Give the points of every two sections that may be one."""
    alike = lru_cache(maxsize=None)(_alike)
    old_seen, new_seen = [_seen(scene) for scene in old], [_seen(scene) for scene in new]
    table = {}
    for i, (name, bars, cells) in enumerate(old_seen):
        for j, (new_name, new_bars, new_cells) in enumerate(new_seen):
            part = alike(cells, new_cells)
            if name == new_name or part >= ALIKE_ENOUGH:
                table[i, j] = SAME_NAME * (name == new_name) + ALIKE * part + SAME_LENGTH * (bars == new_bars)
    return table


_Cells = frozenset[tuple[int, int]]


def _seen(scene: Scene) -> tuple[str, int, _Cells]:
    """Give name, length, and for each layer the bars in which it is heard, as the bits of a number."""
    cells = frozenset((layer, sum(1 << bar for bar in each.bars)) for layer, each in scene.playing.items())
    return same_name(scene.section.name), scene.section.bars, cells


def _alike(old: _Cells, new: _Cells) -> Fraction:
    """How much of what is heard in one or the other is heard in both, 0 to 1."""
    bars, new_bars = dict(old), dict(new)
    layers = bars.keys() | new_bars.keys()
    both = sum((bars.get(layer, 0) & new_bars.get(layer, 0)).bit_count() for layer in layers)
    either = sum((bars.get(layer, 0) | new_bars.get(layer, 0)).bit_count() for layer in layers)
    return Fraction(both, either) if either else Fraction(1)


def _alignment(points: dict[tuple[int, int], Fraction], old_count: int, new_count: int) -> list[tuple[int, int]]:
    """Find the pairs in order that have the most points; at a tie the earlier sections are paired."""
    best: list[list[Points]] = [[(Fraction(0), 0)] * (new_count + 1) for _ in range(old_count + 1)]
    for i in range(old_count):
        for j in range(new_count):
            best[i + 1][j + 1] = max(best[i][j + 1], best[i + 1][j])
            if (i, j) in points:
                before = best[i][j]
                best[i + 1][j + 1] = max(best[i + 1][j + 1], (before[0] + points[i, j], before[1] - i - j))
    pairs = []
    i, j = old_count, new_count
    while i and j:
        if best[i][j] == best[i - 1][j]:
            i -= 1
        elif best[i][j] == best[i][j - 1]:
            j -= 1
        else:
            i, j = i - 1, j - 1
            pairs.append((i, j))
    return pairs[::-1]
