"""What was measured, kept in a folder's catalog."""

from __future__ import annotations

import functools
from collections.abc import Sequence
from pathlib import Path

from mixer.loops.card import Card
from mixer.loops.catalog import FILE_NAME, VOICE, is_inside, read_catalog
from mixer.loops.limits import Limits
from mixer.loops.measure.doubt import doubts
from mixer.loops.measure.facts import Measured
from mixer.loops.permission import licence_in
from mixer.loops.writing import Entry, complete_files, extended
from mixer.music.keys import Key
from mixer.record import record, replace
from mixer.signal.said import said_in
from mixer.store.whole import whole_file
from mixer.text.names import same_name
from mixer.words.english import bears
from mixer.words.english import measured as words
from mixer.words.problem import Problems

_NAMES = {
    "tempo": "tempo_bpm",
    "bars": "bars",
    "time": "time",
    "key": "key",
    "chords": "chords",
    "downbeat": "first_downbeat_seconds",
    "role": "role",
}


class CatalogNotUtf8Error(Exception):
    """A catalog is saved in a way that could not be kept to the letter."""


@record
class Kept:
    """What was done to a catalog.

    Parameters
    ----------
    new, filled : how many cards were added, and how many completed
    guesses : whether some of it is not sure
    gone : names of loops whose file is not there
    in_braces : names of cards that lack something and could not be completed
    """

    new: int
    filled: int
    guesses: bool
    gone: tuple[str, ...]
    in_braces: tuple[str, ...]


@record
class Origin:
    """Where a sound comes from, as its tags say.

    Parameters
    ----------
    maker : empty where nobody is named
    licence : one that is known; empty where none is
    other : what is said of its use and is no licence that is known
    """

    maker: str
    licence: str
    other: str


@functools.lru_cache(maxsize=1024)
def origin_of(path: Path) -> Origin:
    """Read from a file's tags who made it, and how it may be used; once, to be told and to be written down."""
    said = said_in(path)
    text = said.get("licence", "")
    licence = licence_in(text)
    return Origin(said.get("maker", ""), licence, "" if licence else text)


class Cards:
    """The cards of the folders in which measured files lie; each catalog is read once."""

    def __init__(self) -> None:
        self._by_folder: dict[Path, dict[str, Card]] = {}

    def held_against(self, one: Measured) -> Measured:
        """Add to the problems of a loop where its card says otherwise."""
        folder = one.path.parent
        if folder not in self._by_folder:
            there = (folder / FILE_NAME).is_file()
            cards = read_catalog(folder, Problems()).values() if there else []
            self._by_folder[folder] = {same_name(card.path.name): card for card in cards}
        card = self._by_folder[folder].get(same_name(one.path.name))
        told: list[tuple[str, dict[str, object]]] = [
            (f"card {each.kind}", {"listed": _said(each.listed), "heard": _said(each.sounds)})
            for each in (doubts(card, one) if card else ())
        ]
        return replace(one, problems=(*one.problems, *told))


def _said(value: float | Key | None) -> float | str:
    return value if isinstance(value, (int, float)) else str(value or "")


def without_complete(files: Sequence[Path]) -> list[Path]:
    """Leave out those whose cards lack nothing: they need not be measured again."""
    complete = {folder: _complete_in(folder) for folder in {file.parent for file in files}}
    return [file for file in files if same_name(file.name) not in complete[file.parent]]


def _complete_in(folder: Path) -> set[str]:
    try:
        return complete_files(_text(folder / FILE_NAME))
    except (CatalogNotUtf8Error, OSError):
        return set()


def keep(folder: Path, found: Sequence[Measured]) -> Kept:
    """Add what was measured to the folder's catalog; nothing that stands there is changed.

    Raises
    ------
    CatalogNotUtf8Error
        If the catalog is not UTF-8.
    UnclearCatalogError
        If what stands there is no list of cards.
    OSError
        If it cannot be read or written.
    """
    path = folder / FILE_NAME
    if path.is_symlink() and not is_inside(path, folder):
        raise OSError(path)
    text = _text(path)
    cards = {same_name(card.path.name): card for card in read_catalog(folder, Problems()).values()} if text else {}
    entries = [_entry(one, cards.get(same_name(one.path.name))) for one in found if one.is_loop]
    now = extended(text, entries, words.COMMENT)
    if now.text != text:
        with whole_file(path) as stream:
            stream.write(now.text.encode("utf-8"))
    problems = Problems()
    if path.exists():
        read_catalog(folder, problems)
    gone = tuple(str(problem.facts["name"]) for problem in problems if problem.kind == "loop-gone")
    return Kept(now.new, now.filled, now.text.count("# guess") > text.count("# guess"), gone, now.in_braces)


def _text(path: Path) -> str:
    try:
        return path.read_bytes().decode("utf-8")
    except FileNotFoundError:
        return ""
    except UnicodeDecodeError as error:
        raise CatalogNotUtf8Error from error


def _entry(one: Measured, card: Card | None) -> Entry:
    """Say what was measured; of chords and how far it may be moved nothing where a person's card has no key."""
    pitched = (card or one).key is not None
    values = {
        "file": one.path.name,
        "tempo": f"{one.tempo_bpm:g}",
        "bars": str(one.bars),
        "time": str(one.time),
        "key": str(one.key or "none"),
        **({"chords": " | ".join(one.chords)} if one.chords and pitched else {}),
        "downbeat": f"{one.first_downbeat_seconds:g}",
        "role": str(one.role),
        "loudness": f"{one.loudness_lufs:.1f}",
        **(_limits(one.limits, pitched=pitched) if one.limits else {}),
    }
    origin = origin_of(one.path)
    tagged = {"maker": origin.maker, "licence": origin.licence}
    values |= {key: value for key, value in tagged.items() if value}
    remarks = {
        key: words.guess(one.others.get(name, ()), name)
        for key, name in _NAMES.items()
        if key in values and name not in one.sure
    }
    remarks |= {key: words.FROM_TAGS for key in tagged if key in values}
    if (card.role if card else one.role) != VOICE:  # whose colour stays
        remarks |= {key: remark for key, remark in words.COLOUR_MOVES.items() if key in values}
    return Entry(one.path.name, values, remarks)


def _limits(limits: Limits, *, pitched: bool) -> dict[str, str]:
    tempo = {"slower up to": limits.slower_percent, "faster up to": limits.faster_percent}
    pitch = {"lower up to": limits.lower_semitones, "higher up to": limits.higher_semitones} if pitched else {}
    return {
        **{key: f"{percent} %" for key, percent in tempo.items() if percent is not None},
        **{key: bears.semitones_told(count) for key, count in pitch.items() if count is not None},
    }
