"""Loops as material: recorded sound brought to the song's tempo, key and rate.

The loop is cut from its first downbeat to the length that its card says, resampled to the song's rate, then
stretched and transposed in one step. A loop that is at the song's tempo, key and rate already passes through
bit for bit.
"""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from mixer.loops.card import Card
from mixer.material.fit import Fit, Frame, Material
from mixer.music.keys import semitones_between
from mixer.music.meter import nearest_frame
from mixer.recipe.model import AS_RECORDED, Layer
from mixer.store.content import content_key

if TYPE_CHECKING:
    from mixer.signal.blocks import Samples

LONGEST_SECONDS = 120
_SPEED_FACTORS = {"half": Fraction(2), "double": Fraction(1, 2)}


class UnreadableLoopError(Exception):
    """A loop's file cannot be used; `kind` and `facts` say why, for the words."""

    def __init__(self, kind: str, path: Path, **facts: object) -> None:
        super().__init__(kind)
        self.kind = kind
        self.facts = {"file": path.name, **facts}


def fit(layer: Layer, card: Card, frame: Frame) -> Fit:
    """How a loop fills the song's bars.

    Parameters
    ----------
    layer : says speed, pitch and role where the recipe does
    card : the loop's; in the song's time signature
    frame : the song
    """
    own_bar = card.meter.bar_seconds(card.tempo_bpm)
    natural = own_bar / frame.bar_seconds  # bars of the song that a bar of the loop takes as it is
    if layer.speed == AS_RECORDED:
        bars = card.bars * natural
    else:
        factor = _SPEED_FACTORS.get(layer.speed) or _nearest_factor(natural)
        bars = card.bars * factor
    stretch = bars / (card.bars * natural)
    return Fit(card, layer.role or card.role, bars, _semitones(layer, card, frame), stretch)


def _nearest_factor(natural: Fraction) -> Fraction:
    """Bar for bar, half or double time, whichever needs the least stretch; bar for bar at a tie."""
    choices = (Fraction(1), Fraction(2), Fraction(1, 2))
    return min(choices, key=lambda factor: max(factor / natural, natural / factor))


def _semitones(layer: Layer, card: Card, frame: Frame) -> int:
    if layer.pitch == AS_RECORDED:
        return 0
    to_key = semitones_between(card.key, frame.key) if card.key and frame.key else 0
    return to_key + layer.pitch


def make(fit: Fit, frame: Frame, rate_hz: int) -> Material:
    """Make the sound.

    Parameters
    ----------
    fit : how the loop fills the song's bars
    frame : the song
    rate_hz : the song's

    Raises
    ------
    UnreadableLoopError
        If the file is no sound, is empty or silent, too long, or holds values that are no numbers.
    """
    from mixer.signal.fit import fit_loop  # noqa: PLC0415 - not needed to plan
    from mixer.signal.loudness import loop_loudness  # noqa: PLC0415 - not needed to plan

    recorded, own_rate_hz = _read(fit.card.path)
    loop = _cut(recorded, own_rate_hz, fit.card)
    if own_rate_hz != rate_hz:
        loop = _at_rate(loop, rate_hz, fit.card)
    length_frames = max(1, nearest_frame(fit.bars * frame.bar_seconds * rate_hz))
    samples = fit_loop(loop, rate_hz, length_frames, fit.semitones)
    return Material(samples, loop_loudness(samples, rate_hz), content_key(fit.card.path))


def _read(path: Path) -> tuple[Samples, int]:
    """Decode a file to float32, shape (frames, 2), and its rate."""
    from mixer.signal.files import UnreadableSoundError, read_sound  # noqa: PLC0415 - not needed to plan

    try:
        return read_sound(path, LONGEST_SECONDS)
    except UnreadableSoundError as error:
        raise UnreadableLoopError(error.kind, path, **error.facts) from error


def _cut(recorded: Samples, rate_hz: int, card: Card) -> Samples:
    """Cut the bars that the card names, from the first downbeat; what is missing at the end is silence."""
    import numpy as np  # noqa: PLC0415 - not needed to plan

    start = nearest_frame(card.downbeat_seconds * rate_hz)
    length = nearest_frame(card.bars * card.meter.bar_seconds(card.tempo_bpm) * rate_hz)
    if length > LONGEST_SECONDS * rate_hz:
        raise UnreadableLoopError("loop-long", card.path, most=LONGEST_SECONDS)
    loop = recorded[start : start + length]
    if len(loop) == 0 or not np.any(loop):
        raise UnreadableLoopError("loop-silent", card.path)
    if len(loop) < length:
        loop = np.concatenate([loop, np.zeros((length - len(loop), 2), np.float32)])
    return loop


def _at_rate(loop: Samples, rate_hz: int, card: Card) -> Samples:
    from mixer.signal.resample import resample_loop  # noqa: PLC0415 - rarely needed

    length = nearest_frame(card.bars * card.meter.bar_seconds(card.tempo_bpm) * rate_hz)
    return resample_loop(loop, max(1, length))
