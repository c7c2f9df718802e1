"""What `fits` hears in a loop is kept, so that a class that asks again and again waits once.

It is kept in the user's cache under the sound's content, how its card counts it, and all that listens; numbers without
sound or names.
"""

from __future__ import annotations

from mixer.coach.fits import Heard, listen
from mixer.loops.card import Card
from mixer.store.cache import open_cache
from mixer.store.content import content_key_if_read
from mixer.store.recalled import facts_key, keep_facts, recalled

_ROOMS = ("coach", "loops/measure", "signal", "music")


def listen_once(card: Card) -> Heard | None:
    """Listen to a loop, or give what was heard before; None where its sound cannot be used."""
    counted = (card.tempo_bpm, card.meter, card.bars, card.downbeat_seconds, card.role)
    cache, key = open_cache(), facts_key(content_key_if_read(card.path), _ROOMS, counted)
    heard = recalled(cache, key, lambda facts: Heard(tuple(facts[0]), facts[1]))
    if heard is None:
        heard = listen(card)
        if heard is not None:
            keep_facts(cache, key, [heard.onsets, heard.low])
    return heard
