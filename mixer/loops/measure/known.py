"""What was measured of a sound is kept, so that no sound is listened to twice, whoever asks for it again.

It is kept in the user's cache under the sound's content, what its name says, and the source texts of all that listens:
facts without the sound and without any name. Nothing depends on it, as on all that is kept there.
"""

from __future__ import annotations

import functools
import json
from dataclasses import asdict
from pathlib import Path

from mixer.loops.measure.facts import Measured
from mixer.loops.measure.hints import hints_in
from mixer.music.keys import parse_key
from mixer.record import replace
from mixer.store.cache import Cache, open_cache
from mixer.store.content import content_key, key_of, sources_key

_ROOMS = ("loops/measure", "signal", "music")


def measured_once(path: Path) -> Measured:
    """Give what was measured of a sound file; measure it where that is not known."""
    cache = open_cache()
    try:
        sound = content_key(path) if path.is_file() else ""
    except OSError:
        sound = ""
    found = known(path, sound, cache)
    if found is None:
        from mixer.loops.measure.measured import measure  # noqa: PLC0415 - loads all that listens

        found = measure(path)
        if sound and found.seconds and (key := _key(path, sound)):
            cache.keep(key, [_packed(found)])
    return found


def known(path: Path, sound: str, cache: Cache) -> Measured | None:
    """Give what was measured of a sound file before; None where that is not known.

    Parameters
    ----------
    path : the file, whose name is a hint
    sound : key of its content; empty where there is none
    cache : where it may be
    """
    key = _key(path, sound) if sound else None
    content = cache.read(key) if key else None
    try:
        return None if content is None else _unpacked(path, content)
    except (ValueError, KeyError, TypeError):
        return None


def _key(path: Path, sound: str) -> str | None:
    code = _code_version()
    return code and key_of(sound, code, repr(hints_in(path.stem)))


@functools.cache
def _code_version() -> str | None:
    """Tell apart all that has to do with measuring; None if that cannot be told."""
    house = Path(__file__).parents[2]
    try:
        return sources_key(house / room for room in _ROOMS)
    except OSError:
        return None


def _packed(found: Measured) -> bytes:
    facts = asdict(replace(found, path=Path(), key=None))
    return json.dumps({**facts, "path": "", "key": str(found.key or "")}).encode()


def _unpacked(path: Path, content: bytes) -> Measured:
    facts = json.loads(content)
    read = {
        "key": parse_key(facts["key"]),
        "chords": tuple(facts["chords"]),
        "sure": tuple(facts["sure"]),
        "others": {name: tuple(values) for name, values in facts["others"].items()},
        "problems": tuple((kind, named) for kind, named in facts["problems"]),
    }
    return Measured(**{**facts, **read, "path": path})
