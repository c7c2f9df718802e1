"""A change that someone wants to hear before writing it: `chorus: without drums 1-4`.

It is read as a line of the recipe's own language, as if it said of that section `like` itself, so whatever can be
written in a section's line can be tried. The recipe stays as it is; what comes out is another one.
"""

from __future__ import annotations

import re

from mixer.recipe.keywords import GRAMMAR
from mixer.recipe.model import Recipe, Section
from mixer.recipe.sections import SectionReader
from mixer.record import record, replace
from mixer.text.names import nearest, plain_signs, same_name
from mixer.text.nodes import Node, Pairs
from mixer.text.source import LONGEST_LINE, Source
from mixer.text.tree import read_tree
from mixer.words.problem import Place, Problem, Problems

NAME = "what you want to try"
_AT_BARS = re.compile(r"(.*?)\s*[,(]?\s*\bbars?\s+(\d{1,4})(?:\s*-\s*(?:\d{1,4})?)?\s*\)?", re.IGNORECASE)
_NUMBERED = re.compile(r"(.*\S)\s+#?(\d{1,3})")


@record
class Change:
    """A change of one section.

    Parameters
    ----------
    section : its number in the song, from 0
    first_bar : the bar of the song at which it begins, from 1
    recipe : the song as it would be; None where the change could not be read
    problems : everything to tell of it
    """

    section: int | None
    first_bar: int
    recipe: Recipe | None
    problems: tuple[Problem, ...]


def read_change(text: str, recipe: Recipe) -> Change:
    """Read a change.

    Parameters
    ----------
    text : `SECTION: ENTRIES`, as in a section's line. Of several sections of one name the first is meant, unless
        `chorus 2` or `chorus bars 21-28` (bars of the song) says which
    recipe : the song to be changed
    """
    typed = " ".join(text[:LONGEST_LINE].split())
    place = Place(NAME, 1, 1, max(1, len(typed)), typed)
    problems = Problems()
    head, colon, rest = typed.replace("：", ":").partition(":")
    names = tuple(dict.fromkeys(section.name for section in recipe.sections))
    if len(typed) > LONGEST_LINE // 2:
        problems.tell("try-form", Place(NAME), names=names, typed="", colon=False)
        return Change(None, 0, None, tuple(problems))
    if not colon or not head.strip() or not rest.strip():
        problems.tell("try-form", place, names=names, typed=typed.strip(": "), colon=bool(colon and head.strip()))
        return Change(None, 0, None, tuple(problems))
    number = _section(head, recipe)
    if number is None:
        problems.tell(
            "try-section", replace(place, width=len(head)), name=head, names=names, guess=nearest(head, names)
        )
        return Change(None, 0, None, tuple(problems))
    first_bar = 1 + sum(section.bars for section in recipe.sections[:number])
    section = _changed(rest, recipe, recipe.sections[number], first_bar, problems)
    shift = len(head) - len(recipe.sections[number].name) - len("  - ")
    told = tuple(
        replace(each, place=replace(place, column=max(1, each.place.column + shift), width=each.place.width))
        for each in problems
    )
    if section is None:
        return Change(number, first_bar, None, told)
    sections = (*recipe.sections[:number], section, *recipe.sections[number + 1 :])
    return Change(number, first_bar, replace(recipe, sections=sections), told)


def _section(head: str, recipe: Recipe) -> int | None:
    """Find the section that is meant; its number from 0."""
    sections = recipe.sections
    exact = [number for number, section in enumerate(sections) if same_name(section.name) == same_name(head)]
    if exact:
        return exact[0]
    found = _AT_BARS.fullmatch(plain_signs(head))
    name, at = (found[1], int(found[2])) if found else (head, None)
    form = same_name(name).removeprefix("the ")
    alike = [number for number, section in enumerate(sections) if same_name(section.name) == form]
    if at is not None:
        begins = [1 + sum(section.bars for section in sections[:number]) for number in range(len(sections))]
        there = [
            number
            for number in (alike if form else range(len(sections)))
            if begins[number] <= at < begins[number] + sections[number].bars
        ]
        return there[0] if there else None
    if alike:
        return alike[0]
    if counted := _NUMBERED.fullmatch(plain_signs(form)):
        alike = [number for number, section in enumerate(sections) if same_name(section.name) == counted[1]]
        which = int(counted[2])
        return alike[which - 1] if 1 <= which <= len(alike) else None
    return None


def _changed(rest: str, recipe: Recipe, base: Section, first_bar: int, problems: Problems) -> Section | None:
    if same_name(rest) == "nothing":
        return replace(base, entries=())
    source = Source(NAME, ("sections:", f"  - {base.name}:{rest}"))
    node = _sections_of(read_tree(source, GRAMMAR, problems))
    if node is None:
        return None
    layers = {same_name(layer.name): layer for layer in recipe.layers}
    return SectionReader(layers, {}, problems).change(node, base, first_bar)


def _sections_of(tree: Node | None) -> Node | None:
    return tree.pairs[0][1] if isinstance(tree, Pairs) and tree.pairs else None
