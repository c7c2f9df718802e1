"""What is written of each section, key by key, in the short or the long form; `sections` says what it means."""

from __future__ import annotations

import re
from collections.abc import Mapping

from mixer.pattern import pattern
from mixer.recipe import values
from mixer.recipe.keywords import SYNONYMS, words_at
from mixer.recipe.model import Layer
from mixer.text.names import nearest, plain_signs, same_name, same_word
from mixer.text.nodes import Items, Node, Pairs, Text, place_of
from mixer.text.values import bare_name
from mixer.words.problem import Place, Problems

MOST_SECTIONS = 100
_BARS = pattern(r"(?:of\s+)?(\d{1,9})\s*-?\s*bars?|bars?\s+(\d{1,9})", re.IGNORECASE)
_BARE_FIGURE = pattern(r"\d{1,3}")
# Where in the song it stands: `bars 5-12`.
_PLACE = pattern(r"(?:bars?\s+)?(\d{1,4})\s*(?:--?|to)\s*(\d{1,4})(?:\s*bars?)?", re.IGNORECASE)
# A length that is no whole number of bars: `4.5 bars`, `eight bars`, `20 seconds`.
_LENGTH = pattern(r"[\w.,]+\s+bars?|\d[\w.]*\s+\w+", re.IGNORECASE)
_LENGTH_FIRST = pattern(r"(\d{1,3}\s*bars?)\s*[,:;]\s*(?=\S)", re.IGNORECASE)
_LIKE = pattern(r"like\s+(.+)", re.IGNORECASE)
# `verse 8 bars` and `verse 2 like verse`: a name and what belongs after its comma.
_NO_COMMA = pattern(r"(.*\S)\s+(\d{1,3}\s*bars?|like\s+.+)", re.IGNORECASE)
_IN_BRACKETS = pattern(r"(.*[^\s(\[])\s*[(\[]\s*(\d{1,3}\s*bars?)\s*[)\]]", re.IGNORECASE)
# `verse 8 bars piano` with no colon anywhere; what stands after the length is looked at before that is believed.
_NO_COLON = pattern(r"([^,]*[^,\s])(?:\s*,)?\s+(\d{1,3}\s*bars?)\s+(?:[-=>\u2013\u2014]+\s*)?(\S.*)", re.IGNORECASE)
_SECTION_WORDS = frozenset(words_at("section"))


class Draft:
    """A section while it is read: what was written, key by key."""

    def __init__(self, place: Place, name: Text | None = None) -> None:
        self.place = place
        self.name = name
        self.bars: Text | None = None
        self.like: Text | None = None
        self.without: Text | None = None
        self.play: Node | None = None
        self.head_entries: list[Text] = []
        self.strange: list[Text] = []  # what stands before the colon and could not be read
        self.spoilt = False  # something of it could not be read, and was told
        self.other: dict[str, tuple[Text, Node]] = {}


