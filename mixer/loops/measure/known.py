"""What was measured of a sound is kept, so that no sound is listened to twice, whoever asks for it again.

It is kept in the user's cache under the sound's content, what its name says, and all that listens: facts without the
sound and without any name.
"""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import Any

from mixer.loops.measure.facts import Measured
from mixer.loops.measure.hints import hints_in
from mixer.music.keys import parse_key
from mixer.record import replace
from mixer.store.cache import Cache, open_cache
from mixer.store.content import content_key_if_read
from mixer.store.recalled import facts_key, keep_facts, recalled

_ROOMS = ("loops/measure", "signal", "music")


def measured_once(path: Path) -> Measured:
    """Give what was measured of a sound file; measure it where that is not known."""
    cache, sound = open_cache(), content_key_if_read(path)
    found = known(path, sound, cache)
    if found is None:
        from mixer.loops.measure.measured import measure  # noqa: PLC0415 - loads all that listens

        found = measure(path)
        if found.seconds:
            keep_facts(cache, _key(path, sound), _packed(found))
    return found


def known(path: Path, sound: str, cache: Cache) -> Measured | None:
    """Give what was measured of a sound file before; None where that is not known.

    Parameters
    ----------
    path : the file, whose name is a hint
    sound : key of its content; empty where there is none
    cache : where it may be
    """
    return recalled(cache, _key(path, sound), lambda facts: _unpacked(path, facts))


def _key(path: Path, sound: str) -> str | None:
    return facts_key(sound, _ROOMS, hints_in(path.stem))


def _packed(found: Measured) -> dict[str, Any]:
    return {**asdict(replace(found, path=Path(), key=None)), "path": "", "key": str(found.key or "")}


def _unpacked(path: Path, facts: dict[str, Any]) -> Measured:
    read = {
        "key": parse_key(facts["key"]),
        "chords": tuple(facts["chords"]),
        "sure": tuple(facts["sure"]),
        "others": {name: tuple(values) for name, values in facts["others"].items()},
        "problems": tuple((kind, named) for kind, named in facts["problems"]),
    }
    return Measured(**{**facts, **read, "path": path})
