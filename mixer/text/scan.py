"""One line of a text: its dash, its key, its value, without the note after `#`.

Names hold no colon, so a key ends at the first one, with or without a space after it. What a beginner
types for a colon or a dash (`;`, `=`, full-width signs, bullets, long dashes) is read as one where nothing
else can be meant, and told.
"""

from __future__ import annotations

import re

from mixer.pattern import pattern
from mixer.record import record
from mixer.text.grammar import Grammar
from mixer.text.names import COLONS, DASHES, HASHES, QUOTES, SEMICOLONS, same_word
from mixer.text.source import Source
from mixer.words.problem import Problems

_BULLETS = "*\u2022\u00b7\u25cf\u25e6\u2023"
_DRAWN_LINE = pattern(r"([-=_*~#+.\u2013\u2014\u2015\u2500\u2550]{3,}|(```|~~~)\w*)\Z")
_NUMBERED = pattern(r"\d{1,2}[.)]\s+(?=\S)")
# Most lines by far: spaces, perhaps a dash and one space, a key in plain letters, a colon, and no "#" anywhere.
# There is nothing to tell of them.
_PLAIN = pattern(r"( *)(- )?([A-Za-z](?:[\w -]*\w)?):(?= |\Z)", re.ASCII)
# How many spaces should stand where a line begins with another sign: two for a tab, two for a wide space (it is as
# wide as two), none for signs without width.
_COLUMNS = {"\t": 2, "\u3000": 2, "\u200b": 0, "\u200e": 0, "\u200f": 0, "\u2060": 0, "\ufeff": 0}
# Longer ones are refused as names later.
_LONGEST_HASHED = 80


@record
class Line:
    """What stands where in one line; all numbers count signs from 0.

    Parameters
    ----------
    number : the line
    column : where the content begins (after the dash and its space)
    dash : where the dash stands, or None
    depth, dash_depth : how far in the content and the dash stand, with tabs and missing spaces made good
    key : where the key begins and ends, or None
    value : where the value (or the text of a line without a key) begins and ends; empty if equal
    """

    number: int
    column: int
    dash: int | None
    key: tuple[int, int] | None
    value: tuple[int, int]
    depth: int
    dash_depth: int

    @property
    def empty(self) -> bool:
        """Whether no value stands in the line."""
        return self.value[0] >= self.value[1]


