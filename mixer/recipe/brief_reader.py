"""A brief's text to a brief, with every problem found on the way.

The same line reader as for recipes, and the same kindness: a limit that cannot be read is left out and told, in the
brief's own file and line; all others count.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import PurePath
from typing import Any

from mixer.pattern import pattern
from mixer.recipe import brief_values, values
from mixer.recipe.brief import (
    ALL,
    GRAMMAR,
    MOST_QUESTIONS,
    OF_BRIEFS_ALONE,
    ROLE_SYNONYMS,
    ROLES_AND_ALL,
    SYNONYMS,
    WORDS,
    Brief,
    BriefWord,
    Range,
)
from mixer.recipe.model import ROLES
from mixer.record import record
from mixer.text.names import COMMAS, nearest, same_word, visible
from mixer.text.nodes import Items, Node, Pairs, Text, is_empty, place_of
from mixer.text.source import Source, split_lines, tell_guess
from mixer.text.tree import read_tree
from mixer.text.values import bare_name
from mixer.words.problem import Place, Problem, Problems

MOST_ITEMS = 50
# Words that only a recipe has.
_OF_A_RECIPE = frozenset({"title", "by", "hear", "may be heard"})
_BOUNDS = {
    "tempo": values.TEMPO_BPM,
    "sections": (1, 200),
    "section bars": values.SECTION_BARS,
    "layers": (0, 32),
    "at once": (0, 32),
}
_ATTRIBUTES = {
    "longest": "longest_seconds",
    "shortest": "shortest_seconds",
    "tempo": "tempo_bpm",
    "key": "keys",
    "time": "meters",
    "brief": "name",
}
_OR = pattern(r"(?<=\s)(?:or|and)(?=\s)")


@record
class BriefReading:
    """What came of a brief's text.

    Parameters
    ----------
    brief : all that could be read; None where it is no brief at all
    problems : everything to tell, in the order of the lines
    certain : whether it has a key word that no recipe has
    """

    brief: Brief | None
    problems: tuple[Problem, ...]
    certain: bool = False


def read_brief(text: str, file: str = "brief.yaml", *, guessed: bool = False) -> BriefReading:
    """Read a brief.

    Parameters
    ----------
    text : the whole text
    file : the name under which the text is told about
    guessed : whether letters of the text had to be guessed when it was decoded
    """
    source = split_lines(text, file)
    problems = Problems()
    if guessed:
        tell_guess(source, problems)
    tree = read_tree(source, GRAMMAR, problems)
    brief = _Reader(source, problems).brief(tree)
    words = {same_word(key.value) for key, _ in tree.pairs} if isinstance(tree, Pairs) else set()
    return BriefReading(brief, tuple(problems.in_order()), not words.isdisjoint(OF_BRIEFS_ALONE))


class _Reader:
    def __init__(self, source: Source, problems: Problems) -> None:
        self.source = source
        self.problems = problems

    def brief(self, tree: Node | None) -> Brief | None:
        if not isinstance(tree, Pairs):
            told = {problem.kind for problem in self.problems}
            if tree is not None or not told & {"line-too-long", "text-too-long"}:
                self.problems.clear()
                self.problems.append(Problem("brief-empty", Place(self.source.file)))
            return None
        if _is_recipe(tree):
            self.problems.clear()
            self.problems.append(Problem("brief-is-recipe", Place(self.source.file)))
            return None
        found: dict[str, Any] = {}
        for word, key, node in self._top(tree):
            value = self._value(word, key, node)
            if value is not None:
                found[_ATTRIBUTES.get(word.word, word.word.replace(" ", "_"))] = value
        self._check_ends(found, tree)
        return Brief(self.source.file, **{"name": PurePath(self.source.file).stem, **found})

    def _top(self, tree: Pairs) -> Iterator[tuple[BriefWord, Text, Node]]:
        by_word = {word.word: word for word in WORDS}
        seen = set()
        for key, node in tree.pairs:
            form = same_word(key.value)
            if form not in by_word:
                guess = SYNONYMS.get(form) or nearest(form, by_word)
                self.problems.tell("brief-unknown-key", key.place(), key=key.value, guess=guess, known=tuple(by_word))
            elif form in seen:
                self.problems.tell("key-twice", key.place(), key=key.value)
            elif is_empty(node):
                self.problems.tell("brief-no-value", key.place(), key=form)
            else:
                yield by_word[form], key, node
            seen.add(form)

    def _value(self, word: BriefWord, key: Text, node: Node) -> object:
        if word.kind in ("values", "names", "texts"):
            return self._list(word, node) or None
        if word.kind == "roles":
            return self._layers(node)
        if not isinstance(node, Text):
            self.problems.tell("one-value", place_of(node), key=key.value)
            return None
        return self._single(word, node)

    def _single(self, word: BriefWord, text: Text) -> object:
        if word.kind == "duration":
            return brief_values.duration(text, self.problems, word.word)
        if word.kind in ("range", "most"):
            alone = "most" if word.kind == "most" else "both"
            return brief_values.limits(text, self.problems, word.word, _BOUNDS[word.word], alone=alone)
        if word.kind == "one of":
            return values.one_of(text, self.problems, word.word, word.one_of)
        if word.kind == "number":
            return self._questions(text)
        return values.free(text, self.problems, word.word, prose=True) or None

    def _questions(self, text: Text) -> int | None:
        found = brief_values.limits(text, self.problems, "questions", (0, MOST_QUESTIONS), alone="most")
        return None if found is None or found.most is None else int(found.most)

    # -- lists ------------------------------------------------------------------------------------

    def _list(self, word: BriefWord, node: Node) -> tuple[Any, ...]:
        texts = list(self._texts(word, node))
        if len(texts) > MOST_ITEMS:
            self.problems.tell("brief-many", texts[MOST_ITEMS].place(), key=word.word, most=MOST_ITEMS)
        read = self._of_list(word)
        found = [read(text) for text in texts[:MOST_ITEMS] if text.value]
        return tuple(dict.fromkeys(value for value in found if value is not None))

    def _texts(self, word: BriefWord, node: Node) -> Iterator[Text]:
        free = word.kind == "texts"
        if isinstance(node, Text):
            yield from [node] if free else _parted(node, few=word.kind == "values")
        elif isinstance(node, Items):
            for item in node.items:
                if not isinstance(item, Text):
                    self.problems.tell("brief-item", place_of(item), key=word.word)
                else:
                    yield from [item] if free else _parted(item, few=word.kind == "values")
        else:
            self.problems.tell("brief-item", node.place, key=word.word)

    def _of_list(self, word: BriefWord) -> Callable[[Text], object]:
        problems = self.problems
        if word.word == "key":
            return lambda text: brief_values.key_or_mode(text, problems)
        if word.word == "time":
            return lambda text: brief_values.meter(text, problems)
        if word.word == "section bars":
            return lambda text: brief_values.limits(text, problems, "section bars", _BOUNDS["section bars"])
        if word.one_of:
            return lambda text: values.one_of(text, problems, word.word, word.one_of)
        if word.word == "find out":
            return lambda text: values.free(text, problems, word.word, prose=True) or None
        return lambda text: visible(bare_name(text, problems).value)[: values.LONGEST_NAME] or None

    # -- layers -----------------------------------------------------------------------------------

    def _layers(self, node: Node) -> dict[str, Range] | None:
        if isinstance(node, Text) and any(role in same_word(node.value) for role in ROLES):
            self.problems.tell("brief-layers", node.place())
            return None
        if isinstance(node, Text):  # `layers: 4` limits their sum
            found = self._most(node, ALL)
            return None if found is None else {ALL: found}
        if not isinstance(node, Pairs):
            self.problems.tell("brief-layers", node.place)
            return None
        return self._by_role(node)

    def _by_role(self, node: Pairs) -> dict[str, Range]:
        limits: dict[str, Range] = {}
        for key, value in node.pairs:
            role = same_word(key.value)
            if role not in ROLES_AND_ALL:
                guess = ROLE_SYNONYMS.get(role) or nearest(role, ROLES_AND_ALL)
                self.problems.tell("brief-role", key.place(), role=key.value, known=ROLES_AND_ALL, guess=guess)
            elif role in limits:
                self.problems.tell("key-twice", key.place(), key=key.value)
            elif not isinstance(value, Text):
                self.problems.tell("one-value", place_of(value), key=key.value)
            elif not value.value:
                self.problems.tell("brief-no-value", key.place(), key=role)
            elif (limit := self._most(value, role)) is not None:
                limits[role] = limit
        return limits

    def _most(self, text: Text, role: str) -> Range | None:
        if same_word(text.value) == "any":
            return Range(None, None)
        return brief_values.limits(text, self.problems, role, _BOUNDS["layers"], alone="most")

    def _check_ends(self, found: dict[str, Any], tree: Pairs) -> None:
        """Tell a song that would have to be longer than it may be."""
        shortest, longest = found.get("shortest_seconds"), found.get("longest_seconds")
        if shortest is not None and longest is not None and shortest > longest:
            place = next(place_of(node) for key, node in tree.pairs if same_word(key.value) == "shortest")
            self.problems.tell("brief-length-ends", place)
            del found["shortest_seconds"]


def _is_recipe(tree: Pairs) -> bool:
    """Whether a text with keys is a recipe: a brief says how many sections there are, a recipe which."""
    nodes = {same_word(key.value): node for key, node in tree.pairs}
    sections = nodes.get("sections")
    return not _OF_A_RECIPE.isdisjoint(nodes) or isinstance(sections, Items | Pairs)


def _parted(text: Text, *, few: bool) -> Iterator[Text]:
    """Give the parts of a list that stands in one line; where no value holds words of its own, also `4 or 8`."""
    commas = "".join("," if sign in COMMAS else sign for sign in text.value)
    if few:  # as many signs as before, so that places stay true
        commas = _OR.sub(lambda found: ",".ljust(len(found[0])), commas)
    yield from text.saying(commas).split()
