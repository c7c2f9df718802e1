"""All sentences of problems, in English. Importing this fills the table."""

from mixer.words.english import files, lines, parts, song, values

__all__ = ["files", "lines", "parts", "song", "values"]
