"""What is said when everything that bears a name is to be erased."""

from __future__ import annotations

from collections.abc import Sequence

NOTHING = "Nothing there bears that name."
SHORT = "That name is too short to look for: it would be found everywhere."
ERASED = "These are erased:"
REWRITTEN = "These are about several people; this one is taken out (with every remark that holds the name):"
LOOK = "These mention the name. Nothing is done with them: open them and look."
ASK = "Erase them? There is no way back. Type yes"
KEPT = "Nothing was changed."
DONE = "Done. What a backup, another stick or another computer has is not reached."


def no_folder(place: str) -> str:
    """Say that a folder is missing."""
    return f'there is no folder "{place}".'


def stuck(paths: Sequence[str]) -> str:
    """Say what could not be erased."""
    return "These could not be erased (are they open, or may they not be written to?): " + ", ".join(paths)
