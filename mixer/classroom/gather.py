"""Which recipes of a class are meant: all below some folders, of several versions by one maker the highest.

Folders come from sticks and shared drives, so what lies in them is a stranger's: links that lead out are not followed,
and the search has bounds. A file is taken for a recipe by its ending and by its first key words; lists of loops, briefs
and kept versions are none.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Iterator
from pathlib import Path

from mixer.recipe.brief import OF_BRIEFS_ALONE
from mixer.record import record
from mixer.store.names import distinct_places, safe_name
from mixer.store.versions import FOLDER as VERSIONS
from mixer.text.names import same_name, visible
from mixer.text.source import decode

MOST_RECIPES = 500
MOST_LOOKED_AT = 20_000
DEEPEST = 8
ENDINGS = (".yaml", ".yml", ".txt")
_HEAD_BYTES = 20_000
_NO_RECIPES = ("loops.yaml", "loops.yml")
_WORDS = "|".join(["tempo", "layers", "sections", "title", "by", "brief", *sorted(OF_BRIEFS_ALONE)])
_KEY = re.compile(rf"^\s*({_WORDS})\b[ \t]*[:=\uff1a]?[ \t]*(.*)$", re.IGNORECASE | re.MULTILINE)
# What stands beside the songs under names of its own.
_TAKEN = ("level check", "listening session")
# A version's number at the end of a name: `song 2`, `song-v3`, `song (4)`.
_NUMBERED = re.compile(r"(.*?)[ _-]*(?:\(|v|version )?[ _-]*(\d{1,4})\)?", re.IGNORECASE)


@record
class Found:
    """A recipe that is to be made.

    Parameters
    ----------
    path : its file
    name : what its song is called in the class's folder; safe, and no two the same
    by : its maker, as written; empty where it does not say
    """

    path: Path
    name: str
    by: str


@record
class Gathered:
    """What was found.

    Parameters
    ----------
    recipes : in the order of their names
    older : versions that were passed over, each with the one that was taken
    several : makers of more than one song, with their files: perhaps one of them is an older version
    cut : whether there was more than the bounds allow
    """

    recipes: tuple[Found, ...]
    older: tuple[tuple[Path, Path], ...] = ()
    several: tuple[tuple[str, tuple[Path, ...]], ...] = ()
    cut: bool = False


@record
class _Recipe:
    path: Path
    parts: tuple[str, ...]  # folders and name below the folder that was named
    by: str


def gather(places: Iterable[Path], out: Path, *, all_versions: bool = False) -> Gathered:
    """Find the recipes of a class.

    Parameters
    ----------
    places : folders, and recipes named by themselves
    out : where songs go; nothing in it is taken for a recipe
    all_versions : whether every version of a song is wanted
    """
    looked = _Looked(out)
    found: dict[Path, _Recipe] = {}
    for place in places:
        files = looked.below(place) if place.is_dir() else [(place, (place.name,))]
        for path, parts in files:
            by = recipe_maker(path)
            if by is not None or not place.is_dir():
                found.setdefault(path.resolve(), _Recipe(path, parts, by or ""))
    recipes = sorted(found.values(), key=_alphabetical)
    older = {} if all_versions else _older(recipes)
    recipes = [each for each in recipes if each.path not in older]
    cut = looked.cut or len(recipes) > MOST_RECIPES
    recipes = recipes[:MOST_RECIPES]
    names = distinct_places([*map(Path, _TAKEN), *(Path(_named(each)) for each in recipes)])[len(_TAKEN) :]
    return Gathered(
        tuple(Found(each.path, name.name, each.by) for each, name in zip(recipes, names, strict=True)),
        tuple(older.items()),
        _several(recipes),
        cut,
    )


def _named(recipe: _Recipe) -> str:
    """What a song is called: its folders and its file. One called "x (draft)" would be taken for the draft of "x"."""
    name = safe_name(" - ".join((*recipe.parts[:-1], Path(recipe.parts[-1]).stem)))
    return re.sub(r"\((draft)\)$", r"\1", name, flags=re.IGNORECASE)


def _alphabetical(recipe: _Recipe) -> tuple[list[str], str]:
    return [same_name(part) for part in (*recipe.parts[:-1], Path(recipe.parts[-1]).stem)], str(recipe.path)


class _Looked:
    """Goes through folders, within bounds."""

    def __init__(self, out: Path) -> None:
        self.out = out.resolve()
        self.count = 0
        self.cut = False
        self._been: set[Path] = set()  # links can lead in a circle

    def below(self, folder: Path) -> Iterator[tuple[Path, tuple[str, ...]]]:
        root = folder.resolve()
        yield from self._below(folder, root, ())

    def _below(self, folder: Path, root: Path, parts: tuple[str, ...]) -> Iterator[tuple[Path, tuple[str, ...]]]:
        here = folder.resolve()
        if here in self._been:
            return
        self._been.add(here)
        try:
            entries = sorted(os.scandir(folder), key=lambda entry: entry.name)
        except OSError:
            return
        for entry in entries:
            self.count += 1
            if self.count > MOST_LOOKED_AT:
                self.cut = True
                return
            path = folder / entry.name
            if entry.name.startswith(".") or not _is_within(path, root):
                continue
            if entry.is_dir():
                if len(parts) < DEEPEST and entry.name != VERSIONS and path.resolve() != self.out:
                    yield from self._below(path, root, (*parts, entry.name))
            elif may_be_recipe(entry.name) and entry.is_file():
                yield path, (*parts, entry.name)


def _is_within(path: Path, root: Path) -> bool:
    try:
        return root in path.resolve().parents
    except (OSError, RuntimeError):
        return False


def may_be_recipe(name: str) -> bool:
    """Whether a file of this name can hold a recipe."""
    return name.lower().endswith(ENDINGS) and name.lower() not in _NO_RECIPES


def recipe_maker(path: Path) -> str | None:
    """Give who made a recipe, empty where it does not say; None for a text that is no recipe."""
    try:
        with path.open("rb") as stream:
            text, _ = decode(stream.read(_HEAD_BYTES))
    except OSError:
        return ""  # told when it is opened
    keys = _keys(text)
    recipe = path.suffix.lower() != ".txt" or len(keys.keys() & {"tempo", "layers", "sections"}) > 1
    if (
        not recipe
        or (
            keys.keys() & OF_BRIEFS_ALONE and not _is_head(keys.get("sections", "none"))
        )  # a recipe's stand below the word
    ):
        return None
    return maker_of(text)


def maker_of(text: str) -> str:
    """Give who made a recipe, empty where its text does not say."""
    return visible(_keys(text).get("by", "")).strip("\"'")


def _keys(text: str) -> dict[str, str]:
    return {found[1].lower(): found[2].strip() for found in reversed(list(_KEY.finditer(text)))}


def _is_head(value: str) -> bool:
    return not value.partition("#")[0].strip()


def _older(recipes: list[_Recipe]) -> dict[Path, Path]:
    """Versions by one maker in one folder that differ in the number at the end of their names: all but the highest.

    Without a maker's name in both nothing is passed over: `table 1` and `table 2` are two songs.
    """
    series: dict[tuple[tuple[str, ...], str, str], list[tuple[int, _Recipe]]] = {}
    for each in recipes:
        stem = visible(Path(each.parts[-1]).stem)
        numbered = _NUMBERED.fullmatch(stem)
        base, number = (numbered[1], int(numbered[2])) if numbered else (stem, 1)
        if each.by:
            series.setdefault((each.parts[:-1], same_name(base), same_name(each.by)), []).append((number, each))
    older: dict[Path, Path] = {}
    for versions in series.values():
        newest = max(versions, key=lambda version: version[0])[1]
        older |= {each.path: newest.path for _, each in versions if each is not newest}
    return older


def _several(recipes: list[_Recipe]) -> tuple[tuple[str, tuple[Path, ...]], ...]:
    by_maker: dict[str, list[_Recipe]] = {}
    for each in recipes:
        if each.by:
            by_maker.setdefault(same_name(each.by), []).append(each)
    return tuple((songs[0].by, tuple(song.path for song in songs)) for songs in by_maker.values() if len(songs) > 1)
