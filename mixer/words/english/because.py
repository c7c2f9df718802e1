"""The list of changes that asks for reasons: as it is written, and read again when a student has filled it in."""

from __future__ import annotations

import re
from collections.abc import Sequence

from mixer.pattern import pattern
from mixer.words.english.changes import NO_CHANGE

WORD = "because"
_GAP = f"{WORD} ..."
_ITEM = pattern(r"^\d+\. (.+)\n((?:(?!\d+\. ).*\n?)*)", re.MULTILINE)


def because_written(place: str) -> str:
    """Say where the list is."""
    return f'The list is in {place}. Write after each "because" why you did it.'


def revision(old: str, new: str, told: Sequence[str]) -> str:
    """Give a list of changes to be filled in with reasons."""
    lines = [f"{number}. {said}\n   {_GAP}\n" for number, said in enumerate(told, 1)]
    return "\n".join([f"From {old} to {new}\n", *(lines or [NO_CHANGE + "\n"])])


def names_recipe(text: str, new: str) -> bool:
    """Whether a text is such a list about a recipe's file."""
    first = text.lstrip("\ufeff").partition("\n")[0].strip()
    return first.startswith("From ") and first.endswith(f" to {new}")


def because_of(text: str) -> dict[str, str]:
    """Give the reasons that were filled in, each with its "because", by the changes."""
    found = {}
    for change, reason in _ITEM.findall(text.replace("\r", "")):
        said = " ".join(reason.split())
        told = (said[len(WORD) :] if said.lower().startswith(WORD) else said).strip(" .\u2026")
        if told:
            found[change.strip()] = f"{WORD} {told}"
    return found
