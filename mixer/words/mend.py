"""A line of the writer's own, mended: the best hint is one that can be copied.

A mend is said as an edit of the line, not as a new line, so that several slips in one line give one mended
line. It is only shown: the file is never changed.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable

from mixer.pattern import pattern
from mixer.record import record
from mixer.words.problem import Place


@record
class Edit:
    """What stands in a line from sign `start` up to `end` (from 0) gives way to `text`, which may have line ends."""

    start: int
    end: int
    text: str


Mend = Callable[[Place], "Edit | None"]


def mended(line: str, edits: Iterable[Edit]) -> str:
    """Make all edits in a line; of two that meet, the later one counts."""
    chosen: list[Edit] = []
    for edit in edits:
        chosen = [each for each in chosen if each.end <= edit.start or each.start >= edit.end]
        chosen.append(edit)
    for edit in sorted(chosen, key=lambda each: (each.start, each.end), reverse=True):
        line = line[: edit.start] + edit.text + line[edit.end :]
    indent = len(line) - len(line.lstrip("\t "))
    return (line[:indent].replace("\t", "  ") + line[indent:]).rstrip()


def _marked(place: Place) -> tuple[int, int]:
    return place.column - 1, place.column - 1 + place.width


def _content(text: str) -> int:
    """Where the first sign that is no space stands."""
    return next((at for at, sign in enumerate(text) if not sign.isspace() and sign.isprintable()), 0)


def _end(text: str) -> int:
    """Where a line ends, without a note after it."""
    note = re.search(r"\s+#\s", text)
    return note.start() if note else len(text.rstrip())


def instead(text: str) -> Mend:
    """Let `text` stand where the mark is."""
    return lambda place: Edit(*_marked(place), text)


def spaced(text: str) -> Mend:
    """Let `text` stand where the mark is and the spaces around it were."""

    def edit(place: Place) -> Edit:
        start, end = _marked(place)
        start -= len(place.text[:start]) - len(place.text[:start].rstrip())
        end += len(place.text[end:]) - len(place.text[end:].lstrip())
        return Edit(start, end, text)

    return edit


def then_space(text: str) -> Mend:
    """Let `text` and one space stand where the mark and the spaces after it are."""

    def edit(place: Place) -> Edit:
        end = _marked(place)[1]
        return Edit(place.column - 1, end + len(place.text[end:]) - len(place.text[end:].lstrip()), f"{text} ")

    return edit


def before(text: str) -> Mend:
    """Put `text` in front of the mark."""
    return lambda place: Edit(place.column - 1, place.column - 1, text)


def after(text: str) -> Mend:
    """Put `text` behind the mark."""
    return lambda place: Edit(_marked(place)[1], _marked(place)[1], text)


def at_end(text: str) -> Mend:
    """Put `text` at the end of the line, before a note."""
    return lambda place: Edit(_end(place.text), _end(place.text), text)


def new_line(indent: str) -> Mend:
    """Begin a new line at the mark, so far in."""
    return lambda place: _broken(place.text, place.column - 1, indent)


def new_line_before(word: str, indent: str = "") -> Mend:
    """Begin a new line in front of a word of the marked text."""
    return lambda place: _broken(place.text, place.text.index(word, place.column - 1), indent)


def _broken(text: str, at: int, indent: str) -> Edit:
    return Edit(len(text[:at].rstrip(" ,;")), at, f"\n{indent}")


def indented(spaces: int) -> Mend:
    """Let the line begin so far in."""
    return lambda place: Edit(0, _content(place.text), " " * spaces)


def further_in(spaces: int) -> Mend:
    """Move the line to the right."""
    return lambda _place: Edit(0, 0, " " * spaces)


def plain_indent(tab_spaces: int = 2) -> Mend:
    """Let ordinary spaces stand where a line begins with others."""

    def edit(place: Place) -> Edit:
        start = _content(place.text)
        widths = {"\t": tab_spaces, "\u3000": 2}
        spaces = sum(widths.get(sign, 1) for sign in place.text[:start] if sign.isspace())
        return Edit(0, start, " " * spaces)

    return edit


def dashed() -> Mend:
    """Put a dash where a section begins: at its own step, or one to the left where it stands among a section's keys."""

    def edit(place: Place) -> Edit:
        start = _content(place.text)
        return Edit(0, start, "  - " if start < 4 else f"{' ' * (start - 2)}- ")

    return edit


def undashed(instead_of_dash: str) -> Mend:
    """Take the dash at the start of the line away."""

    def edit(place: Place) -> Edit | None:
        found = re.match(r"\s*(-\s*)", place.text)
        return Edit(found.start(1), found.end(1), instead_of_dash) if found else None

    return edit


_LONG = pattern(r"(\s*)-\s*name\s*:", re.IGNORECASE)


def long_or_short(key_line: str, short: Mend) -> Mend:
    """Add a line of its own to a section that begins with `- name:`; mend the line itself in the short form."""

    def edit(place: Place) -> Edit | None:
        if found := _LONG.match(place.text):
            end = len(place.text.rstrip())
            return Edit(end, end, f"\n{found[1]}  {key_line}")
        return short(place)

    return edit


def before_colon(rest: str) -> Mend:
    """Let a section's line end in `rest`, in place of its colon or what stands for it."""

    def edit(place: Place) -> Edit:
        end = _end(place.text)
        return Edit(len(place.text[:end].rstrip(":;, ")), end, rest)

    return edit


def length_first(length: str) -> Mend:
    """Let `: 8 bars, ` or `: 8 bars: ` be `, 8 bars: `."""

    def edit(place: Place) -> Edit | None:
        found = re.search(rf"\s*[:;]\s*{re.escape(length)}\s*[,:;]\s*", place.text)
        return Edit(found.start(), found.end(), f", {length}: ") if found else None

    return edit


def named(name: str) -> Mend:
    """Put a line with a dash and a name above the first line of a section."""

    def edit(place: Place) -> Edit | None:
        found = re.match(r"(\s*)-\s*", place.text)
        return Edit(0, found.end(), f"{found[1]}- name: {name}\n{found[1]}  ") if found else None

    return edit
