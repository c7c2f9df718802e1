"""A text file as its writer sees it: lines of signs, whatever the editor stored.

Editors of school machines store UTF-8 with and without a mark in front, UTF-16 and Windows-1252; lines end
in any of three ways. All of that is read; only where letters had to be guessed is it told, since a wrong guess
would spoil names.
"""

from __future__ import annotations

from mixer.record import record
from mixer.words.problem import Place, Problems

LARGEST_BYTES = 100_000
LONGEST_LINE = 2_000


@record
class Source:
    """The lines of a text and the name under which it is told about."""

    file: str
    lines: tuple[str, ...]

    def place(self, line: int, start: int = 0, end: int | None = None) -> Place:
        """Where the signs from `start` up to `end` of a line stand (both counted from 0)."""
        text = self.lines[line] if line < len(self.lines) else ""
        end = len(text) if end is None else end
        return Place(self.file, line + 1, start + 1, max(1, end - start), text)


def decode(raw: bytes) -> tuple[str, bool]:
    """Give the text of a file's bytes, and whether letters that are not ASCII had to be guessed.

    Never fails, since Windows-1252 can read any bytes.
    """
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        return raw.decode("utf-16", errors="replace"), False
    if len(raw) > 3 and raw[1] == 0 and raw[3] == 0:
        return raw.decode("utf-16-le", errors="replace"), True
    if len(raw) > 3 and raw[0] == 0 and raw[2] == 0:
        return raw.decode("utf-16-be", errors="replace"), True
    try:
        return raw.decode("utf-8-sig"), False
    except UnicodeDecodeError:
        return raw.decode("cp1252", errors="replace"), True


def split_lines(text: str, file: str) -> Source:
    """Cut a text into lines at LF, CR LF and CR."""
    unified = text.replace("\r\n", "\n").replace("\r", "\n").replace("\ufeff", "")
    return Source(file, tuple(unified.split("\n")))


def tell_guess(source: Source, problems: Problems) -> None:
    """Tell, at the first letter that may be wrong, that letters had to be guessed; see `decode`."""
    for number, line in enumerate(source.lines):
        if not line.isascii():
            at = next(i for i, sign in enumerate(line) if not sign.isascii())
            problems.tell("guessed-letters", source.place(number, at, at + 1))
            return
