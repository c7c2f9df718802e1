"""Lines to nodes: which line belongs to which, by how far it is indented.

The form is YAML's block style. It is read line by line and not by a YAML parser, for four reasons: a
parser stops at the first slip and often names another line; it changes or loses text in silence
(`title: #1` is empty); two of its loaders differ from each other, so machines would; and it takes longer to
start than a whole recipe takes to read. Where a parser reads a text without complaint, this reader reads the
same (the tests hold it against PyYAML).

A line that stands a little beside its neighbours is put back where it plainly belongs, and told. Anchors,
aliases, tags and several documents in one file are no part of the form.
"""

from __future__ import annotations

import re

from mixer.pattern import pattern
from mixer.record import replace
from mixer.text.grammar import Grammar
from mixer.text.levels import Level, OpenLevels, Slot, TooDeepError, frozen
from mixer.text.names import COLONS, DASHES, SEMICOLONS, same_word
from mixer.text.nodes import Node, Text
from mixer.text.scan import Line, Scanner
from mixer.text.source import LARGEST_BYTES, LONGEST_LINE, Source
from mixer.text.values import brackets, free_text, open_brackets, plain_text
from mixer.words.problem import Place, Problems

MOST_LINES = 3_000
_SECTION_HEAD = pattern(r",\s*(?:\d{1,3}\s*bars?|like\s)", re.IGNORECASE)


def read_tree(source: Source, grammar: Grammar, problems: Problems, *, bounded: bool = True) -> Node | None:
    """Read a text; None when it is empty or beyond all bounds (which is told).

    Parameters
    ----------
    source : the text
    grammar : the key words of its language
    problems : grows by what is told
    bounded : whether a long text is refused; whoever says no has bounded it already
    """
    too_long = next((n for n, line in enumerate(source.lines) if len(line) > LONGEST_LINE), None)
    if too_long is not None:
        problems.tell("line-too-long", source.place(too_long, 0, 1), most=LONGEST_LINE)
        return None
    if bounded and (len(source.lines) > MOST_LINES or sum(map(len, source.lines)) > LARGEST_BYTES):
        problems.tell("text-too-long", Place(source.file), most=MOST_LINES)
        return None
    return _Builder(source, grammar, problems).build()


