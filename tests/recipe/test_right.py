"""Right recipes are read without a word, and as a YAML parser reads them."""

from __future__ import annotations

import pytest
import yaml

from mixer.recipe.keywords import GRAMMAR
from mixer.recipe.reader import read
from mixer.text.nodes import Items, Text
from mixer.text.source import decode, split_lines
from mixer.text.tree import read_tree
from mixer.words.problem import Problems
from tests.recipe.cases import FOLDER, KNOWN_LOOPS

PATHS = sorted((FOLDER / "right").glob("*.yaml"))
RECIPES = sorted((FOLDER.parents[1] / "recipes").glob("*.yaml"))


def test_there_are_enough_cases():
    assert len(PATHS) >= 25


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_nothing_is_told(path):
    result = read(decode(path.read_bytes())[0], KNOWN_LOOPS, path.name)
    assert result.problems == ()
    assert result.recipe is not None


@pytest.mark.parametrize("path", PATHS + RECIPES, ids=lambda path: path.stem)
def test_it_is_read_as_yaml_has_it(path):
    """Source: YAML 1.1 as read by PyYAML's BaseLoader (every value as text), wherever that reads the file at all."""
    text = decode(path.read_bytes())[0]
    try:
        theirs = yaml.load(text, Loader=yaml.BaseLoader)  # noqa: S506 - it makes nothing but texts
    except yaml.YAMLError:
        pytest.skip("this one only we can read: it holds a sign that YAML wants for itself")
    ours = _plain(read_tree(split_lines(text, path.name), GRAMMAR, Problems()))
    assert _without_joined_notes(ours, theirs) == theirs


def _plain(node):
    if isinstance(node, Text):
        return node.value
    if isinstance(node, Items):
        return [_plain(item) for item in node.items]
    return {key.value: _plain(value) for key, value in node.pairs}


def _without_joined_notes(ours, theirs):
    """Take away what YAML loses: a `#` joined to text (`chorus #2`), and signs it wants for itself.

    Only texts that begin alike, or of which the parser has nothing, are taken for the same.
    """
    if isinstance(ours, dict) and isinstance(theirs, dict) and len(ours) == len(theirs):
        pairs = zip(ours.items(), theirs.items(), strict=True)
        return {
            _without_joined_notes(our_key, their_key): _without_joined_notes(our_value, their_value)
            for (our_key, our_value), (their_key, their_value) in pairs
        }
    if isinstance(ours, list) and isinstance(theirs, list) and len(ours) == len(theirs):
        return [_without_joined_notes(our, their) for our, their in zip(ours, theirs, strict=True)]
    if isinstance(ours, str) and isinstance(theirs, str) and "#" in ours:
        return theirs if ours.startswith(theirs) else ours
    return ours
