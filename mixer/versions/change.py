"""What a change between two versions of a song is: plain data, the same seen from either side.

Everything that has an old and a new side is a `Both`. So the changes from new to old are the changes from old to new
with every `Both` turned round, and nothing else; the words and the pages say which way they look.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Generic, TypeVar

from mixer.record import record, replace

T_co = TypeVar("T_co", covariant=True)
Spans = tuple[tuple[int, int], ...]
Value = str | int | float | Fraction | Spans | None


@record
class Both(Generic[T_co]):
    """One thing in the old version and in the new one."""

    old: T_co
    new: T_co

    def turned(self) -> Both[T_co]:
        """Give the same with old and new exchanged."""
        return Both(self.new, self.old)


@record
class Stretch:
    """Some bars of one section of one version.

    Parameters
    ----------
    section : its number in the song, from 0
    name : the section's
    bars_before : bars of the song before the section
    first_bar, last_bar : counted in the section from 1
    """

    section: int
    name: str
    bars_before: int
    first_bar: int
    last_bar: int

    @property
    def song_first_bar(self) -> int:
        """The first bar, counted in the song from 1."""
        return self.bars_before + self.first_bar

    @property
    def song_last_bar(self) -> int:
        """The last bar, counted in the song from 1."""
        return self.bars_before + self.last_bar

    @property
    def section_bar(self) -> int:
        """The bar of the song with which the section begins."""
        return self.bars_before + 1


Passage = Both[Stretch | None]
"""The same place in both versions; None where one of them does not have it."""

UNHEARD = ("title", "name", "layer-name", "meant")
"""Kinds of change that make no difference to the sound."""


@record
class Change:
    """One change.

    Parameters
    ----------
    kind : one of the kinds above
    value : what was and what is, in the terms of the kind; None where there is nothing
    layer : the layer's name in both versions; None where it is about the song or a section
    passages : where it is heard, in the song's order; empty for what is no matter of bars
    throughout : whether it is so wherever the layer is heard in both versions, in more than one section
    who : of a section that is new or gone, the layers heard in it
    """

    kind: str
    value: Both[Value]
    layer: Both[str] | None = None
    passages: tuple[Passage, ...] = ()
    throughout: bool = False
    who: tuple[str, ...] = ()

    @property
    def heard(self) -> bool:
        """Whether it makes a difference to the sound."""
        return self.kind not in UNHEARD

    def turned(self) -> Change:
        """Give the change from new to old."""
        return replace(
            self,
            value=self.value.turned(),
            layer=self.layer and self.layer.turned(),
            passages=tuple(passage.turned() for passage in self.passages),
        )
