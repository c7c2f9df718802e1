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
from mixer.loops.catalog import VOICE
from mixer.material.fit import Fit, Frame, Material, Remark
from mixer.music.keys import semitones_between
from mixer.music.meter import nearest_frame
from mixer.recipe.model import AS_RECORDED, Layer
from mixer.store.content import content_key

if TYPE_CHECKING:
    from mixer.signal.blocks import Samples
    from mixer.signal.files import Sound

LONGEST_SECONDS = 120
AUDIBLE = 0.01
"""What is softer than this part of the loop's peak, -40 dB, is not heard as the start of an upbeat (no source)."""
ROOM = 10 ** (-12 / 10)
"""A loop's end this much softer than the upbeat leaves room for it (by ear, no source)."""
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

    sound = _read(fit.card.path)
    loop, missing_frames, upbeat_frames = _cut(sound, fit.card)
    upbeat = Fraction(upbeat_frames, len(loop))
    if sound.rate_hz != rate_hz:
        loop = _at_rate(loop, rate_hz, fit.card)
    length_frames = max(1, nearest_frame(fit.bars * frame.bar_seconds * rate_hz))
    is_voice = VOICE in (fit.role, fit.card.role)
    samples = fit_loop(loop, rate_hz, length_frames, fit.semitones, keep_colour=is_voice)
    loudness_lufs = loop_loudness(samples, rate_hz)
    if loudness_lufs == float("-inf"):
        raise UnreadableLoopError("loop-silent", fit.card.path)
    remarks = _remarks(sound, missing_frames, fit.card)
    return Material(samples, loudness_lufs, content_key(fit.card.path), remarks, nearest_frame(upbeat * len(samples)))


def _read(path: Path) -> Sound:
    from mixer.signal.files import UnreadableSoundError, read_sound  # noqa: PLC0415 - not needed to plan

    try:
        return read_sound(path, LONGEST_SECONDS)
    except UnreadableSoundError as error:
        raise UnreadableLoopError(error.kind, path, **error.facts) from error


def _cut(sound: Sound, card: Card) -> tuple[Samples, int, int]:
    """Cut the bars that the card names, from the first downbeat; what is missing at the end is silence.

    An upbeat before the downbeat leads into the first bar each time the loop comes round, if there is room for it.

    Returns
    -------
    the loop at its own rate, how many frames of it were missing, and how many of its last are an upbeat
    """
    import numpy as np  # noqa: PLC0415 - not needed to plan

    start = nearest_frame(card.downbeat_seconds * sound.rate_hz)
    length = _length_frames(sound.rate_hz, card)
    if length > LONGEST_SECONDS * sound.rate_hz:
        raise UnreadableLoopError("loop-long", card.path, most=LONGEST_SECONDS)
    loop = sound.samples[start : start + length]
    missing = length - len(loop)
    if not np.any(loop):
        raise UnreadableLoopError("loop-silent", card.path)
    if len(loop) < len(sound.samples):
        loop = loop.copy()  # a view would keep the whole recording as long as the loop is used
    if missing:
        loop = np.concatenate([loop, np.zeros((missing, 2), np.float32)])
    upbeat = _upbeat(sound.samples[:start], loop, length // card.bars)
    if len(upbeat):
        loop = loop.copy()
        loop[-len(upbeat) :] += upbeat
    return loop, missing, len(upbeat)


def _upbeat(before: Samples, loop: Samples, bar_frames: int) -> Samples:
    """The upbeat in what stands before a loop's first downbeat; empty where there is none, or no room for it.

    What sounds for a bar or more is counting in, or a recording of which the card takes a part. There is room where the
    last bar was left short for the upbeat, or is all but silent there.
    """
    import numpy as np  # noqa: PLC0415 - not needed to plan

    sounds = np.abs(before).max(axis=1) > AUDIBLE * np.abs(loop).max()
    upbeat = before[int(sounds.argmax()) :] if sounds.any() else before[:0]
    end = loop[-len(upbeat) :]
    if len(upbeat) >= min(bar_frames, len(loop)) or np.vdot(end, end) > ROOM * np.vdot(upbeat, upbeat):
        return before[:0]
    return upbeat


def _remarks(sound: Sound, missing_frames: int, card: Card) -> tuple[Remark, ...]:
    """What to tell of a loop that ends early; that a single hit or a last bar does is usual and not told."""
    file = card.path.name
    if missing_frames and sound.cut:
        return (Remark("sound-cut", {"file": file}),)
    missing_bars = card.bars * missing_frames / _length_frames(sound.rate_hz, card)
    if missing_bars < 1:
        return ()
    return (Remark("loop-short", {"file": file, "bars_there": round(card.bars - missing_bars, 1), "of": card.bars}),)


def _length_frames(rate_hz: int, card: Card) -> int:
    """How long the bars of a loop's card are at its own tempo; a frame at least."""
    return max(1, nearest_frame(card.bars * card.meter.bar_seconds(card.tempo_bpm) * rate_hz))


def _at_rate(loop: Samples, rate_hz: int, card: Card) -> Samples:
    from mixer.signal.resample import resample_loop  # noqa: PLC0415 - rarely needed

    return resample_loop(loop, _length_frames(rate_hz, card))
