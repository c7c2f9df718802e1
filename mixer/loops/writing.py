"""Adds what was measured to a folder's catalog, and keeps to the letter what stands there.

Signs are only ever put in, never changed: new cards at the end, and in a card of a person's own the keys that are
missing, after its last line, and values after keys that have none. A value that is there counts as vouched for,
whatever was measured. A value that is a guess is written with a remark that begins `# guess`; who takes the remark away
vouches for it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from mixer.loops.catalog import GRAMMAR
from mixer.record import record
from mixer.text.names import same_name, same_word
from mixer.text.nodes import Pairs, Text, is_empty
from mixer.text.source import split_lines
from mixer.text.tree import read_tree
from mixer.words.problem import Problems

_LINE = re.compile(r"[^\r\n]*(?:\r\n|\r|\n)|[^\r\n]+")
# A card that has these is complete; the others may be missing for good reasons.
WANTED = ("tempo", "bars", "time", "key", "role", "downbeat", "loudness", "slower up to", "faster up to")


@record
class Entry:
    """A card to be written.

    Parameters
    ----------
    file : name of the sound file
    values : what stands after each key, in their order
    remarks : comments beside values, by key, each beginning with `#`
    """

    file: str
    values: Mapping[str, str]
    remarks: Mapping[str, str]

    def lines(self, keys: Iterable[str], indent: str) -> list[str]:
        """Give the lines of these keys."""
        return [
            f"{indent}{key}: {_plain(value)}{'  ' + self.remarks[key] if key in self.remarks else ''}"
            for key, value in self.values.items()
            if key in keys
        ]


@record
class Extended:
    """A catalog with what was added.

    Parameters
    ----------
    text : all of it
    new, filled : how many cards were added, and how many completed
    in_braces : names of cards that lack something and are written in braces, where no remark can stand beside a value
    """

    text: str
    new: int
    filled: int
    in_braces: tuple[str, ...] = ()


class UnclearCatalogError(Exception):
    """What stands in a catalog are no cards, so nothing can be added to them."""


@record
class _Card:
    """A card as it stands there.

    Parameters
    ----------
    name, file : its name, and its sound file's
    words : keys that have a value
    empty : keys that have none, with the line and the sign after their colon, both counted from 0
    last_line, indent : where lines are put in, and what stands before them
    in_braces : whether it is written as `{file: x.wav, tempo: 96}`
    """

    name: str
    file: str
    words: frozenset[str]
    empty: Mapping[str, tuple[int, int]]
    last_line: int
    indent: str
    in_braces: bool


def extended(text: str, entries: Iterable[Entry], head: str) -> Extended:
    """Add cards to a catalog's text.

    Parameters
    ----------
    text : what stands there; may be empty
    entries : what was measured
    head : a comment for the first line of a new catalog

    Returns
    -------
    the catalog; every sign of `text` is in it, in its order

    Raises
    ------
    UnclearCatalogError
        If something stands there and it is no list of cards.
    """
    cards, edge = _cards(text), _edge(text)
    by_file = {same_name(card.file): card for card in cards if card.file}
    names = {same_name(card.name) for card in cards}
    lines = _LINE.findall(text)
    end = _line_end(lines)
    puts: list[tuple[int, list[str]]] = []
    added: list[str] = [] if text.strip() else [head]
    new = filled = 0
    in_braces = []
    for entry in entries:
        card = by_file.get(same_name(entry.file))
        missing = [key for key in entry.values if card and key not in card.words]
        if card is None:
            name = _free_name(entry.file, names)
            names.add(same_name(name))
            added += ["", f"{edge}{name}:", *entry.lines(entry.values, f"{edge}  ")]
            new += 1
        elif missing and card.in_braces:
            in_braces.append(card.name)
        elif missing:
            _fill(lines, card, entry)
            puts.append((card.last_line, entry.lines([key for key in missing if key not in card.empty], card.indent)))
            filled += 1
    _put(lines, puts, end)
    if new and lines and not lines[-1].endswith(("\n", "\r")):
        lines.append(end)
    whole = "".join(lines) + ("".join(each + end for each in added) if new else "")
    return Extended(whole, new, filled, tuple(in_braces))


def _line_end(lines: list[str]) -> str:
    """How lines end in this text."""
    return next((end for end in ("\r\n", "\r") if lines and lines[0].endswith(end)), "\n")


def _put(lines: list[str], puts: list[tuple[int, list[str]]], end: str) -> None:
    """Put in lines, each group before the line of that number; from the last, so that numbers stay true."""
    for line, put in sorted(puts, reverse=True):
        if put and not lines[line - 1].endswith(("\n", "\r")):
            lines[line - 1] += end
        lines[line:line] = [each + end for each in put]


def _fill(lines: list[str], card: _Card, entry: Entry) -> None:
    """Write values after keys that stand there without one; what stands after them stays."""
    for key, (line, at) in card.empty.items():
        if key in entry.values:
            value = entry.lines([key], "").pop().partition(": ")[2]
            lines[line] = f"{lines[line][:at]} {value}{lines[line][at:]}"


def complete_files(text: str) -> set[str]:
    """Files whose cards lack nothing, in the form in which names are compared."""
    try:
        return {same_name(card.file) for card in _cards(text) if set(WANTED) <= card.words}
    except UnclearCatalogError:
        return set()


def _cards(text: str) -> list[_Card]:
    if not text.strip("\ufeff \t\r\n"):
        return []
    tree = read_tree(split_lines(text, ""), GRAMMAR, Problems(), bounded=False)
    if tree is None or is_empty(tree):
        return []
    if not isinstance(tree, Pairs):
        raise UnclearCatalogError
    found = []
    for name, node in tree.pairs:
        if isinstance(node, Pairs) and node.pairs:
            words = {same_word(key.value): (key, value) for key, value in node.pairs}
            file = words["file"][1] if "file" in words else None
            last = max(_last_line(key, value) for key, value in node.pairs)
            first = node.pairs[0][0].place()
            before = first.text[: first.column - 1].lstrip("\ufeff")
            empty = {word: _after_colon(key) for word, (key, value) in words.items() if is_empty(value)}
            found.append(
                _Card(
                    name.value,
                    re.sub(r"^&\S+ +", "", file.value) if isinstance(file, Text) else "",
                    frozenset(words) - empty.keys(),
                    empty,
                    last,
                    "  " if before.strip() else before,
                    "{" in before,
                )
            )
    return found


def _edge(text: str) -> str:
    """What stands before the names of cards: nothing, or spaces where all of them are moved to the right."""
    found = re.search(r"^\ufeff?([ \t]*)[^\s#].*", text, re.MULTILINE)
    return found[1] if found else ""


def _after_colon(key: Text) -> tuple[int, int]:
    place = key.place(len(key.value) - 1)
    return place.line - 1, place.text.find(":", place.column - 1) + 1


def _last_line(key: Text, value: object) -> int:
    line = key.place().line
    if isinstance(value, Text) and value.value:
        return max(line, value.place(len(value.value) - 1).line)
    return line


def _free_name(file: str, taken: set[str]) -> str:
    """Name a loop after its file, with the signs that names may have, and unlike any other."""
    stem = file.rpartition(".")[0] or file
    name = re.sub(r"\s+", " ", re.sub(r"[^\w \-.()+]", " ", stem)).strip(" -.()+") or "loop"
    name = "loop " + name if same_word(name) in ("everything", "nothing", "without") else name
    name = f"loop {name}" if re.fullmatch(r"[\d \-.+]+", name) else name
    free, count = name, 2
    while same_name(free) in taken:
        free, count = f"{name} v{count}", count + 1
    return free


def _plain(value: str) -> str:
    """A value as it stands; in quote marks where it would be read otherwise."""
    if re.fullmatch(r"-?[\w.][\w .()+/|#%-]*", value) and " #" not in value and value == value.strip():
        return value
    return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
