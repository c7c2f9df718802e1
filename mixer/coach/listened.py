"""What `fits` hears in a loop is kept, so that a class that asks again and again waits once.

It is kept in the user's cache under the sound's content, how its card counts it, and the source texts of all that
listens; numbers without sound or names.
"""

from __future__ import annotations

import functools
import json
from pathlib import Path

from mixer.coach.fits import Heard, listen
from mixer.loops.card import Card
from mixer.store.cache import open_cache
from mixer.store.content import content_key, key_of, sources_key

_ROOMS = ("coach", "loops/measure", "signal", "music")


def listen_once(card: Card) -> Heard | None:
    """Listen to a loop, or give what was heard before; None where its sound cannot be used."""
    cache, key = open_cache(), _key(card)
    content = cache.read(key) if key else None
    if content is not None:
        onsets, low = json.loads(content)
        return Heard(tuple(onsets), low)
    heard = listen(card)
    if heard is not None and key:
        cache.keep(key, [json.dumps([heard.onsets, heard.low]).encode()])
    return heard


def _key(card: Card) -> str | None:
    counted = (card.tempo_bpm, card.meter, card.bars, card.downbeat_seconds, card.role)
    try:
        return key_of(content_key(card.path), _code_version(), repr(counted))
    except OSError:
        return None


@functools.cache
def _code_version() -> str:
    house = Path(__file__).parents[1]
    return sources_key(house / room for room in _ROOMS)
