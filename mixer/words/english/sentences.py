"""All sentences of problems, in English. Importing this fills the table."""

from mixer.words.english import (
    briefs,
    classroom,
    coach,
    files,
    keywords,
    limits,
    lines,
    parts,
    sections,
    song,
    values,
)

__all__ = [
    "briefs",
    "classroom",
    "coach",
    "files",
    "keywords",
    "limits",
    "lines",
    "parts",
    "sections",
    "song",
    "values",
]
