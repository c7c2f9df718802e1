"""A recipe's text to a recipe, with every problem found on the way.

Reading never stops at the first mistake: what cannot be read is left out, and all else is given, so that a
draft of the song can be heard. Only where tempo, layers or sections are missing is there no recipe at all.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from fractions import Fraction
from types import MappingProxyType
from typing import Any

from mixer.recipe import values
from mixer.recipe.keywords import GRAMMAR, KEYWORDS, SYNONYMS, words_at
from mixer.recipe.layers import LayerReader
from mixer.recipe.model import Layer, Recipe
from mixer.recipe.sections import SectionReader
from mixer.recipe.settled import settled
from mixer.record import record, replace
from mixer.text.names import nearest, same_name, same_word
from mixer.text.nodes import Items, Node, Pairs, Text, is_empty, place_of
from mixer.text.source import Source, split_lines, tell_guess
from mixer.text.tree import read_tree
from mixer.words.problem import Place, Problem, Problems

LONGEST_SONG_SECONDS = 20 * 60
# After one of these a layer may be silent only because something could not be read.
_MAY_HIDE_ENTRIES = frozenset(
    [
        "unknown-layer",
        "layer-order",
        "level-in-list",
        "unknown-section",
        "bars-missing",
        "bars-number",
        "bars-range",
        "plays-nobody",
        "head-unknown",
        "unknown-key",
        "section-nameless",
        "name-sign",
        "name-taken",
        "second-recipe",
        "span-outside",
        "span-unknown",
        "span-alone",
        "too-many-sections",
        "layer-as-key",
        "two-readings",
        "no-key",
        "key-twice",
    ]
)


@record
class Reading:
    """What came of a text.

    Parameters
    ----------
    recipe : all that could be read; None where there is no song without what is missing
    problems : everything to tell, in the order of the lines
    """

    recipe: Recipe | None
    problems: tuple[Problem, ...]


def read(
    text: str,
    known_loops: Collection[str],
    file: str = "recipe",
    known_briefs: Collection[str] = (),
    *,
    unusable_loops: Mapping[str, Place] = MappingProxyType({}),
    guessed: bool = False,
) -> Reading:
    """Read a recipe.

    Parameters
    ----------
    text : the whole text
    known_loops : the names of the loops (and of sound files with a card) that the song may use
    file : the name under which the text is told about
    known_briefs : the names of the briefs that it may keep; whoever gives them knows which spellings are in it
    unusable_loops : the names of loops whose cards cannot be used, and where that is told
    guessed : whether letters of the text had to be guessed when it was decoded
    """
    source = split_lines(text, file)
    problems = Problems()
    if what := _no_plain_text(text):
        problems.tell("no-plain-text", source.place(0, 0, 1), what=what)
        return Reading(None, tuple(problems))
    if guessed:
        tell_guess(source, problems)
    tree = read_tree(source, GRAMMAR, problems)
    recipe = _Reader(source, known_loops, unusable_loops, known_briefs, problems).recipe(tree)
    problems = Problems(settled(problems.in_order()))
    return Reading(recipe and replace(recipe, text=text), tuple(problems))


def _no_plain_text(text: str) -> str:
    """What a text is that a word processor or a browser saved; empty for plain text."""
    start = text.lstrip()[:20].lower()
    if start.startswith(("<html", "<!doctype", "<?xml", "<body", "<head")):
        return "a web page"
    if start.startswith("{\\rtf"):
        return "a word processor's file"
    if start.startswith(("riff", "pk\x03\x04", "%pdf", "flác", "oggs")) or text.count("\x00") > 2:
        return "something that a program made"
    return ""


class _Reader:
    def __init__(
        self,
        source: Source,
        known_loops: Collection[str],
        unusable_loops: Mapping[str, Place],
        known_briefs: Collection[str],
        problems: Problems,
    ) -> None:
        self.source = source
        self.known_loops = known_loops
        self.unusable_loops = unusable_loops
        self.known_briefs = known_briefs
        self.problems = problems
        self.layers: dict[str, Layer] = {}
        self.lost: dict[str, str] = {}

    def recipe(self, tree: Node | None) -> Recipe | None:
        if tree is None:
            strays = [problem for problem in self.problems if problem.kind == "no-key"]
            for problem in strays:
                self.problems.remove(problem)
            if strays:
                self.problems.tell("prose", strays[0].place)
            if not self.problems:
                self.problems.tell("empty-recipe", Place(self.source.file))
            return None
        if isinstance(tree, Pairs) and len(tree.pairs) == 1 and values.other_keys(tree.pairs[0][1]) > 1:
            self.problems.tell("one-line", tree.place)
            return None
        if not isinstance(tree, Pairs):
            self.problems.tell("no-keys", place_of(tree))
            return None
        top = self._top(tree)
        tempo = self._tempo(top)
        self._layers(top)
        sections = self._sections(top)
        # Everything is read before anything is given up, so that all mistakes are told at once.
        recipe = Recipe(self.source.file, tempo or Fraction(100), tuple(self.layers.values()), sections)
        recipe = self._with_texts(recipe, top)
        self._check_length(recipe)
        told = {problem.kind for problem in self.problems}
        if tempo is None or not self.layers or not sections or "song-long" in told:
            return None
        self._check_unused(recipe)
        return recipe

    # -- top -------------------------------------------------------------------------------------

    def _top(self, tree: Pairs) -> dict[str, tuple[Text, Node]]:
        top: dict[str, tuple[Text, Node]] = {}
        words = [same_word(key.value) for key, _ in tree.pairs]
        below = False  # lines at the edge that belong to a misspelt block above them fail with it, not each for itself
        for number, (key, node) in enumerate(tree.pairs):
            word = words[number]
            if word in top and len({*words[number:]} & top.keys()) > 2:
                self.problems.tell("second-recipe", key.place(), key=key.value)
                break
            if word not in words_at("top"):
                known = words_at("top")
                guess = SYNONYMS.get(("top", word)) or nearest(word, known)
                if below and guess is None:
                    continue
                guess = guess or self._by_its_form(node, words)
                below = guess in GRAMMAR.blocks and is_empty(node)
                self.problems.tell("unknown-key", key.place(), key=key.value, where="top", guess=guess, known=known)
                continue
            below = False
            if word in top:
                self.problems.tell("tempo-twice" if word == "tempo" else "key-twice", key.place(), key=key.value)
                if word == "layers" and isinstance(node, Pairs):
                    self.lost |= {same_name(name.value): name.value for name, _ in node.pairs}
            else:
                top[word] = (key, node)
        return top

    @staticmethod
    def _by_its_form(node: Node, words: list[str]) -> str | None:
        """Guess a misspelt block from what stands below it."""
        guess = "sections" if isinstance(node, Items) else "layers" if isinstance(node, Pairs) else None
        return None if guess in words else guess

    def _value(self, top: dict[str, tuple[Text, Node]], word: str) -> Text | None:
        """Give the text after a key; None if it is left out or is no text, which is told."""
        if word not in top:
            return None
        key, node = top[word]
        if not isinstance(node, Text):
            self.problems.tell("one-value", place_of(node), key=key.value)
            return None
        if not node.value:
            required = word in ("tempo", "layers", "sections")
            self.problems.tell("no-value" if required else "empty-value", key.place(), key=key.value)
            return None
        return node

    def _missing(self, word: str) -> None:
        if not any(problem.kind == "unknown-key" and problem.facts.get("guess") == word for problem in self.problems):
            self.problems.tell("missing-key", Place(self.source.file), key=word)

    def _tempo(self, top: dict[str, tuple[Text, Node]]) -> Fraction | None:
        if "tempo" not in top:
            self._missing("tempo")
            return None
        if any(problem.kind == "tempo-twice" for problem in self.problems):
            return None  # nobody knows which of the two is meant
        text = self._value(top, "tempo")
        return values.tempo(text, self.problems) if text is not None else None

    def _with_texts(self, recipe: Recipe, top: dict[str, tuple[Text, Node]]) -> Recipe:
        """Add what else stands at the top."""
        found: dict[str, Any] = {}
        for keyword in KEYWORDS:
            if "top" not in keyword.where or keyword.block or keyword.word == "tempo":
                continue
            text = self._value(top, keyword.word)
            if text is None:
                continue
            attribute = "meter" if keyword.word == "time" else keyword.word.replace(" ", "_")
            value: object
            if keyword.word == "key":
                value = values.key(text, self.problems)
            elif keyword.word == "time":
                value = values.meter(text, self.problems)
            elif keyword.one_of:
                value = values.one_of(text, self.problems, keyword.word, keyword.one_of)
            else:
                value = values.free(text, self.problems, keyword.word)
            if value is not None:
                found[attribute] = value
        self._check_hear(recipe, top)
        self._check_brief(top)
        at = {word: place_of(node) for word, (_, node) in top.items()}
        return replace(recipe, at=at, **found)

    def _check_hear(self, recipe: Recipe, top: dict[str, tuple[Text, Node]]) -> None:
        if "hear" not in top or not isinstance(text := top["hear"][1], Text) or not text.value:
            return
        names = list(dict.fromkeys(section.name for section in recipe.sections))
        if same_name(text.value) not in map(same_name, names):
            guess = nearest(text.value, names)
            self.problems.tell("hear-unknown", text.place(), name=text.value, sections=names, guess=guess)

    def _check_brief(self, top: dict[str, tuple[Text, Node]]) -> None:
        if "brief" not in top or not isinstance(text := top["brief"][1], Text) or not text.value:
            return
        if text.value not in self.known_briefs:
            briefs = tuple(self.known_briefs)
            guess = nearest(text.value, briefs)
            self.problems.tell("unknown-brief", text.place(), name=text.value, briefs=briefs, guess=guess)

    def _check_length(self, recipe: Recipe) -> None:
        bar_seconds = recipe.meter.bar_seconds(recipe.tempo_bpm)
        minutes = int(recipe.bars * bar_seconds // 60)
        bars = 0
        for section in recipe.sections:
            bars += section.bars
            if bars * bar_seconds > LONGEST_SONG_SECONDS:
                place = section.at.get("name", Place(self.source.file))
                self.problems.tell("song-long", place, minutes=minutes, most=LONGEST_SONG_SECONDS // 60)
                return

    def _check_unused(self, recipe: Recipe) -> None:
        """Tell layers that are never heard, unless what was left out may be why."""
        told = {problem.kind for problem in self.problems}
        if told & _MAY_HIDE_ENTRIES:
            return
        heard = {entry.layer for section in recipe.sections for entry in section.entries}
        for layer in recipe.layers:
            if layer.name not in heard:
                self.problems.tell("layer-unused", layer.at["name"], name=layer.name)

    # -- layers and sections -----------------------------------------------------------------------

    def _layers(self, top: dict[str, tuple[Text, Node]]) -> None:
        if "layers" not in top:
            self._missing("layers")
            return
        reader = LayerReader(self.known_loops, self.unusable_loops, self.problems)
        reader.read(*top["layers"])
        self.layers = reader.layers
        self.lost |= reader.lost

    def _sections(self, top: dict[str, tuple[Text, Node]]) -> tuple[Any, ...]:
        if "sections" not in top:
            self._missing("sections")
            return ()
        key, node = top["sections"]
        sections = SectionReader(self.layers, self.lost, self.problems).read(node)
        if is_empty(node):
            self.problems.tell("no-sections", key.place())
        return sections
