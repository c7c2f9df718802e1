"""The list of changes with reasons, as `changes.revision` writes it, read again when a student has filled it in."""

from __future__ import annotations

import re

from mixer.words.english.changes import BECAUSE

_WORD = BECAUSE.partition(" ")[0]
_ITEM = re.compile(r"^\d+\. (.+)\n((?:(?!\d+\. ).*\n?)*)", re.MULTILINE)


def names_recipe(text: str, new: str) -> bool:
    """Whether a text is such a list about a recipe's file."""
    first = text.lstrip("\ufeff").partition("\n")[0].strip()
    return first.startswith("From ") and first.endswith(f" to {new}")


def because_of(text: str) -> dict[str, str]:
    """Give the reasons that were filled in, each with its "because", by the changes."""
    found = {}
    for change, reason in _ITEM.findall(text.replace("\r", "")):
        said = " ".join(reason.split())
        told = (said[len(_WORD) :] if said.lower().startswith(_WORD) else said).strip(" .\u2026")
        if told:
            found[change.strip()] = f"{_WORD} {told}"
    return found
