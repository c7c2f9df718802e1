"""Whether a loop may be used: four questions, answered by its card or by a licence that is known, or else to be asked.

The program knows what a card says, not what the law says. It tells what makers have said yes to; for all else, ask.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Literal

from mixer.loops.card import Card
from mixer.pattern import pattern
from mixer.record import record
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
# Licences of Creative Commons (creativecommons.org/licenses, deeds of version 4.0, from memory): by their short names,
# in words, and by their addresses, as tags have them. Where changes may not be shared (ND), a loop in a song leaves no
# clear answer.
_SHORT = pattern(r"cc[ -]?(0|by(?:[ -](?:nc|sa|nd))*)(?:[ -]?(\d(?:\.\d)?))?(?: ?universal| ?international)?")
_ADDRESS = pattern(r"(?:https?://)?(?:www\.)?creativecommons\.org/(?:licenses|publicdomain)/([a-z-]+)/(\d\.\d)\S*")
_IN_WORDS = {
    r"(?<=\w) \(cc[^)]*\)$": "",  # the short name after the long one
    r"creative commons": "cc",
    r"attribution": "by",
    r"non-?commercial": "nc",
    r"share-?alike": "sa",
    r"no-?derivati?v?e?s?(?: works)?": "nd",
    r"\bzero\b": "0",
    r"\b(?:licen[cs]ed|licen[cs]e|under|the|is|a|this|work)\b": "",
}
_FREE = ("public domain", "pd", "mark")


@record
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
    name, _ = _known(card.licence)
    parts = name.split("-")
    if name and "nd" not in parts:
        said |= set(QUESTIONS)
    return Permission(frozenset(said), "sa" in parts, "nc" in parts)


def licence_in(text: str) -> str:
    """Give the licence that a tag names, as a card has it (`CC-BY-SA-4.0`); empty where it names none that is known."""
    name, version = _known(text)
    if name in ("", "public domain"):
        return name
    return "-".join([*(["CC0"] if name == "0" else ["CC", name.upper()]), *([version] if version else [])])


def _known(text: str) -> tuple[str, str]:
    """A licence's name, such as `by-sa`, `0` or `public domain`, and its version; empty where it is not known."""
    words = same_word(text)
    if found := _ADDRESS.fullmatch(text.strip().lower()):
        words = f"cc {'0' if found[1] == 'zero' else found[1]} {found[2]}" if found[1] != "mark" else "mark"
    for long, short in _IN_WORDS.items():
        words = re.sub(long, short, words)
    words = re.sub(r"[ _]+", " ", words).strip(" .")
    if words in _FREE:
        return "public domain", ""
    found = _SHORT.fullmatch(words)
    return (re.sub(" ", "-", found[1]), found[2] or "") if found else ("", "")


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
