"""A folder's catalog, `loops.yaml`: one card for each loop, for a person to read and correct.

A card with a mistake is left out and told; the others can be used.
"""

from __future__ import annotations

import functools
import re
from fractions import Fraction
from pathlib import Path

from mixer.loops.card import Card
from mixer.loops.limits import Limits
from mixer.music.keys import Key, parse_key
from mixer.music.meter import parse_meter
from mixer.pattern import pattern
from mixer.text.grammar import Grammar
from mixer.text.names import nearest, plain_signs, same_name, same_word
from mixer.text.nodes import Node, Pairs, Text, place_of
from mixer.text.source import decode, split_lines, tell_guess
from mixer.text.tree import read_tree
from mixer.words.problem import Place, Problem, Problems

FILE_NAME = "loops.yaml"
LARGEST_BYTES = 500_000
# What is told of a card that cannot be used.
UNUSABLE = frozenset({"card-empty", "card-lacks", "card-value", "loop-gone", "loop-no-file", "loop-outside"})
VOICE = "voice"
ROLES = ("drums", "bass", "harmony", "melody", "percussion", VOICE, "background")
_WORDS = (
    *("file", "tempo", "bars", "time", "key", "chords", "downbeat", "role", "set"),
    *("loudness", "maker", "licence", "may be"),
    *("slower up to", "faster up to", "lower up to", "higher up to"),
)
_CHECKED = pattern(r"\s#\s*checked\b", re.IGNORECASE)
# What a loop bears, most that may be said of it, and how that is written.
MOST_SLOWER_PERCENT, MOST_FASTER_PERCENT, MOST_SEMITONES = 90, 400, 24
GRAMMAR = Grammar(
    keys=frozenset(_WORDS),
    top=frozenset(),
    free=frozenset({"file", "set", "maker", "licence", "may be", "chords"}),
    one_name=frozenset(),
    blocks=frozenset(),
    named={},
)


def read_catalog(folder: Path, problems: Problems) -> dict[str, Card]:
    """Read a folder's catalog.

    Parameters
    ----------
    folder : where the loops and their `loops.yaml` are
    problems : grows by what is told

    Returns
    -------
    cards by the form in which names are compared; empty where there is no catalog, which is told
    """
    path = folder / FILE_NAME
    file = f"{folder.name}/{FILE_NAME}" if folder.name else FILE_NAME
    raw = _bytes(path, file, problems)
    if raw is None:
        return {}
    tree, told = _tree(raw, file)
    for problem in told:
        problems.tell(problem.kind, problem.place, **problem.facts)
    if not isinstance(tree, Pairs):
        if not any(problem.kind == "line-too-long" for problem in problems):
            problems.tell("empty-catalog", Place(file))
        return {}
    cards: dict[str, Card] = {}
    for name, node in tree.pairs:
        form = same_name(name.value)
        if form in cards:
            problems.tell("key-twice", name.place(), key=name.value)
        elif not isinstance(node, Pairs):
            problems.tell("card-empty", name.place(), name=name.value)
        elif card := _CardReader(name, node, folder, problems).card():
            cards[form] = card
    return cards


@functools.lru_cache(maxsize=8)
def _tree(raw: bytes, file: str) -> tuple[Node | None, tuple[Problem, ...]]:
    """Read what stands in a catalog, and what is to tell of it; once in a program, since a class shares its catalogs.

    What depends on anything but the text (whether sound files are there) is looked at each time.
    """
    problems = Problems()
    text, guessed = decode(raw)
    source = split_lines(text, file)
    if guessed:
        tell_guess(source, problems)
    return read_tree(source, GRAMMAR, problems, bounded=False), tuple(problems)