class _Builder:
    def __init__(self, source: Source, grammar: Grammar, problems: Problems) -> None:
        self.source = source
        self.grammar = grammar
        self.problems = problems
        self.scanner = Scanner(source, grammar, problems)
        self.open = OpenLevels(grammar)
        self.last: Slot | None = None  # where a child or a continuation of the last line would go
        self.last_column = 0
        self.number = 0
        self.edge: dict[str, list[Place]] = {}
        self.refused_column: int | None = None  # where a block stood that was too deep

    def build(self) -> Node | None:
        while self.number < len(self.source.lines):
            if not self._free_line():
                line = self.scanner.scan(self.number)
                if line is not None and not self._is_refused(line):
                    self._take_or_refuse(line)
            self.number += 1
        for block, places in self.edge.items():
            lines = tuple(place.line for place in places[1:])
            self.problems.tell("at-the-edge", places[0], block=block, lines=lines)
        return frozen(self.open.levels[0]) if self.open.levels else None

    def _is_refused(self, line: Line) -> bool:
        """Whether a line belongs to a block that was too deep."""
        if line.dash_depth < (self.refused_column or 0):
            self.refused_column = None
        return self.refused_column is not None

    def _take_or_refuse(self, line: Line) -> None:
        try:
            self._take(line)
        except TooDeepError as error:
            self.problems.tell("too-deep", error.level.place)
            self.refused_column = line.dash_depth

    def _edge_of_text(self) -> int:
        """How far in the outermost lines stand."""
        indents = [
            len(line) - len(line.lstrip(" "))
            for line in self.source.lines
            if line.strip() and not line.lstrip().startswith("#")
        ]
        return min(indents, default=0)

    # -- text that goes on ---------------------------------------------------------------------------

    def _free_line(self) -> bool:
        """Take a line that only goes on with a free text begun above."""
        slot = self.last
        if slot is None or not slot.free:
            return False
        raw = self.source.lines[self.number]
        if not raw.strip() or len(raw) - len(raw.lstrip()) <= self.last_column:
            return False
        if slot.level is not None or (_starts_item(raw.strip()) and slot.text is None):
            return False
        head, colon, rest = raw.partition(":")
        is_key = colon and head.strip() and (not rest or rest[0].isspace())
        if is_key and (same_word(head) in self.grammar.keys or slot.text is not None):
            return False
        line = self.scanner.scan(self.number, free=True)
        if line is None or line.empty:
            return True
        text = self._text(*line.value)
        slot.text = text if slot.text is None else slot.text.then(text, " ")
        return True

    def _text(self, start: int, end: int) -> Text:
        raw = self.source.lines[self.number]
        return Text(raw[start:end], ((0, self.source.place(self.number, start, end)),))

    # -- one line ------------------------------------------------------------------------------------

    def _take(self, line: Line) -> None:
        if line.dash is not None:
            self._take_item(line)
        elif line.key is not None:
            self._enter_pairs(line)
            self._add_pair(line)
        else:
            self._take_bare(line)

    def _take_item(self, line: Line) -> None:
        assert line.dash is not None  # noqa: S101 - the caller looked
        level = self._items_level(line)
        if level is None:
            self.problems.tell("stray-item", self.source.place(self.number, line.dash, line.dash + 1))
            return
        slot = Slot(empty_at=self.source.place(self.number, line.dash, line.dash + 1))
        slot.free = same_word(level.name) in self.grammar.free
        assert level.items is not None  # noqa: S101 - `_items_level` gives a list
        level.items.append(slot)
        if line.key is not None and not slot.free:
            slot.level = Level(line.depth, self.source.place(self.number, *line.key), pairs=[])
            self.open.push(slot.level)
            self._add_pair(line)
            return
        self.last, self.last_column = slot, line.dash_depth
        if not line.empty or line.key is not None:
            start = line.column if line.key is not None else line.value[0]
            self._fill(slot, self._text(start, line.value[1]), line)
            self.last_column = line.depth - 1

    def _take_bare(self, line: Line) -> None:
        """Take a line without dash and key: a value that goes on, a layer without its colon, or a slip."""
        text = self._text(*line.value)
        slot = self.last
        if self._in_named_block(line) and (mended := self._name_and_value(text, line)) is not None:
            self._enter_pairs(mended)
            self._add_pair(mended)
        elif slot is not None and line.depth > self.last_column and slot.level is None and slot.node is None:
            if slot.text is None:
                self._fill(slot, text, line)
            else:
                slot.text = slot.text.then(text, " ")
        else:
            self.problems.tell("no-key", text.place(), text=text.value)

    def _name_and_value(self, text: Text, line: Line) -> Line | None:
        """See `drums tin-roof` and `drums - tin-roof`: a name and its value without their colon."""
        found = re.fullmatch(
            rf"((?![{DASHES}{COLONS}{SEMICOLONS}=.]+\s)[^\s,]+)\s+(?:([{DASHES}>:]+)\s+)?([^\s,]+)", text.value
        )
        if found is None:
            return None
        if found[2]:
            self.problems.tell("other-colon", text.place(found.start(2), found.end(2)), sign=found[2])
        else:
            self.problems.tell("no-colon", text.place(0, found.end(1)), key=found[1])
        key = (line.column, line.column + found.end(1))
        return replace(line, key=key, value=(line.column + found.start(3), line.value[1]))

    def _in_named_block(self, line: Line) -> bool:
        """Whether a line may be one of a block whose keys are the writer's own names (of layers)."""
        if self._waiting() is not None and self.open.innermost.pairs:
            return line.depth > self.last_column and same_word(self.open.innermost.last_key) == "layers"
        level = next(reversed(self.open.of_pairs), None)
        return level is not None and same_word(level.name) == "layers" and line.depth == level.column

    # -- where a line belongs ------------------------------------------------------------------------

    def _waiting(self) -> Slot | None:
        """The value-less key or dash that stands directly above, if any."""
        slot = self.last
        if slot is None or slot.text is not None or slot.level is not None or slot.node is not None:
            return None
        return slot

    def _is_item(self, slot: Slot) -> bool:
        items = self.open.innermost.items
        return items is not None and bool(items) and items[-1] is slot

    def _items_level(self, line: Line) -> Level | None:
        column = line.dash_depth
        at = line.column if line.dash is None else line.dash
        place = self.source.place(self.number, at, at + 1)
        slot = self._waiting()
        if not self.open.levels:
            self.open.push(Level(column, place, items=[]))
            return self.open.innermost
        # Below a key a list may stand at the key's own column; below a dash it must stand further in.
        if slot is not None and column >= self.last_column + self._is_item(slot):
            slot.level = Level(column, place, items=[], name=self.open.innermost.last_key)
            self.open.push(slot.level)
            return slot.level
        best = self.open.list_at(column)
        if best is None:
            return None
        if best.column != column and not best.at_edge:
            self._told_indent(line, best.column, dash=True)
        self.open.close_to(best)
        return best

    def _enter_pairs(self, line: Line) -> None:
        """Make the level to which a line with a key belongs the topmost one."""
        if not self.open.levels:
            edge = self._edge_of_text()
            if edge < line.depth:
                self._told_indent(line, edge, dash=False)
            self.open.push(Level(min(edge, line.depth), self._first_sign(line), pairs=[]))
            return
        assert line.key is not None  # noqa: S101 - the caller looked
        word = same_word(self.source.lines[self.number][slice(*line.key)])
        slot = self._waiting()
        parent = self.open.innermost
        if slot is not None:
            name = parent.last_key
            if line.depth == parent.column and same_word(name) == "sections" and self._begins_section(line, word):
                slot.level = Level(line.depth, self._first_sign(line), items=[], name=name, at_edge=True)
                self.open.push(slot.level)
                self._add_item(slot.level, line)
                return
            edge = line.depth == parent.column and self.open.belongs_below(name, word)
            if line.depth > self.last_column or edge:
                slot.level = Level(line.depth, self._first_sign(line), pairs=[], name=name, at_edge=edge)
                self.open.push(slot.level)
                return
        elif self._bare_item_above(line) or self._item_without_dash(line, word) or self._short_above(line, word):
            return
        self._return_to_level(line, word)

    def _first_sign(self, line: Line) -> Place:
        return self.source.place(self.number, line.column, line.column + 1)

    def _bare_item_above(self, line: Line) -> bool:
        """See a name with keys under it: `- chorus` and a deeper `meant: ...`."""
        slot, level = self.last, self.open.innermost
        if slot is None or slot.text is None or level.items is None or level.items[-1] is not slot:
            return False
        if line.depth <= self.last_column - 1:
            return False
        self.problems.tell("no-colon-item", slot.text.place(), name=slot.text.value)
        slot.level = Level(line.depth, slot.text.place(), pairs=[(slot.text, Slot(empty_at=slot.text.place()))])
        slot.text = None
        self.open.push(slot.level)
        return True

    def _short_above(self, line: Line, word: str) -> bool:
        """See `piano: paper-lantern` and further in `level: -2`: more about what was said in short."""
        slot, level = self.last, self.open.innermost
        key = self.grammar.named.get(same_word(level.name))
        if not key or slot is None or slot.text is None or not level.pairs or level.pairs[-1][1] is not slot:
            return False
        if line.depth <= self.last_column or word not in self.grammar.inner:
            return False
        name, place = level.last_key, slot.text.place()
        self.problems.tell("short-and-long", place, name=name, key=key, spaces=line.depth)
        said = (Text(key, ((0, place),)), Slot(empty_at=place, text=slot.text))
        slot.text, slot.level = None, Level(line.depth, place, pairs=[said])
        self.open.push(slot.level)
        return True

    def _item_without_dash(self, line: Line, word: str) -> bool:
        """See a line that stands where the dashes above it stand, and has none."""
        level = next(reversed(self.open.of_items), None)
        if level is None or level.column != line.depth or word in self.grammar.keys or line.key is None:
            return False
        beside = any(each.column == line.depth for each in self.open.of_pairs)
        if beside and not (level.at_edge and self._begins_section(line, word)):
            return False
        self.open.close_to(level)
        self._add_item(level, line)
        return True

    def _begins_section(self, line: Line, word: str) -> bool:
        """Whether a key at the edge can only be a section's: `intro, 4 bars`."""
        assert line.key is not None  # noqa: S101 - the caller looked
        key = self.source.lines[self.number][slice(*line.key)]
        return word not in self.grammar.keys and _SECTION_HEAD.search(key) is not None

    def _add_item(self, level: Level, line: Line) -> None:
        """Add an item that has no dash, and tell it."""
        assert line.key is not None and level.items is not None  # noqa: S101, PT018 - the callers looked
        place = self.source.place(self.number, *line.key)
        self.problems.tell("section-dash", place, name=place.text[slice(*line.key)], lines=())
        fresh = Level(line.depth, place, pairs=[], at_edge=level.at_edge)
        level.items.append(Slot(empty_at=fresh.place, level=fresh))
        self.open.push(fresh)

    def _return_to_level(self, line: Line, word: str) -> None:
        best = self.open.pairs_at(line.depth, word)
        if best is None:
            self.problems.tell("stray-key", self.source.place(self.number, line.column), key=word)
            fresh = Level(line.depth, self.source.place(self.number, line.column), pairs=[])
            items = self.open.innermost.items
            assert items is not None  # noqa: S101 - a level is one or the other
            items.append(Slot(empty_at=fresh.place, level=fresh))
            self.open.push(fresh)
            return
        if best.column != line.depth:
            self._told_indent(line, best.column, dash=False)
        self.open.close_to(best)

    def _told_indent(self, line: Line, column: int, *, dash: bool) -> None:
        raw = self.source.lines[self.number]
        start = line.dash if dash and line.dash is not None else line.column
        end = line.value[1] if line.key is None else line.key[1]
        words = raw[start + 2 if dash else start : end].strip()
        place = self.source.place(self.number, start, start + 1 if dash else end)
        self.problems.tell("indent", place, words=words, spaces=column, dash=dash)

    # -- values --------------------------------------------------------------------------------------

    def _add_pair(self, line: Line) -> None:
        assert line.key is not None  # noqa: S101 - the caller looked
        level = self.open.innermost
        key = plain_text(self._text(*line.key), self.problems)
        word = same_word(key.value)
        slot = Slot(empty_at=self.source.place(self.number, *line.key))
        slot.free = word in self.grammar.free and same_word(level.name) not in self.grammar.named
        if level.pairs is None:
            return  # too deep, which was told
        level.pairs.append((key, slot))
        self.last, self.last_column = slot, level.column
        if level.at_edge and level.name:
            self.edge.setdefault(level.name, []).append(slot.empty_at)
        if not line.empty:
            self._fill(slot, self._text(*line.value), line)

    def _fill(self, slot: Slot, text: Text, line: Line) -> None:
        """Put a value where it belongs."""
        if slot.free:
            slot.text = None if text.value in ("|", ">", "|-", ">-") else free_text(text, self.problems)
        elif text.value[:1] in ("{", "["):
            slot.node = brackets(self._whole_brackets(text), self.problems)
        elif text.value[:1] in ("&", "*") and len(text.value) > 1:
            merge = line.key is not None and self.source.lines[self.number][slice(*line.key)].strip() == "<<"
            self.problems.tell("anchor", text.place(0, 1), sign=text.value[0], text=text.value, merge=merge)
            name, _, rest = text.value.partition(" ")
            if text.value[0] == "&" and rest.strip():
                slot.text = plain_text(text.part(len(name), len(text.value)), self.problems)
        elif line.key is not None and _starts_item(text.value) and not re.match(r".\s*\d", text.value):
            self._inline_item(slot, text)
        else:
            slot.text = plain_text(text, self.problems)

    def _inline_item(self, slot: Slot, text: Text) -> None:
        """Read `play: - piano`: a list that begins on its key's line."""
        self.problems.tell("inline-dash", text.place(0, 1), text=text.value[1:].strip())
        inner = text.part(1, len(text.value))
        column = text.place().column - 1
        item = Slot(empty_at=text.place(), text=plain_text(inner, self.problems))
        slot.level = Level(column, text.place(), items=[item], at_edge=True)
        self.open.push(slot.level)

    def _whole_brackets(self, text: Text) -> Text:
        """Take further lines while brackets are open and the lines stand deeper."""
        first = self.number
        floor = self.last_column
        whole = text
        while open_brackets(whole.value) and self.number + 1 < len(self.source.lines):
            raw = self.source.lines[self.number + 1]
            indent = len(raw) - len(raw.lstrip())
            closing = raw.strip()[:1] in ("}", "]")
            if not raw.strip() or (indent <= floor and not closing):
                break
            self.number += 1
            more = self.scanner.scan(self.number, free=True)
            if more is not None:
                whole = whole.then(self._text(*more.value), " ")
        if open_brackets(whole.value) and self.number > first:
            self.number = first  # the next lines are lines of their own
            return text
        return whole


def _starts_item(text: str) -> bool:
    return text[:1] in DASHES and text[1:2].isspace()
