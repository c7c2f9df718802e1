"""What a teacher fills in about a song: criteria and levels of the teacher's own, never computed from sound.

A rubric is a YAML text: each criterion a key, its levels one line with commas or a list below it.
"""

from __future__ import annotations

from pathlib import Path

from mixer.record import record
from mixer.text.grammar import Grammar
from mixer.text.nodes import Items, Node, Pairs, Text
from mixer.text.source import decode, split_lines, tell_guess
from mixer.text.tree import read_tree
from mixer.words.problem import Place, Problems

LARGEST_BYTES = 100_000
MOST_CRITERIA = 20
MOST_LEVELS = 10
_LONGEST = 200
_GRAMMAR = Grammar(
    keys=frozenset(),
    top=frozenset(),
    free=frozenset(),
    one_name=frozenset(),
    blocks=frozenset(),
    named={},
)


@record
class Rubric:
    """Criteria in their order, each with its levels."""

    criteria: tuple[tuple[str, tuple[str, ...]], ...] = ()


def read_rubric(path: Path, problems: Problems) -> Rubric:
    """Read a rubric.

    Parameters
    ----------
    path : its file
    problems : grows by what is told; what cannot be read is left out
    """
    try:
        with path.open("rb") as stream:
            text, guessed = decode(stream.read(LARGEST_BYTES))
    except OSError:
        problems.tell("rubric-missing", Place(path.name), name=path.name)
        return Rubric()
    source = split_lines(text, path.name)
    if guessed:
        tell_guess(source, problems)
    tree = read_tree(source, _GRAMMAR, problems)
    if not isinstance(tree, Pairs):
        problems.tell("rubric-empty", Place(path.name))
        return Rubric()
    found: dict[str, tuple[str, ...]] = {}
    for key, node in tree.pairs[:MOST_CRITERIA]:
        levels = tuple(level[:_LONGEST] for level in _levels(node) if level)[:MOST_LEVELS]
        if len(levels) < 2:
            problems.tell("rubric-levels", key.place(), name=key.value)
        else:
            found.setdefault(key.value[:_LONGEST], levels)
    return Rubric(tuple(found.items()))


def _levels(node: Node) -> list[str]:
    if isinstance(node, Text):
        return [part.strip() for part in node.value.split(",")]
    if isinstance(node, Items):
        return [item.value for item in node.items if isinstance(item, Text)]
    return []
