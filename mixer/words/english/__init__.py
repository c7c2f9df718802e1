"""All sentences of problems, in English. Importing this fills the table."""

from mixer.words.english import (
    classroom,
    coach,
    files,
    lines,
    parts,
    song,
    values,
)

__all__ = [
    "classroom",
    "coach",
    "files",
    "lines",
    "parts",
    "song",
    "values",
]
