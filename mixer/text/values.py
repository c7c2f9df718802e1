"""One value as written: plain text, text in quote marks, or a list or pairs in brackets.

Brackets (YAML's flow style) are read here and not by a YAML parser, because beginners' brackets lack
spaces (`{loop:tin-roof}`), hold commas that mean something (`{bass: 1-2, 5-6}`) and stay open; and because
a parser would take longer to start than a recipe takes to read.
"""

from __future__ import annotations

import re

from mixer.text.names import COLONS, COMMAS, QUOTES
from mixer.text.nodes import Items, Node, Pairs, Text
from mixer.words.problem import Problems

DEEPEST = 8
_ESCAPES = {"n": "\n", "t": "\t", '"': '"', "\\": "\\", "/": "/", " ": " "}
_CLOSE = {"{": "}", "[": "]"}


def free_text(text: Text, problems: Problems) -> Text:
    """Give free text: quote marks round the whole of it are taken away, all else stays as written."""
    value = text.value
    whole = _unquoted(text)
    if whole is not None:
        return whole
    if value[:1] == '"' and '"' not in value[1:]:
        problems.tell("open-quote", text.place(0, 1), mark='"')
        return text.part(1, len(value))
    if value[:1] == "'" and "'" not in value[1:]:
        problems.tell("open-quote-kept", text.place(0, 1), mark="'")
    elif value[:1] in QUOTES and not value[0].isascii() and value[-1] in QUOTES[value[0]]:
        problems.tell("other-quotes", text.place(), mark=value[0])
        return text.part(1, len(value) - 1)
    elif len(value) > 1 and value[0] in ("'", '"') and value[-1] == value[0] and value.count(value[0]) == 3:
        inner = text.part(1, len(value) - 1)
        problems.tell("quote-inside", text.place(), text=inner.value)
        return inner
    return text


def plain_text(text: Text, problems: Problems) -> Text:
    """Give a name, a number or another short value, without quote marks."""
    if not text.value or text.value[0] not in QUOTES:
        return text
    if (whole := _unquoted(text)) is not None:
        return whole
    mark, last = text.value[0], text.value[-1]
    if len(text.value) > 1 and last in QUOTES[mark]:
        problems.tell("other-quotes", text.place(), mark=mark)
        return text.part(1, len(text.value) - 1)
    if not any(sign in QUOTES for sign in text.value[1:]):
        problems.tell("open-quote", text.place(0, 1), mark=mark)
        return text.part(1, len(text.value))
    return text


def bare_name(text: Text, problems: Problems) -> Text:
    """Give a name among others in one line, where quote marks have no meaning: they are left out, and told."""
    whole = plain_text(text, problems)
    if whole is not text and text.value[0] in "\"'" and len(text.value) > 1 and text.value[-1] == text.value[0]:
        problems.tell("other-quotes", text.place(), mark=text.value[0])
    return whole


def _unquoted(text: Text) -> Text | None:
    """Text within a pair of straight quote marks as YAML has them; None if that is not what it is."""
    value = text.value
    if re.fullmatch(r"'(?:[^']|'')*'", value):
        return _spliced(text, [(m.start(), m.end(), "'") for m in re.finditer("''", value[1:-1])])
    if re.fullmatch(r'"(?:[^"\\]|\\.)*"', value):
        if re.search(r"(?<!\\)(?:\\\\)*\\(?![nt\"\\/ u])", value):
            return text.part(1, len(value) - 1)  # a path of Windows rather than signs that stand for others
        found = re.finditer(r"\\(?:u([0-9a-fA-F]{4})|(.))", value[1:-1])
        return _spliced(text, [(m.start(), m.end(), _escaped(m[1], m[2])) for m in found])
    return None


def _escaped(code: str | None, sign: str) -> str:
    return chr(int(code, 16)) if code else _ESCAPES.get(sign, sign)


