"""What the next teacher needs, in one folder: loops with their cards, briefs, rubrics, starters. No student's work.

Of a folder of loops only the list and the sound files that it names are taken, so recipes, songs and recordings that
lie beside them stay where they are. Of other files only texts are taken, and no recipe that names its maker.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterable
from pathlib import Path

from mixer.classroom.gather import may_be_recipe, recipe_maker
from mixer.loops.card import Card
from mixer.loops.catalog import FILE_NAME, read_catalog
from mixer.loops.library import shipped
from mixer.loops.permission import to_ask
from mixer.record import record
from mixer.store.names import distinct_places
from mixer.store.whole import whole_file, write_text
from mixer.words.english import packing as said
from mixer.words.problem import Place, Problems

SHARED = ("briefs", "rubrics", "starters")
TEXTS = (".yaml", ".yml", ".md", ".txt")


@record
class Packed:
    """What was packed.

    Parameters
    ----------
    folder : where it is
    loops : how many
    ask : names of loops of which nobody knows whether they may be passed on
    problems : what was told on reading the lists, and of files that stay here
    """

    folder: Path
    loops: int
    ask: tuple[str, ...]
    problems: Problems


def pack(loop_folders: Iterable[Path], extra: Iterable[Path], out: Path) -> Packed:
    """Put everything together.

    Parameters
    ----------
    loop_folders : folders with loops and their lists
    extra : briefs, rubrics and starters of the teacher's own, single files
    out : a folder that is not there yet, or is empty

    Raises
    ------
    FileExistsError
        If something is there already.
    OSError
        If something cannot be read or written.
    """
    if out.is_file() or (out.exists() and any(out.iterdir())):
        raise FileExistsError(str(out))
    problems = Problems()
    cards = _copy_loops(list(loop_folders), out / "loops", problems)
    for name in SHARED:
        source = shipped("shared") / name
        for path in sorted(source.rglob("*")) if source.is_dir() else ():
            if path.is_file():
                _copy(path, out / name / path.relative_to(source))
    files = [path for path in extra if _is_the_teachers(path, problems)]
    for path, place in zip(files, distinct_places(out / "more" / each.name for each in files), strict=True):
        _copy(path, place)
    ask = to_ask(cards, "on")
    write_text(out / "READ ME FIRST.txt", said.read_me(len(cards), ask))
    return Packed(out, len(cards), tuple(ask), problems)


def _copy_loops(folders: list[Path], out: Path, problems: Problems) -> list[Card]:
    """Copy loops with their lists, each folder's into one of its own; give their cards."""
    copied: list[Card] = []
    for folder, place in zip(folders, distinct_places(out / each.name for each in folders), strict=True):
        cards = read_catalog(folder, problems).values()
        if not (folder / FILE_NAME).is_file():
            continue
        _copy(folder / FILE_NAME, place / FILE_NAME)
        for card in cards:
            _copy(card.path, place / card.path.relative_to(folder))
        copied += cards
    return copied


def _is_the_teachers(path: Path, problems: Problems) -> bool:
    """Whether a file can be a brief, a rubric or a starter, and says of nobody to be theirs; tells what stays here."""
    if path.suffix.lower() not in TEXTS:
        problems.tell("pack-other", Place(path.name), name=path.name)
        return False
    by = recipe_maker(path) if may_be_recipe(path.name) else None
    if by:
        problems.tell("pack-work", Place(path.name), name=path.name, by=by)
    return not by


def _copy(source: Path, place: Path) -> None:
    with source.open("rb") as content, whole_file(place, synced=False) as stream:
        shutil.copyfileobj(content, stream)
