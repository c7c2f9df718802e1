"""Blocks while they are read: they grow line by line until the text ends."""

from __future__ import annotations

from mixer.text.nodes import Items, Node, Pairs, Text
from mixer.words.problem import Place


class Level:
    """An open block: its column, and what was read of it."""

    def __init__(
        self,
        column: int,
        place: Place,
        *,
        pairs: list[tuple[Text, Slot]] | None = None,
        items: list[Slot] | None = None,
        name: str = "",
        at_edge: bool = False,
    ) -> None:
        self.column = column
        self.place = place
        self.pairs = pairs
        self.items = items
        self.name = name  # the key above it
        self.at_edge = at_edge


class Slot:
    """A place for a value that may still grow."""

    def __init__(self, *, empty_at: Place, text: Text | None = None, level: Level | None = None) -> None:
        self.text = text
        self.level = level
        self.node: Node | None = None
        self.free = False
        self.empty_at = empty_at


def frozen(level: Level) -> Node:
    """Give what was read of a block."""
    if level.items is not None:
        return Items(level.place, tuple(_node(slot) for slot in level.items))
    return Pairs(level.place, tuple((key, _node(slot)) for key, slot in level.pairs or ()))


def _node(slot: Slot) -> Node:
    if slot.level is not None:
        return frozen(slot.level)
    if slot.node is not None:
        return slot.node
    return slot.text if slot.text is not None else Text("", ((0, slot.empty_at),))
