"""Whether a loop may be used: four questions, answered by its card or by a licence that is known, or else to be asked.

The program knows what a card says, not what the law says. It tells what makers have said yes to; for all else, ask.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from mixer.loops.card import Card
from mixer.text.names import same_word

Question = Literal["class", "parents", "home", "on"]
QUESTIONS: tuple[Question, ...] = ("class", "parents", "home", "on")
"""Used in class; played to parents; taken home inside a song; passed on by itself."""

# What a card may say, by how it begins.
_SAID: dict[str, Question] = {
    "used in class": "class",
    "played to parents": "parents",
    "taken home": "home",
    "passed on": "on",
}
# Licences of Creative Commons (creativecommons.org/licenses, deeds of version 4.0, from memory). Where changes may not
# be shared (ND), a loop in a song leaves no clear answer.
_LICENCE = re.compile(r"cc[ -]?(0|by(?:[ -](?:nc|sa|nd))*)(?:[ -]?\d(?:\.\d)?)?(?: ?universal| ?international)?")
_FREE = ("public domain", "pd")


@dataclass(frozen=True)
class Permission:
    """What is known of one loop or of a song.

    Parameters
    ----------
    yes : the questions that are answered with yes
    share_alike : what is made of it must be passed on under the same licence
    non_commercial : nobody may earn with it
    """

    yes: frozenset[Question]
    share_alike: bool = False
    non_commercial: bool = False


def permission_of(card: Card) -> Permission:
    """Tell what is known of a loop."""
    said = {
        question for words in card.may_be for start, question in _SAID.items() if same_word(words).startswith(start)
    }
    licence = same_word(card.licence)
    found = _LICENCE.fullmatch(licence)
    parts = set(re.split("[ -]", found[1])) if found else set()
    if licence in _FREE or (found and "nd" not in parts):
        said |= set(QUESTIONS)
    return Permission(frozenset(said), "sa" in parts, "nc" in parts)


def strictest(cards: Iterable[Card]) -> Permission:
    """Tell what is known of a song made of these loops: the strictest counts, and conditions pass on to it."""
    each = [permission_of(card) for card in cards]
    return Permission(
        frozenset(question for question in QUESTIONS if all(question in one.yes for one in each)),
        any(one.share_alike for one in each),
        any(one.non_commercial for one in each),
    )


def to_ask(cards: Iterable[Card], question: Question) -> list[str]:
    """Give the names of the loops of which the answer is not known to be yes."""
    return [card.name for card in cards if question not in permission_of(card).yes]
