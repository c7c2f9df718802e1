"""Adds what was measured to a folder's catalog, and keeps to the letter what stands there.

Lines are only ever put in, never changed: new cards at the end, and in a card of a person's own the keys that are
missing, after its last line. A value that is there counts as vouched for, whatever was measured. A value that is a
guess is written with a remark that begins `# guess`; who takes the remark away vouches for it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from mixer.loops.catalog import GRAMMAR
from mixer.text.names import same_name, same_word
from mixer.text.nodes import Pairs, Text
from mixer.text.source import split_lines
from mixer.text.tree import read_tree
from mixer.words.problem import Problems

# A card that has these is complete; the others may be missing for good reasons.
WANTED = ("tempo", "bars", "time", "key", "role", "downbeat", "loudness")


@dataclass(frozen=True)
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


@dataclass(frozen=True)
class Extended:
    """A catalog with what was added.

    Parameters
    ----------
    text : all of it
    new, filled : how many cards were added, and how many completed
    """

    text: str
    new: int
    filled: int


@dataclass(frozen=True)
class _Card:
    name: str
    file: str
    words: frozenset[str]
    last_line: int
    indent: str


def extended(text: str, entries: Iterable[Entry], head: str) -> Extended:
    """Add cards to a catalog's text.

    Parameters
    ----------
    text : what stands there; may be empty
    entries : what was measured
    head : a comment for the first line of a new catalog

    Returns
    -------
    the catalog; all lines of `text` are in it, in their order and unchanged
    """
    cards = _cards(text)
    by_file = {same_name(card.file): card for card in cards if card.file}
    names = {same_name(card.name) for card in cards}
    lines = text.splitlines(keepends=True)
    end = "\r\n" if lines and lines[0].endswith("\r\n") else "\n"
    puts: list[tuple[int, list[str]]] = []
    added: list[str] = [] if text.strip() else [head]
    new = filled = 0
    for entry in entries:
        card = by_file.get(same_name(entry.file))
        if card is not None:
            missing = [key for key in entry.values if key not in card.words]
            if missing:
                puts.append((card.last_line, entry.lines(missing, card.indent)))
                filled += 1
            continue
        name = _free_name(entry.file, names)
        names.add(same_name(name))
        added += ["", f"{name}:", *entry.lines(entry.values, "  ")]
        new += 1
    for line, put in sorted(puts, reverse=True):
        if not lines[line - 1].endswith("\n"):
            lines[line - 1] += end
        lines[line:line] = [each + end for each in put]
    if new and lines and not lines[-1].endswith("\n"):
        lines.append(end)
    return Extended("".join(lines) + ("".join(each + end for each in added) if new else ""), new, filled)


def complete_files(text: str) -> set[str]:
    """Files whose cards lack nothing, in the form in which names are compared."""
    return {same_name(card.file) for card in _cards(text) if set(WANTED) <= card.words}


def _cards(text: str) -> list[_Card]:
    tree = read_tree(split_lines(text, ""), GRAMMAR, Problems(), bounded=False) if text.strip() else None
    if not isinstance(tree, Pairs):
        return []
    found = []
    for name, node in tree.pairs:
        if isinstance(node, Pairs) and node.pairs:
            words = {same_word(key.value): value for key, value in node.pairs}
            file = words.get("file")
            last = max(_last_line(key, value) for key, value in node.pairs)
            first = node.pairs[0][0].place()
            indent = first.text[: first.column - 1] if not first.text[: first.column - 1].strip() else "  "
            filled = frozenset(word for word, value in words.items() if not isinstance(value, Text) or value.value)
            found.append(_Card(name.value, file.value if isinstance(file, Text) else "", filled, last, indent))
    return found


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
    if re.fullmatch(r"-?[\w.][\w .()+/|#-]*", value) and " #" not in value and value == value.strip():
        return value
    return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