class DraftReader:
    """Reads what is written of the sections.

    Parameters
    ----------
    layers, lost : as in `mixer.recipe.entries.Context`
    problems : grows
    """

    def __init__(self, layers: Mapping[str, Layer], lost: Mapping[str, str], problems: Problems) -> None:
        self.layers = layers
        self.lost = lost
        self.problems = problems

    def read(self, node: Node) -> list[Draft]:
        """Read the list of sections; what cannot be read is left out and told."""
        items = self._items(node)
        if len(items) > MOST_SECTIONS:
            self.problems.tell("too-many-sections", place_of(items[MOST_SECTIONS]), most=MOST_SECTIONS)
            items = items[:MOST_SECTIONS]
        return self._drafts(items)

    def _items(self, node: Node) -> tuple[Node, ...]:
        if isinstance(node, Items):
            return node.items
        if isinstance(node, Pairs):
            if not node.pairs:
                return ()
            first = node.pairs[0][0]
            starts = [key for key, _ in node.pairs if same_word(key.value) not in _SECTION_WORDS]
            lines = tuple(key.place().line for key in starts[1:])
            self.problems.tell("section-dash", first.place(), name=first.value, lines=lines)
            if same_word(first.value) in _SECTION_WORDS:
                return (node,)
            return tuple(Pairs(key.place(), ((key, value),)) for key, value in node.pairs)
        place = node.place()
        if place.text[: place.column - 1].strip():  # on the line of the key itself
            self.problems.tell("sections-list", place)
            return ()
        if node.value:
            self.problems.tell("section-dash", node.place(), name=node.value, lines=())
            return (node,)
        return ()

    def _drafts(self, items: tuple[Node, ...]) -> list[Draft]:
        drafts: list[Draft] = []
        for item in items:
            if isinstance(item, Text):
                if item.value:
                    drafts.append(self._short(item, None))
                else:
                    self.problems.tell("empty-item", item.place())
            elif isinstance(item, Items) or not item.pairs:
                self.problems.tell("empty-item", item.place)
            else:
                self._from_pairs(item, drafts)
        return drafts

    def _from_pairs(self, item: Pairs, drafts: list[Draft]) -> None:
        first, value = item.pairs[0]
        if same_word(first.value) not in _SECTION_WORDS:
            draft = self._short(first, value)
            rest = item.pairs[1:]
        else:
            words = {same_word(key.value) for key, _ in item.pairs}
            if not words & {"name", "like"} and drafts and not self._has(drafts[-1], words):
                self.problems.tell("extra-dash", first.place(), key=first.value)
                self._take_keys(drafts[-1], item.pairs, drafts)
                return
            draft, rest = Draft(first.place()), item.pairs
        drafts.append(draft)
        self._take_keys(draft, rest, drafts)

    @staticmethod
    def _has(draft: Draft, words: set[str]) -> bool:
        there = {word for word in ("bars", "like", "without", "play") if getattr(draft, word) is not None}
        return bool(words & (there | draft.other.keys()))

    def _short(self, head: Text, value: Node | None) -> Draft:
        """Read `NAME, 8 bars, like NAME` and what follows the colon."""
        plain = plain_signs(head.value)
        found = _NO_COLON.fullmatch(plain) if value is None and len(plain) <= values.LONGEST_TEXT else None
        if found and self._names_someone(found[3]):
            self.problems.tell("head-colon", head.place(found.end(1), found.start(3)), bars=found[2], who=found[3])
            first, *others, value = (head.part(*found.span(group)) for group in (1, 2, 3))
        else:
            first, *others = head.saying(plain).split()
            first = head.part(0, len(first.value))
        name = bare_name(first, self.problems)
        short = len(name.value) <= values.LONGEST_TEXT  # in what is longer, looking would take long
        if short and (found := _NO_COMMA.fullmatch(name.value) or _IN_BRACKETS.fullmatch(name.value)):
            self.problems.tell("head-comma", name.place(), name=found[1], more=found[2])
            others.insert(0, name.part(found.start(2), found.end(2)))
            name = name.part(0, found.end(1))
        draft = Draft(name.place(), name=name)
        if _BARS.fullmatch(name.value) or (_LIKE.fullmatch(name.value) and not others):
            self.problems.tell("section-name", name.place(), text=name.value)
            draft.spoilt = True
        for part in others:
            if part.value:
                self._head_part(draft, part)
        if isinstance(value, Pairs) and all(self._is_section_key(key) for key, _ in value.pairs):
            self._take_keys(draft, value.pairs, [])
        elif value is not None and (not isinstance(value, Text) or value.value):
            draft.play = self._after_length(draft, value) if isinstance(value, Text) else value
        return draft

    def _after_length(self, draft: Draft, value: Text) -> Text:
        """See `- verse: 8 bars, piano`, where the length stands after the colon."""
        found = _LENGTH_FIRST.match(plain_signs(value.value))
        if found is None or draft.bars is not None or draft.like is not None:
            return value
        draft.bars = value.part(found.start(1), found.end(1))
        self.problems.tell("bars-after-colon", draft.bars.place(), bars=draft.bars.value)
        return value.part(found.end(), len(value.value))

    def _head_part(self, draft: Draft, part: Text) -> None:
        """Read what stands between two commas before the colon, after the name."""
        if (found := _BARS.fullmatch(part.value)) and draft.bars is None:
            group = 1 if found[1] else 2
            draft.bars = part.part(found.start(group), found.end(group))
        elif _BARE_FIGURE.fullmatch(part.value) and draft.bars is None:
            self.problems.tell("bars-word", part.place(), figure=part.value)
            draft.bars = part
        elif (found := _PLACE.fullmatch(part.value)) and draft.bars is None and (length := _length(found)) > 0:
            self.problems.tell("bars-place", part.place(), value=part.value, bars=length)
            draft.bars = Text(str(length), ((0, part.place()),))
        elif found := _LIKE.fullmatch(part.value):
            draft.like = part.part(found.start(1), found.end(1))
        elif self._names_someone(part.value):
            draft.head_entries.append(part)
        elif _LENGTH.fullmatch(part.value) and draft.bars is None:
            draft.bars = part
        else:
            draft.strange.append(part)
            draft.spoilt = True

    def _names_someone(self, text: str) -> bool:
        """Whether a text begins with who plays: of what belongs after the colon, `- verse, 8 bars, piano 1-4`."""
        form = f"{same_name(text)} ".replace(",", " ")
        names = (*self.layers, *self.lost, "everything", "nothing", "without")
        return any(form.startswith(f"{name} ") for name in names)

    def _is_section_key(self, key: Text) -> bool:
        return same_word(key.value) in _SECTION_WORDS and same_name(key.value) not in self.layers

    def _take_keys(self, draft: Draft, pairs: tuple[tuple[Text, Node], ...], drafts: list[Draft]) -> None:
        for key, node in pairs:
            word = same_word(key.value)
            if word == "name" and draft.name is not None and drafts and isinstance(node, Text):
                self.problems.tell("second-name", key.place(), name=node.value, first=draft.name.value)
                draft = Draft(key.place(), name=node)
                drafts.append(draft)
            elif word not in _SECTION_WORDS and drafts and _starts_section(key, node):
                self.problems.tell("section-dash", key.place(), name=key.value, lines=())
                draft = self._short(key, node)
                drafts.append(draft)
            elif word not in _SECTION_WORDS:
                self._unknown_key(key, draft)
            elif self._has(draft, {word}) or (word == "name" and draft.name is not None):
                self.problems.tell("key-twice", key.place(), key=key.value)
            else:
                self._take_key(draft, word, key, node)

    def _take_key(self, draft: Draft, word: str, key: Text, node: Node) -> None:
        if word == "play":
            draft.play = node
        elif word in ("name", "bars", "like"):
            if (text := values.one_text(key, node, self.problems)) is not None:
                setattr(draft, word, text)
        elif word == "without" and isinstance(node, Text) and node.value:
            draft.without = node
        else:
            draft.other[word] = (key, node)

    def _unknown_key(self, key: Text, draft: Draft) -> None:
        known = words_at("section")
        word = same_word(key.value)
        guess = SYNONYMS.get(("section", word)) or nearest(word, known)
        if same_name(key.value) in self.layers:
            self.problems.tell("layer-as-key", key.place(), name=key.value)
            return
        self.problems.tell("unknown-key", key.place(), key=key.value, where="section", guess=guess, known=known)
        draft.spoilt = draft.spoilt or guess in ("bars", "like", "play")


def _length(place: re.Match[str]) -> int:
    """How many bars there are from one to another."""
    return int(place[2]) - int(place[1]) + 1


def _starts_section(key: Text, node: Node) -> bool:
    """Whether a line among a section's keys is plainly a section whose dash is missing."""
    parts = plain_signs(key.value).split(",")
    return (
        len(parts) > 1
        and isinstance(node, Text)
        and any(_BARS.fullmatch(p.strip()) or _LIKE.fullmatch(p.strip()) for p in parts[1:])
    )
