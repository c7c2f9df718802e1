"""The kinds of source that a layer can have, and who makes each of them."""

from __future__ import annotations

from mixer.loops.library import Library
from mixer.material import loop
from mixer.material.fit import Fit, Frame, Material
from mixer.recipe.model import Layer


def fit(layer: Layer, frame: Frame, library: Library) -> Fit | None:
    """How a layer's source fills the song's bars; None if it is not to be found."""
    card = library.find(layer.source.loop)
    return None if card is None else loop.fit(layer, card, frame)


def make(fit: Fit, frame: Frame, rate_hz: int) -> Material:
    """Make the sound of a source; see `mixer.material.loop.make`."""
    return loop.make(fit, frame, rate_hz)
