"""Cards of a catalog that was read before: reading the loops that come along took longer than reading a recipe.

Only a catalog in which there was nothing to tell is remembered, under its content; whether its sound files are there
is looked at each time. Of other catalogs than our own no copy is kept: they may name children as makers.
"""

from __future__ import annotations

import os
import stat
from collections.abc import Iterable
from fractions import Fraction
from pathlib import Path
from typing import Any

from mixer.loops.card import Card
from mixer.loops.catalog import FILE_NAME, LARGEST_BYTES, read_catalog
from mixer.loops.limits import Limits
from mixer.music.keys import parse_key
from mixer.music.meter import parse_meter
from mixer.store.cache import Cache
from mixer.store.content import content_key
from mixer.store.recalled import facts_key, keep_facts, recalled
from mixer.text.names import same_name
from mixer.words.problem import Problems

_ROOMS = ("loops", "text", "music")

_LATELY: dict[tuple[Path, str | None], dict[str, Card]] = {}
"""What was given last, for a program that makes many songs."""


def cards_once(folder: Path, problems: Problems, cache: Cache) -> dict[str, Card]:
    """Give what `read_catalog` gives, without reading again what has not changed.

    Parameters
    ----------
    folder : where the loops and their catalog are
    problems : grows by what is told
    cache : where the cards may be
    """
    key = facts_key(_content_key(folder / FILE_NAME), _ROOMS, "cards")
    place = (folder, key)
    cards = _LATELY.get(place) or _recalled(folder, cache, key)
    if not cards or not _are_there(card.path for card in cards.values()):
        found = Problems()
        cards = read_catalog(folder, found)
        problems.extend(found)
        if not key or not cards or found or any(card.path.parent != folder for card in cards.values()):
            return cards
        keep_facts(cache, key, [_packed(card) for card in cards.values()])
    _LATELY.clear()
    _LATELY[place] = cards
    return dict(cards)


def _recalled(folder: Path, cache: Cache, key: str | None) -> dict[str, Card]:
    cards = recalled(cache, key, lambda facts: [_unpacked(folder, each) for each in facts])
    return {same_name(card.name): card for card in cards or ()}


def _content_key(catalog: Path) -> str:
    """Key of what stands in a catalog; empty for one that is no plain file, or too long."""
    try:
        seen = os.lstat(catalog)
        plain = stat.S_ISREG(seen.st_mode) and seen.st_size <= LARGEST_BYTES
        return content_key(catalog) if plain else ""
    except OSError:
        return ""


def _are_there(sounds: Iterable[Path]) -> bool:
    """Whether all are plain files; of links and others the catalog's reader says what is wrong with them."""
    try:
        return all(stat.S_ISREG(os.lstat(sound).st_mode) for sound in sounds)
    except (OSError, ValueError):
        return False


def _packed(card: Card) -> dict[str, Any]:
    limits = card.limits
    return {
        "name": card.name,
        "file": card.path.name,
        "tempo": str(card.tempo_bpm),
        "time": str(card.meter),
        "bars": card.bars,
        "role": card.role,
        "downbeat": str(card.downbeat_seconds),
        "key": str(card.key or ""),
        "chords": card.chords,
        "limits": [limits.slower_percent, limits.faster_percent, limits.lower_semitones, limits.higher_semitones],
        "words": [card.set, card.maker, card.licence],
        "may be": card.may_be,
        "checked": sorted(card.checked),
    }


def _unpacked(folder: Path, facts: dict[str, Any]) -> Card:
    meter = parse_meter(facts["time"])
    if meter is None:
        raise ValueError(facts["time"])
    belongs_to, maker, licence = facts["words"]
    return Card(
        name=facts["name"],
        path=folder / facts["file"],
        tempo_bpm=Fraction(facts["tempo"]),
        meter=meter,
        bars=facts["bars"],
        role=facts["role"],
        downbeat_seconds=Fraction(facts["downbeat"]),
        key=parse_key(facts["key"]) if facts["key"] else None,
        chords=tuple(facts["chords"]),
        limits=Limits(*facts["limits"]),
        set=belongs_to,
        maker=maker,
        licence=licence,
        may_be=tuple(facts["may be"]),
        checked=frozenset(facts["checked"]),
    )
