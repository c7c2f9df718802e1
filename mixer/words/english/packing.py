"""What is said when loops, briefs, rubrics and starters are packed for the next teacher."""

from __future__ import annotations

from collections.abc import Sequence

from mixer.words.speech import series


def read_me(loops: int, ask: Sequence[str]) -> str:
    """Give the text that stands in the folder."""
    lines = [
        "For the next teacher",
        "",
        f"loops/     {_count(loops)} with their lists (loops.yaml): tempo, key, role, maker and licence of each",
        "briefs/    assignments with their limits",
        "rubrics/   what people may say of a song after they have heard it",
        "starters/  recipes to begin with",
        "more/      what else was packed, if anything",
        "",
        "To make a song with these loops: mixer render song.yaml --loops loops/FOLDER",
        "There is no student's work in here.",
    ]
    if ask:
        lines += ["", f"Whether these loops may be passed on is not known: ask your school about {series(ask)}."]
    return "\n".join([*lines, ""])


def packed(loops: int, folder: str) -> str:
    """Say what was packed and where."""
    return f"{_count(loops)}, briefs, rubrics and starters are in {folder}"


def ask_about(names: Sequence[str]) -> str:
    """Say which loops nobody knows about."""
    return f"Whether {series(names)} may be passed on is not known: ask your school before you give the folder away."


def is_there(folder: str) -> str:
    """Say that nothing is packed over anything."""
    return f'"{folder}" is there already, with something in it. Choose another name.'


def not_done(why: str) -> str:
    """Say that something could not be read or written."""
    return f"It could not all be packed: {why}. Delete the folder and try again."


def _count(loops: int) -> str:
    return "1 loop" if loops == 1 else f"{loops} loops"
