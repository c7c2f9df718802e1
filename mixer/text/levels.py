"""Blocks while they are read: they grow line by line until the text ends, and a line belongs to one that is open.

Which one, is told by the line's column where that is plain, and else by its key: a block knows its words.
"""

from __future__ import annotations

from mixer.text.grammar import Grammar
from mixer.text.names import same_word
from mixer.text.nodes import Items, Node, Pairs, Text
from mixer.text.values import DEEPEST
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

    @property
    def last_key(self) -> str:
        """The key that was read last; empty where none was."""
        return self.pairs[-1][0].value if self.pairs else ""


class Slot:
    """A place for a value that may still grow."""

    def __init__(self, *, empty_at: Place, text: Text | None = None, level: Level | None = None) -> None:
        self.text = text
        self.level = level
        self.node: Node | None = None
        self.free = False
        self.empty_at = empty_at


class TooDeepError(Exception):
    """A block stands inside more others than any recipe needs."""

    def __init__(self, level: Level) -> None:
        super().__init__()
        self.level = level


class OpenLevels:
    """The blocks that are open at a line, the outermost first.

    Parameters
    ----------
    grammar : the key words of the language that is read
    """

    def __init__(self, grammar: Grammar) -> None:
        self.levels: list[Level] = []
        self._grammar = grammar

    def push(self, level: Level) -> None:
        """Open a block inside the innermost one.

        Raises
        ------
        TooDeepError
            If too many are open.
        """
        if len(self.levels) > DEEPEST:
            raise TooDeepError(level)
        self.levels.append(level)

    def close_to(self, level: Level) -> None:
        """Close all that were opened inside a block."""
        while self.levels[-1] is not level:
            self.levels.pop()

    @property
    def innermost(self) -> Level:
        """The block that was opened last; there is one."""
        return self.levels[-1]

    @property
    def of_pairs(self) -> list[Level]:
        """The open blocks of keys and values."""
        return [level for level in self.levels if level.pairs is not None]

    @property
    def of_items(self) -> list[Level]:
        """The open lists."""
        return [level for level in self.levels if level.items is not None]

    def list_at(self, column: int) -> Level | None:
        """Give the list to which a dash most plainly belongs (the nearest one, the inner of two); None if none is."""
        return min(reversed(self.of_items), key=lambda level: abs(level.column - column), default=None)

    def pairs_at(self, column: int, word: str) -> Level | None:
        """Give the block to which a key most plainly belongs; None if none is open.

        The one that stands at its column; else one that knows it, then the nearest, then the deepest.
        """
        levels = self.of_pairs
        exact = [level for level in levels if level.column == column]
        if len(exact) > 1 and exact[-1].at_edge and not exact[-1].name:  # a section at the edge, without its dash
            return exact[0] if word in self._words_at(exact[0]) - self._grammar.inner else exact[-1]
        if len(exact) > 1 or (exact and exact[0].at_edge):
            below = same_word(exact[-1].name) in self._grammar.named
            return exact[-1] if below != (word in self._words_at(exact[0])) else exact[0]
        if exact:
            return exact[0]

        def strangeness(level: Level) -> tuple[bool, int, int]:
            key_words = same_word(level.name) not in self._grammar.named and bool(self._grammar.top)
            known = word in self._words_at(level)
            return known != key_words, abs(level.column - column), -level.column

        return min(levels, key=strangeness, default=None)

    def belongs_below(self, name: str, word: str) -> bool:
        """Whether a key that stands no further in than `name`, the last key above it, can only belong to that."""
        if same_word(name) in self._grammar.named:
            return word not in self._words_at(self.innermost)
        return same_word(self.innermost.name) == "layers" and word in self._grammar.inner

    def _words_at(self, level: Level) -> frozenset[str]:
        return self._grammar.top if level is self.levels[0] else self._grammar.inner


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
