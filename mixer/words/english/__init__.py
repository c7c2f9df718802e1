"""All sentences of problems, in English. Importing this fills the table."""

from mixer.words.english import classroom, files, lines, parts, song, values

__all__ = ["classroom", "files", "lines", "parts", "song", "values"]