def _bytes(path: Path, file: str, problems: Problems) -> bytes | None:
    """Give what stands in a catalog; None, and told, where there is none that may be used."""
    folder = path.parent
    if not path.is_file():
        kind = "no-catalog" if folder.is_dir() else "no-folder"
        problems.tell(kind, Place(file), folder=folder.name or str(folder))
        return None
    if not is_inside(path, folder):
        problems.tell("catalog-outside", Place(file), folder=folder.name or str(folder))
        return None
    try:
        with path.open("rb") as stream:
            raw = stream.read(LARGEST_BYTES + 1)
    except OSError:
        problems.tell("catalog-locked", Place(file))
        return None
    if len(raw) > LARGEST_BYTES:
        problems.tell("catalog-long", Place(file), most=LARGEST_BYTES // 1000)
        return None
    return raw


def is_inside(path: Path, folder: Path) -> bool:
    """Whether a file or folder lies in a folder, links followed; no for links that lead in a circle."""
    try:
        return folder.resolve() in path.resolve().parents
    except (OSError, RuntimeError):
        return False


def _is_checked(value: Text) -> bool:
    """Whether a note after a value says that a person has checked it."""
    _, first = value.pieces[-1]
    if "#" not in first.text:  # nearly always, and a place takes long to find
        return False
    last = value.place(len(value.value) - 1)
    return _CHECKED.search(last.text, last.column) is not None


class _CardReader:
    """Reads one card."""

    def __init__(self, name: Text, node: Pairs, folder: Path, problems: Problems) -> None:
        self.name = name
        self.folder = folder
        self.problems = problems
        self.found: dict[str, Text] = {}
        self.good = True
        for key, value in node.pairs:
            word = same_word(key.value)
            if word not in _WORDS:
                guess = nearest(word, _WORDS)
                problems.tell("unknown-card-key", key.place(), key=key.value, guess=guess)
            elif word in self.found:
                problems.tell("key-twice", key.place(), key=key.value)
            elif not isinstance(value, Text):
                problems.tell("one-value", place_of(value), key=key.value)
            elif value.value:
                self.found[word] = value

    def card(self) -> Card | None:
        path = self._path()
        tempo = self._number("tempo", 20, 400)
        bars = self._number("bars", 1, 64)
        meter = parse_meter(plain_signs(self._text("time", "4/4")))
        role = same_word(self._text("role", ""))
        if meter is None:
            self._wrong("time")
        if role not in ROLES:
            self._wrong("role")
        if bars is not None and bars.denominator != 1:
            self._wrong("bars")
        downbeat = self._number("downbeat", 0, 120) if "downbeat" in self.found else Fraction(0)
        key = self._key()
        if not self.good or path is None or tempo is None or bars is None or meter is None or downbeat is None:
            return None
        return Card(
            name=self.name.value,
            path=path,
            tempo_bpm=tempo,
            meter=meter,
            bars=int(bars),
            role=role,
            downbeat_seconds=downbeat,
            key=key,
            chords=tuple(chord.strip() for chord in self._text("chords", "").split("|") if chord.strip()),
            limits=self._limits(),
            set=self._text("set", ""),
            maker=self._text("maker", ""),
            licence=self._text("licence", ""),
            may_be=tuple(part.strip() for part in self._text("may be", "").split(",") if part.strip()),
            checked=frozenset(word for word, value in self.found.items() if _is_checked(value)),
        )

    def _text(self, word: str, otherwise: str) -> str:
        return self.found[word].value if word in self.found else otherwise

    def _wrong(self, word: str) -> None:
        self.good = False
        if word in self.found:
            value = self.found[word].value
            self.problems.tell("card-value", self.found[word].place(), name=self.name.value, key=word, value=value)
        else:
            self.problems.tell("card-lacks", self.name.place(), name=self.name.value, key=word)

    def _number(self, word: str, least: int, most: int) -> Fraction | None:
        text = plain_signs(self._text(word, "")).replace(",", ".")
        found = re.fullmatch(r"(\d{1,6}(?:\.\d{1,9})?)\s*(?:bpm|bars?|s|seconds)?", text.strip().lower())
        if found and least <= (number := Fraction(found[1])) <= most:
            return number
        self._wrong(word)
        return None

    def _limits(self) -> Limits:
        return Limits(
            slower_percent=self._limit("slower up to", r"\s*(?:%|percent)?", MOST_SLOWER_PERCENT),
            faster_percent=self._limit("faster up to", r"\s*(?:%|percent)?", MOST_FASTER_PERCENT),
            lower_semitones=self._limit("lower up to", r"\s*(?:semitones?)?", MOST_SEMITONES),
            higher_semitones=self._limit("higher up to", r"\s*(?:semitones?)?", MOST_SEMITONES),
        )

    def _limit(self, word: str, unit: str, most: int) -> int | None:
        """A whole number with its unit; a slip in it is told, and does not cost the loop."""
        if word not in self.found:
            return None
        value = self.found[word]
        number = re.fullmatch(r"(\d{1,3})" + unit, plain_signs(value.value).strip().lower())
        if number and int(number[1]) <= most:
            return int(number[1])
        self.problems.tell("card-limit", value.place(), name=self.name.value, key=word, value=value.value)
        return None

    def _key(self) -> Key | None:
        text = self._text("key", "none")
        if same_word(text) == "none":
            return None
        key = parse_key(plain_signs(text))
        if key is None:
            self._wrong("key")
        return key

    def _path(self) -> Path | None:
        """Find the sound file, which must lie in the catalog's own folder, links followed."""
        if "file" not in self.found:
            self._wrong("file")
            return None
        path = self.folder / self.found["file"].value
        try:
            kind = self._why_not(path)
        except (OSError, ValueError):  # a name that no file can have
            kind = "loop-gone"
        if not kind:
            return path
        facts = {} if kind == "loop-outside" else {"file": path.name}
        self.problems.tell(kind, self.found["file"].place(), name=self.name.value, **facts)
        self.good = False
        return None

    def _why_not(self, path: Path) -> str:
        """What is wrong with the place of a sound file; empty if it can be used."""
        beside = path.parent == self.folder and not path.is_symlink()
        if not beside and not is_inside(path, self.folder):
            return "loop-outside"
        if path.is_file():
            return ""
        return "loop-no-file" if path.exists() else "loop-gone"