class Scanner:
    """Reads the lines of one source, telling what was not quite as it should be."""

    def __init__(self, source: Source, grammar: Grammar, problems: Problems) -> None:
        self.source = source
        self.grammar = grammar
        self.problems = problems
        self._told_spaces: set[str] = set()
        # Names with a "#" of their own, to tell the sign from a note: from it on, and what stands before it.
        self._hashed: dict[str, set[str]] = {}
        for line in source.lines:
            if "#" in line and (found := re.match(r"(?:\s*- *)?([^:,#]*\s#\w[^:,]*)[:,]", line)):
                name = same_word(found[1])
                head, _, tail = name.partition("#")
                if len(name) <= _LONGEST_HASHED:
                    self._hashed.setdefault(f"#{tail}", set()).add(head.strip())

    def scan(self, number: int, *, free: bool = False) -> Line | None:
        """Read a line; None when it holds nothing. In a `free` block all of it is text."""
        raw = self.source.lines[number]
        if not free and "#" not in raw and (plain := _PLAIN.match(raw)):
            return _plain_line(number, raw, plain)
        start = self._indent(number)
        if start == len(raw) or (raw[start] in HASHES and not free):
            return None
        if _DRAWN_LINE.match(raw[start:].rstrip()):
            self._tell_drawn_line(number, start)
            return None
        dash, column = self._dash(number, start)
        end = _without_trailing_space(raw, len(raw))
        key = None if free else self._key(number, column, end, in_list=dash is not None)
        at = column if key is None else key[2]
        end = self._note(number, at, end, key)
        if key is not None and (note := _note_at(raw, column, key[1], joined=False)) is not None:
            key, at, end = None, column, _without_trailing_space(raw, note)
        while at < end and raw[at].isspace():
            at += 1
        dash_depth = sum(_COLUMNS.get(sign, 1) for sign in raw[:start])
        depth = dash_depth + (0 if dash is None else max(2, column - start))
        return Line(number, column, dash, key and key[:2], (at, max(at, end)), depth, dash_depth)

    def _tell_drawn_line(self, number: int, start: int) -> None:
        raw = self.source.lines[number]
        if raw[start:].rstrip() not in ("---", "..."):
            self.problems.tell("drawn-line", self.source.place(number, start))

    def _indent(self, number: int) -> int:
        raw = self.source.lines[number]
        start = 0
        while start < len(raw) and (raw[start].isspace() or raw[start] in "\u200b\u200e\u200f\u2060"):
            start += 1
        odd = {"tab" if sign == "\t" else "odd-space" for sign in raw[:start] if sign != " "}
        if start < len(raw):
            for kind in sorted(odd - self._told_spaces):
                at = next(i for i in range(start) if raw[i] != " ")
                more = self._others_with(number, "\t" if kind == "tab" else None)
                self.problems.tell(kind, self.source.place(number, at, start), lines=more)
                self._told_spaces.add(kind)
        return start

    def _others_with(self, number: int, sign: str | None) -> tuple[int, ...]:
        def odd(line: str) -> bool:
            indent = line[: len(line) - len(line.lstrip())]
            return bool(line.strip()) and (sign in indent if sign else bool(indent.strip(" \t")))

        return tuple(n + 1 for n in range(number + 1, len(self.source.lines)) if odd(self.source.lines[n]))

    def _dash(self, number: int, start: int) -> tuple[int | None, int]:
        raw = self.source.lines[number]
        if numbered := _NUMBERED.match(raw, start):
            place = self.source.place(number, start, numbered.end())
            self.problems.tell("other-dash", place, sign=numbered[0].strip())
            return start, numbered.end()
        sign, after = raw[start], raw[start + 1 : start + 2]
        spaced = after == "" or after.isspace()
        if sign in DASHES or (sign in _BULLETS and spaced):
            if re.match(r"[\d\s]*$", raw[start + 1 :]) and not spaced:
                return None, start  # "-4" is a value, not a list
            column = start + 1
            while column < len(raw) and raw[column].isspace():
                column += 1
            if sign != "-":
                self.problems.tell("other-dash", self.source.place(number, start, start + 1), sign=sign)
            elif not spaced:
                self.problems.tell(
                    "space-after-dash", self.source.place(number, start, start + 1), line=raw[column:].strip()
                )
            return start, column
        return None, start

    def _key(self, number: int, column: int, end: int, *, in_list: bool) -> tuple[int, int, int] | None:
        """Where a key begins and ends and where its value begins; None without one."""
        raw = self.source.lines[number]
        if raw[column : column + 1] in ("{", "["):
            return None
        if raw[column : column + 1] in QUOTES:
            quoted = re.compile(rf"(.)[^{QUOTES[raw[column]]}]*[{QUOTES[raw[column]]}]\s*([{COLONS}])")
            if found := quoted.match(raw, column):
                return column, _without_trailing_space(raw, found.start(2)), found.end()
        colon = next((at for at in range(column, end) if raw[at] in COLONS), None)
        if colon is not None and colon > column:
            return self._at_colon(number, column, colon, end)
        return self._without_colon(number, column, end, in_list=in_list)

    def _at_colon(self, number: int, column: int, colon: int, end: int) -> tuple[int, int, int]:
        raw = self.source.lines[number]
        place = self.source.place(number, colon, colon + 1)
        key = raw[column:colon].strip()
        if raw[colon] != ":":
            self.problems.tell("other-colon", place, sign=raw[colon])
        elif colon + 1 < end and not raw[colon + 1].isspace():
            self.problems.tell("space-after-colon", place, key=key)
        elif colon + 1 < end and raw[colon + 1] != " ":
            tab = raw[colon + 1] == "\t"
            self.problems.tell("odd-space-in-line", self.source.place(number, colon + 1, colon + 2), tab=tab)
        return column, _without_trailing_space(raw, colon), colon + 1

    def _without_colon(self, number: int, column: int, end: int, *, in_list: bool) -> tuple[int, int, int] | None:
        """See a key in `tempo 96`, `tempo = 96`, `sections;` and `layers`.

        After a dash a key word may be a section's name (`- play time`), so only `name` is taken for a key.
        """
        raw = self.source.lines[number]
        keys = {"name"} if in_list else self.grammar.keys - self.grammar.blocks | {"play"}
        blocks = frozenset[str]() if in_list else self.grammar.blocks
        note = _note_at(raw, column, end, joined=False)
        end = end if note is None else _without_trailing_space(raw, note)
        if found := re.compile(rf"[^={SEMICOLONS}]+([={SEMICOLONS}])").match(raw, column, end):
            sign_means_colon = found[1] in SEMICOLONS if in_list else found[1] == "="
            stop = _without_trailing_space(raw, found.start(1))
            if same_word(raw[column:stop]) in keys | blocks or sign_means_colon:
                self.problems.tell("other-colon", self.source.place(number, *found.span(1)), sign=found[1])
                return column, stop, found.end(1)
        for found in reversed(list(re.compile(r"\S+").finditer(raw, column, end))):
            word = same_word(raw[column : found.end()])
            alone = found.end() >= end
            if word in (blocks if alone else keys):
                place = self.source.place(number, column, found.end())
                self.problems.tell("no-colon", place, key=raw[column : found.end()])
                return column, found.end(), found.end()
        return None

    def _note(self, number: int, start: int, end: int, key: tuple[int, int, int] | None) -> int:
        """Where the value ends and a note begins."""
        raw = self.source.lines[number]
        word = same_word(raw[key[0] : key[1]]) if key else ""
        text = key is None or word in self.grammar.free | self.grammar.one_name or word == "key"
        note = _note_at(raw, start, end, joined=not text)
        while note is not None and not text and self._is_name(raw, note):
            note = _note_at(raw, note + 1, end, joined=True)
        if note is None:
            return end
        joined = note + 1 < end and not raw[note + 1].isspace()
        if joined and not text:
            place = self.source.place(number, note, end)
            self.problems.tell("joined-note", place, note=raw[note:end])
        return _without_trailing_space(raw, note)

    def _is_name(self, raw: str, note: int) -> bool:
        """Whether a known name goes over the `#` at `note`, as in `drums #2`."""
        form = same_word(raw[note : note + _LONGEST_HASHED].split(",", maxsplit=1)[0])
        before = same_word(raw[max(0, note - _LONGEST_HASHED) : note])
        tails = {form[:end] for end in range(1, len(form) + 1)} & self._hashed.keys()
        heads = {before[start:] for start in range(len(before) + 1)} if tails else set()
        return any(not heads.isdisjoint(self._hashed[tail]) for tail in tails)


