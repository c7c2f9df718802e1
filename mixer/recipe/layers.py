"""The layers of a song: a name of the writer's own for each sound, and what it is."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from mixer.recipe import values
from mixer.recipe.keywords import SYNONYMS, words_at
from mixer.recipe.model import ROLES, Layer, LoopSource
from mixer.record import replace
from mixer.text.names import nearest, same_name, same_word
from mixer.text.nodes import Items, Node, Pairs, Text, is_empty, place_of
from mixer.words.problem import Place, Problems

MOST_LAYERS = 32


class LayerReader:
    """Reads the layers.

    Parameters
    ----------
    known_loops : the names of the loops that the song may use
    unusable_loops : the names of those whose cards cannot be used, and where that is told
    problems : grows

    Attributes
    ----------
    layers : those that could be read, by the form in which their names are compared
    lost : the names of those that could not, by the same form
    """

    def __init__(self, known_loops: Collection[str], unusable_loops: Mapping[str, Place], problems: Problems) -> None:
        self.known_loops = known_loops
        self.unusable = {same_name(name): (name, place) for name, place in unusable_loops.items()}
        self.problems = problems
        self.layers: dict[str, Layer] = {}
        self.lost: dict[str, str] = {}

    def read(self, key: Text, node: Node) -> None:
        """Read what stands below the key `layers`; what cannot be read is left out and told."""
        for count, (name, value) in enumerate(self._layer_pairs(key, node)):
            if count == MOST_LAYERS:
                self.problems.tell("too-many-layers", name.place(), most=MOST_LAYERS)
            self._layer(name, value, told=count >= MOST_LAYERS)
        self._two_readings()

    def _layer_pairs(self, key: Text, node: Node) -> list[tuple[Text, Node]]:
        if isinstance(node, Pairs) and node.pairs:
            return list(node.pairs)
        if isinstance(node, Items):
            pairs = [pair for item in node.items if isinstance(item, Pairs) for pair in item.pairs]
            if pairs:
                lines = tuple(place_of(item).line for item in node.items[1:])
                self.problems.tell("layers-dashes", node.place, lines=lines)
                return pairs
        if is_empty(node):
            self.problems.tell("no-layers", key.place())
        else:
            self.problems.tell("layers-list", place_of(node))
        return []

    def _layer(self, key: Text, node: Node, *, told: bool) -> None:
        name = values.name(key, self.problems)
        form = same_name(key.value)
        if name is None or told:
            self.lost[form] = key.value
            return
        if form in self.layers or form in self.lost:
            first = self.layers[form].at["name"].line if form in self.layers else key.place().line
            self.problems.tell("layer-repeated", key.place(), name=name, line=first)
            return
        layer = self._layer_value(name, key, node)
        if layer is None:
            self.lost[form] = name
        else:
            self.layers[form] = layer

    def _layer_value(self, name: str, key: Text, node: Node) -> Layer | None:
        if isinstance(node, Text):
            if same_word(name) in words_at("layer") and node.value and self._known_loop(node.value) is None:
                self.problems.tell("layer-detail", key.place(), name=name, value=node.value)
                return None
            loop = self._loop(node, key, name)
            if loop is None:
                return None
            return Layer(name, LoopSource(loop), at={"name": key.place(), "loop": node.place()})
        if isinstance(node, Items):
            self.problems.tell("one-value", node.place, key=name)
            return None
        found: dict[str, Text] = {}
        for word_text, value in node.pairs:
            self._layer_detail(word_text, value, found)
        if "loop" not in found:
            words = [same_word(word.value) for word, _ in node.pairs]
            if not any(SYNONYMS.get(("layer", word), word) == "loop" for word in words):
                self.problems.tell("no-loop", key.place(), name=name)
            return None
        loop = self._loop(found["loop"], key, name)
        return None if loop is None else self._with_details(Layer(name, LoopSource(loop)), key, found)

    def _layer_detail(self, key: Text, node: Node, found: dict[str, Text]) -> None:
        word = same_word(key.value)
        known = words_at("layer")
        if word not in known:
            guess = SYNONYMS.get(("layer", word)) or nearest(word, known)
            self.problems.tell("unknown-key", key.place(), key=key.value, where="layer", guess=guess, known=known)
        elif word in found:
            self.problems.tell("key-twice", key.place(), key=key.value)
        elif (text := values.one_text(key, node, self.problems)) is not None:
            found[word] = text

    def _loop(self, text: Text, key: Text, name: str) -> str | None:
        """Give the loop's name as the catalog has it."""
        if not text.value:
            self.problems.tell("no-loop", key.place(), name=name)
            return None
        if set(text.value.strip()) <= set("_.?\u2026"):
            self.problems.tell("gap", text.place(), name=name)
            return None
        loop = self._known_loop(text.value)
        if loop is None and (left_out := self.unusable.get(same_name(text.value))):
            known, place = left_out
            self.problems.tell("loop-unusable", text.place(), name=known, file=place.file, line=place.line)
        elif loop is None:
            guess = nearest(text.value, self.known_loops)
            others = [part.split(":")[0].strip() for part in text.value.split(",")[1:]]
            self.lost |= {same_name(other): other for other in others if other}
            self.problems.tell("unknown-loop", text.place(), name=text.value, guess=guess)
        return loop

    def _known_loop(self, name: str) -> str | None:
        by_form = {same_name(known): known for known in self.known_loops}
        return by_form.get(same_name(name)) or by_form.get(same_name(name).replace(" ", "-"))

    def _with_details(self, layer: Layer, key: Text, found: dict[str, Text]) -> Layer:
        problems = self.problems
        at = {"name": key.place(), **{word: text.place() for word, text in found.items()}}
        changes: dict[str, Any] = {}
        for word, text in found.items():
            value: object = None
            if word == "level":
                value = values.level(text, problems)
            elif word == "pan":
                value = values.pan(text, problems)
            elif word == "pitch":
                value = values.pitch(text, problems)
            elif word == "role":
                value = values.one_of(text, problems, word, ROLES)
            elif word == "speed":
                value = values.one_of(text, problems, word, ("half", "double", "as recorded"))
            if value is not None:
                changes["level_db" if word == "level" else word] = value
        return replace(layer, at=at, **changes)

    def _two_readings(self) -> None:
        """Tell names that end in a number of their own where the rest is a layer too."""
        for form, layer in self.layers.items():
            head, _, tail = form.rpartition(" ")
            if tail.isdecimal() and head in self.layers:
                self.problems.tell(
                    "two-readings",
                    layer.at["name"],
                    name=layer.name,
                    other=self.layers[head].name,
                    bar=int(tail),
                )
