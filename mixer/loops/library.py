"""Where a recipe's loops are found: folders with catalogs, searched in a fixed order.

First the folders that the command names, then `loops/` beside the recipe (if it is no link to elsewhere: only a
command may reach out of the recipe's folder), then the recipe's own folder if it
has a catalog, then the loops that come with the program. The first that has the name counts.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from mixer.loops.card import Card
from mixer.loops.catalog import FILE_NAME, UNUSABLE, is_inside, read_catalog
from mixer.loops.remembered import cards_once
from mixer.record import record, replace
from mixer.store.cache import open_cache
from mixer.text.names import same_name
from mixer.words.problem import Place, Problem, Problems


@record
class Library:
    """All loops that a recipe may use.

    Parameters
    ----------
    cards : by name and by file name, in the form in which names are compared
    problems : what was told on reading the catalogs
    """

    cards: dict[str, Card]
    problems: tuple[Problem, ...] = ()

    def find(self, name: str) -> Card | None:
        """Find the loop of that name, or whose file has that name."""
        return self.cards.get(same_name(name))

    def unusable(self) -> dict[str, Place]:
        """Give the names of loops whose cards cannot be used, and where that is told."""
        told = ((problem.facts["name"], problem.place) for problem in self.problems if problem.kind in UNUSABLE)
        return {name: place for name, place in told if same_name(name) not in self.cards}

    def names(self) -> list[str]:
        """Give every name by which a loop can be found: the catalog's, then the files'."""
        return list(
            dict.fromkeys(form if card.path.name.lower() == form else card.name for form, card in self.cards.items())
        )


def demo_loops_folder() -> Path:
    """Find the loops that come with the program: inside the package, or in the checkout it runs from."""
    return shipped("demo_loops")


def shipped(name: str) -> Path:
    """Find a folder that comes with the program."""
    package = Path(__file__).resolve().parent.parent
    inside = package / "_shipped" / name
    return inside if inside.is_dir() else package.parent / name


def open_library(recipe_folder: Path | None, loop_folders: Iterable[Path] = ()) -> Library:
    """Read the catalogs that a recipe may use.

    Parameters
    ----------
    recipe_folder : where the recipe is; None for a recipe that is in no file
    loop_folders : folders that come before all others
    """
    problems = Problems()
    folders = list(loop_folders)
    if recipe_folder is not None:
        if (own := recipe_folder / "loops").is_dir():
            if is_inside(own, recipe_folder):
                folders.append(own)
            else:
                problems.tell("loops-outside", Place("loops"))
        if (recipe_folder / FILE_NAME).is_file():
            folders.append(recipe_folder)
    ours = demo_loops_folder()
    folders.append(ours)
    by_name: dict[str, Card] = {}
    by_file: dict[str, Card] = {}
    for folder in folders:
        beside_recipe = recipe_folder is not None and _is_beside(folder, recipe_folder)
        cards = cards_once(folder, problems, open_cache()) if folder == ours else read_catalog(folder, problems)
        for form, found in cards.items():
            card = replace(found, beside_recipe=True) if beside_recipe else found
            by_name.setdefault(form, card)
            by_file.setdefault(same_name(card.path.name), card)
    return Library({**by_file, **by_name}, tuple(problems.in_order()))


def _is_beside(folder: Path, recipe_folder: Path) -> bool:
    """Whether a folder is the recipe's own or its `loops/` (or inside that), under whatever name it is reached."""
    own, found = recipe_folder.resolve(), folder.resolve()
    loops = (recipe_folder / "loops").resolve()
    return found in (own, loops) or loops in found.parents
