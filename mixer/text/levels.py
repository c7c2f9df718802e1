"""Blocks while they are read: they grow line by line until the text ends."""

from __future__ import annotations

from dataclasses import dataclass, field

from mixer.text.nodes import Items, Node, Pairs, Text
from mixer.words.problem import Place


@dataclass
class Level:
    """An open block: its column, and what was read of it."""

    column: int
    place: Place
    pairs: list[tuple[Text, Slot]] | None = None
    items: list[Slot] | None = None
    name: str = ""  # the key above it
    at_edge: bool = False


@dataclass
class Slot:
    """A place for a value that may still grow."""

    text: Text | None = None
    level: Level | None = None
    node: Node | None = None
    free: bool = False
    empty_at: Place = field(default_factory=lambda: Place(""))


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
