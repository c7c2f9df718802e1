"""Facts that were found in a sound once are recalled from the user's cache, where they lie as JSON.

Nothing depends on them, as on all that is kept there: where they are missing they are found anew.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any, TypeVar

from mixer.store.cache import Cache
from mixer.store.content import key_of
from mixer.store.makers import makers_key

T = TypeVar("T")


def facts_key(sound: str, rooms: tuple[str, ...], asked: object) -> str | None:
    """Give the key of what was found in a sound.

    Parameters
    ----------
    sound : key of its content; empty where there is none
    rooms : of this program, with all the code that has to do with it
    asked : what else it depends on; its `repr` counts
    """
    code = makers_key(*rooms) if sound else None
    return code and key_of(sound, code, repr(asked))


def recalled(cache: Cache, key: str | None, unpack: Callable[[Any], T]) -> T | None:
    """Give facts that were kept; None where they are not there or damaged."""
    content = cache.read(key) if key else None
    try:
        return None if content is None else unpack(json.loads(content))
    except (ValueError, KeyError, TypeError):
        return None


def keep_facts(cache: Cache, key: str | None, facts: object) -> None:
    """Keep facts that JSON can hold."""
    if key:
        cache.keep(key, [json.dumps(facts).encode()])
