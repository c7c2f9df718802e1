"""What a text holds, as plain data: texts, pairs and items, each with its place.

This is all that the readers of recipes, catalogs and briefs see. Every value is a text: what a number or
a key is, the reader's own table decides.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator

from mixer.record import record
from mixer.words.problem import Place


def _offset(piece: tuple[int, Place]) -> int:
    return piece[0]


@record
class Text:
    """A piece of text and where each of its signs stands.

    Parameters
    ----------
    value : the text
    pieces : for each run of signs that stand together in the file: where it begins in `value`, and its place
    """

    value: str
    pieces: tuple[tuple[int, Place], ...]

    def place(self, start: int = 0, end: int | None = None) -> Place:
        """Where the signs from `start` up to `end` stand (up to the end of their line)."""
        end = len(self.value) if end is None else end
        after = self._pieces_up_to(start)
        offset, origin = self.pieces[after - 1]
        follower = self.pieces[after][0] if after < len(self.pieces) else len(self.value)
        width = max(1, min(end, follower) - start)
        return Place(origin.file, origin.line, origin.column + start - offset, width, origin.text)

    def part(self, start: int, end: int) -> Text:
        """Give a part without the spaces around it."""
        while start < end and self.value[start].isspace():
            start += 1
        while end > start and self.value[end - 1].isspace():
            end -= 1
        first = self.place(start, end)
        later = self.pieces[self._pieces_up_to(start) : self._pieces_up_to(end - 1)]
        inner = [(offset - start, place) for offset, place in later]
        return Text(self.value[start:end], ((0, first), *inner))

    def _pieces_up_to(self, at: int) -> int:
        """How many pieces begin at a sign or before it; a text may go over thousands of lines."""
        return bisect_right(self.pieces, at, key=_offset)

    def split(self, sign: str = ",") -> Iterator[Text]:
        """Give the parts between the signs given, each without the spaces around it."""
        start = 0
        for at, each in enumerate(self.value + sign):
            if each == sign:
                yield self.part(start, at)
                start = at + 1

    def then(self, other: Text, between: str) -> Text:
        """Give this text, `between`, and another one that stands further on in the file."""
        shift = len(self.value) + len(between)
        moved = tuple((offset + shift, place) for offset, place in other.pieces)
        return Text(self.value + between + other.value, self.pieces + moved)

    def saying(self, value: str) -> Text:
        """Give another spelling of the same length, sign for sign, at the same place."""
        return Text(value, self.pieces)


@record
class Pairs:
    """Keys and their values in the order of the text; a key may stand there twice."""

    place: Place
    pairs: tuple[tuple[Text, Node], ...]


@record
class Items:
    """A list."""

    place: Place
    items: tuple[Node, ...]


Node = Text | Pairs | Items


def place_of(node: Node) -> Place:
    """Where a node begins."""
    return node.place() if isinstance(node, Text) else node.place


def is_empty(node: Node) -> bool:
    """Whether nothing stands there, not even in brackets."""
    if isinstance(node, Text):
        return not node.value
    return not (node.pairs if isinstance(node, Pairs) else node.items)