def _spliced(text: Text, changes: list[tuple[int, int, str]]) -> Text:
    """Give the inner text with some parts replaced; the places of the others stay right."""
    inner = text.value[1:-1]
    value, pieces, done = "", [(0, text.place(1, max(2, len(text.value) - 1)))], 0
    for start, end, instead in changes:
        value += inner[done:start] + instead
        pieces.append((len(value), text.place(min(end + 1, len(text.value) - 1))))
        done = end
    return Text(value + inner[done:], tuple(pieces))


def brackets(text: Text, problems: Problems) -> Node:
    """Read a list or pairs in brackets; what is not closed is closed at the end, and told."""
    return _Brackets(text, problems).node()


def open_brackets(value: str) -> str:
    """Give the closing signs that the value still lacks, in their order."""
    waiting: list[str] = []
    quote = ""
    for at, sign in enumerate(value):
        if quote:
            quote = "" if sign == quote else quote
        elif sign in "\"'" and (at == 0 or not value[at - 1].isalnum()):
            quote = sign
        elif sign in _CLOSE:
            waiting.insert(0, _CLOSE[sign])
        elif waiting and sign == waiting[0]:
            waiting.pop(0)
    return "".join(waiting)


class _Brackets:
    """Walks over a text in brackets, sign by sign."""

    def __init__(self, text: Text, problems: Problems) -> None:
        self.text = text
        self.problems = problems
        self.at = 0

    def node(self, depth: int = 0) -> Node:
        opening = self._sign()
        if opening in _CLOSE and depth < DEEPEST:
            start = self.at
            self.at += 1
            inner = self._pairs(depth) if opening == "{" else self._items(depth)
            if self._sign() == _CLOSE[opening]:
                self.at += 1
            else:
                place = self.text.place(start, start + 1)
                self.problems.tell("open-bracket", place, opening=opening, closing=_CLOSE[opening])
            return inner
        return self._word(COMMAS + "}]")

    def _sign(self) -> str:
        while self.at < len(self.text.value) and self.text.value[self.at].isspace():
            self.at += 1
        return self.text.value[self.at : self.at + 1]

    def _word(self, stops: str) -> Text:
        self._sign()
        start = self.at
        if (mark := self.text.value[start : start + 1]) in QUOTES and mark:
            closing = QUOTES[mark]
            end = next((i for i in range(start + 1, len(self.text.value)) if self.text.value[i] in closing), -1)
            self.at = end if end > 0 else start
        while self.at < len(self.text.value) and self.text.value[self.at] not in stops:
            self.at += 1
        return plain_text(self.text.part(start, self.at), self.problems)

    def _check_space(self, key: Text) -> None:
        """Tell a colon without a space after it."""
        after = self.text.value[self.at : self.at + 1]
        if after and not after.isspace():
            self.problems.tell("space-after-colon", self.text.place(self.at - 1, self.at), key=key.value)

    def _items(self, depth: int) -> Items:
        items: list[Node] = []
        place = self.text.place(self.at - 1, self.at)
        while self._sign() not in ("", "]", "}"):
            before = self.at
            items.append(self.node(depth + 1))
            if self._sign() and self._sign() in COMMAS:
                self.at += 1
            if self.at == before:
                break
        return Items(place, tuple(items))

    def _pairs(self, depth: int) -> Pairs:
        pairs: list[tuple[Text, Node]] = []
        place = self.text.place(self.at - 1, self.at)
        while self._sign() not in ("", "]", "}"):
            before = self.at
            key = self._word(COMMAS + COLONS + "}]")
            if self._sign() and self._sign() in COLONS:
                self.at += 1
                self._check_space(key)
                pairs.append((key, self.node(depth + 1)))
            elif pairs and isinstance(before_it := pairs[-1][1], Text) and re.match(r"[\d\W]+\Z", key.value):
                # a comma inside a value: {bass: 1-2, 5-6}, {level: +1,5}
                spaced = self.text.value[before - 1 : before] not in COMMAS
                pairs[-1] = (pairs[-1][0], before_it.then(key, ", " if spaced else ","))
            else:
                pairs.append((key, self.text.part(self.at, self.at)))
            if self._sign() and self._sign() in COMMAS:
                self.at += 1
            if self.at == before:
                break
        return Pairs(place, tuple(pairs))
