"""The page with which a lesson begins: all loops to listen to, at their own tempo and key or at a song's.

Every loop goes into the page as compressed sound with a little of its end before it and of its start after it. So any
stretch of the loop's length in it is one whole round, and it can be repeated without a gap wherever a decoder puts the
start.
"""

from __future__ import annotations

import base64
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np

from mixer.classroom.session import RATE_HZ, level_check
from mixer.loops.card import Card
from mixer.loops.measure.hearing import hear
from mixer.material.fit import Frame
from mixer.material.loop import UnreadableLoopError, fit, make
from mixer.music.keys import Key
from mixer.pages.loop_list import LoopShown, loop_list
from mixer.pages.rhythm import MOST_BARS, rhythm_svg
from mixer.recipe.model import Layer, LoopSource
from mixer.signal.blocks import Samples
from mixer.signal.coded import NoEncoderError, encode
from mixer.store.whole import write_text
from mixer.words.english import loop_page as words

LOUDNESS_LUFS = -20.0
HIGHEST_PEAK = 10 ** (-1 / 20)
LEAD_SECONDS = 0.1
# What begins so softly is not drawn.
LEAST_STRENGTH = 0.25


@dataclass(frozen=True)
class Wish:
    """At which tempo and in which key loops are heard; None for their own."""

    tempo_bpm: Fraction | None = None
    key: Key | None = None


@dataclass(frozen=True)
class PageMade:
    """What became of a page: how many loops are on it, and which are not."""

    loops: int
    size_bytes: int
    left_out: tuple[str, ...]


def write_loop_page(
    path: Path, cards: Sequence[Card], wish: Wish, progress: Callable[[str, float], None] | None = None
) -> PageMade:
    """Write the page.

    Parameters
    ----------
    path : where it will stand
    cards : the loops, grouped by role
    wish : how they are heard
    progress : told the name of each loop, and how much is done

    Raises
    ------
    OSError
        If it cannot be written; what stood there stays.
    """
    shown: list[LoopShown] = []
    left_out: list[str] = []
    for number, card in enumerate(cards):
        if progress:
            progress(card.name, number / len(cards))
        frame = Frame(wish.tempo_bpm or card.tempo_bpm, card.meter, wish.key)
        try:
            shown.append(_shown(card, frame))
        except UnreadableLoopError:
            left_out.append(card.name)
    page = loop_list(shown, _played(wish), _encoded(level_check(LOUDNESS_LUFS))[0])
    write_text(path, page)
    return PageMade(len(shown), len(page.encode()), tuple(left_out))


def _played(wish: Wish) -> str:
    if wish.tempo_bpm is None and wish.key is None:
        return words.OWN
    key = words.IN_KEY.format(key=wish.key) if wish.key else ""
    return words.AT.format(tempo=f"{float(wish.tempo_bpm or 0):g}", key=key)


def _shown(card: Card, frame: Frame) -> LoopShown:
    """Make a loop's sound and its picture."""
    fitted = fit(Layer(card.name, LoopSource(card.name)), card, frame)
    made = make(fitted, frame, RATE_HZ)
    sound, sound_type = _encoded(_with_lead(made.samples))
    peak = max(float(np.abs(made.samples).max()), 1e-9)
    gain = min(10 ** ((LOUDNESS_LUFS - made.loudness_lufs) / 20), HIGHEST_PEAK / peak)
    onsets = _onsets(made.samples, float(fitted.bars) * card.meter.beats)
    bars = max(1, round(fitted.bars))
    drawn = sum(at < min(bars, MOST_BARS) * card.meter.beats for at, _ in onsets)
    told = words.rhythm(drawn, min(bars, MOST_BARS), bars)
    tempo = float(card.tempo_bpm)
    lines = [words.facts(tempo, str(card.key or ""), card.bars, str(card.meter), card.set)]
    lines += [words.chords(" | ".join(card.chords))] if card.chords else []
    return LoopShown(
        name=card.name,
        role=card.role,
        lines=(*lines, words.made_by(card.maker, card.licence)),
        picture=rhythm_svg(onsets, bars, card.meter.beats, str(card.meter), told),
        sound=sound,
        sound_type=sound_type,
        seconds=len(made.samples) / RATE_HZ,
        lead_seconds=LEAD_SECONDS,
        gain=round(gain, 4),
    )


def _onsets(samples: Samples, beats: float) -> list[tuple[float, float]]:
    heard = hear(samples, RATE_HZ)
    places = heard.onsets / heard.seconds * beats
    return [(float(at), float(s)) for at, s in zip(places, heard.strengths, strict=True) if s > LEAST_STRENGTH]


def _with_lead(samples: Samples) -> Samples:
    lead = round(LEAD_SECONDS * RATE_HZ)
    around = np.arange(-lead, len(samples) + 2 * lead)
    return np.asarray(samples.take(around, axis=0, mode="wrap"))


def _encoded(samples: Samples) -> tuple[str, str]:
    """Give sound as a compressed file in base64, and its media type: MP3, which every browser plays, or else Vorbis."""
    with tempfile.TemporaryDirectory() as place:
        file = Path(place) / "sound"
        try:
            encode(file, [samples], RATE_HZ, "mp3 small")
            kind = "audio/mpeg"
        except NoEncoderError:
            encode(file, [samples], RATE_HZ, "ogg")
            kind = "audio/ogg"
        return base64.b64encode(file.read_bytes()).decode("ascii"), kind
