"""The kinds of source that a layer can have, and who makes each of them."""

from __future__ import annotations

from mixer.loops.library import Library
from mixer.material import loop
from mixer.material.fit import Fit, Frame, Material
from mixer.material.kept import kept_or_made
from mixer.recipe.model import Layer
from mixer.store.cache import Cache


def fit(layer: Layer, frame: Frame, library: Library) -> Fit | None:
    """How a layer's source fills the song's bars; None if it is not to be found."""
    card = library.find(layer.source.loop)
    return None if card is None else loop.fit(layer, card, frame)


def make(fit: Fit, frame: Frame, rate_hz: int, cache: Cache | None = None) -> Material:
    """Make the sound of a source, or take it from a cache; see `mixer.material.loop.make`."""
    if cache is None:
        return loop.make(fit, frame, rate_hz)
    return kept_or_made(cache, fit, frame, rate_hz, loop.make)