def _plain_line(number: int, raw: str, found: re.Match[str]) -> Line:
    """What the whole way through `Scanner.scan` would give for such a line, in a fifth of the time."""
    start, column, after = found.end(1), found.start(3), found.end()
    value = raw[after:].strip()
    at = len(raw) - len(raw[after:].lstrip()) if value else len(raw.rstrip())
    dash = start if column > start else None
    return Line(number, column, dash, found.span(3), (at, at + len(value)), column, start)


def _note_at(raw: str, start: int, end: int, *, joined: bool) -> int | None:
    """Where a `#` begins a note: after a space or at the start, and outside quote marks.

    A `#` that is joined to the next sign begins one only if `joined`.
    """
    quote = raw[start:end].lstrip()[:1]
    at = start
    if quote and quote in "\"'":
        close = raw.find(quote, raw.index(quote, start) + 1)
        at = close + 1 if 0 <= close < end else start
    while (here := raw.find("#", at, end)) >= 0:
        alone = here + 1 >= end or raw[here + 1].isspace()
        if (here == 0 or raw[here - 1].isspace()) and (alone or joined):
            return here
        at = here + 1
    return None


def _without_trailing_space(raw: str, end: int) -> int:
    while end > 0 and raw[end - 1].isspace():
        end -= 1
    return end
