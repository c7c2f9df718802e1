"""The page with which a lesson begins: all loops to listen to, at their own tempo and key or at a song's.

Every loop goes into the page as compressed sound with a little of its end before it and of its start after it. So any
stretch of the loop's length in it is one whole round, and it can be repeated without a gap wherever a decoder puts the
start.
"""

from __future__ import annotations

import base64
import tempfile
from collections.abc import Callable, Sequence
from fractions import Fraction
from pathlib import Path

import numpy as np

from mixer.classroom.chorus import Chorus
from mixer.classroom.session import RATE_HZ, level_check
from mixer.loops.card import Card
from mixer.loops.measure.hearing import hear
from mixer.loops.permission import QUESTIONS, permission_of
from mixer.material.fit import Frame
from mixer.material.loop import UnreadableLoopError, fit, make
from mixer.music.keys import Key
from mixer.pages.loop_list import LoopShown, TogetherShown, loop_list
from mixer.pages.rhythm import MOST_BARS, rhythm_svg
from mixer.recipe.model import Layer, LoopSource
from mixer.record import record, replace
from mixer.signal.blocks import Samples
from mixer.signal.coded import NoEncoderError, encode
from mixer.song.levels import ROLE_LUFS
from mixer.store.whole import write_text
from mixer.words.english import bears, told
from mixer.words.english import loop_page as words

LOUDNESS_LUFS = -20.0
TOGETHER_GAIN = 10 ** (-6 / 20)
"""A chorus and one layer more, as they are before the finish, turned down so that they have room."""
HIGHEST_PEAK = 10 ** (-1 / 20)
LEAD_SECONDS = 0.1
# What begins so softly is not drawn.
LEAST_STRENGTH = 0.25


@record
class Wish:
    """At which tempo and in which key loops are heard; None for their own."""

    tempo_bpm: Fraction | None = None
    key: Key | None = None


@record
class PageMade:
    """What became of a page: how many loops are on it, and which are not."""

    loops: int
    size_bytes: int
    left_out: tuple[str, ...]


def write_loop_page(
    path: Path,
    cards: Sequence[Card],
    wish: Wish,
    progress: Callable[[str, float], None] | None = None,
    chorus: Chorus | None = None,
) -> PageMade:
    """Write the page.

    Parameters
    ----------
    path : where it will stand
    cards : the loops, grouped by role
    wish : how they are heard
    progress : told the name of each loop, and how much is done
    chorus : of the song to whose tempo and key they are brought, to hear each of them together with it

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
            loop = _shown(card, frame)
            apart = chorus is not None and chorus.meter != card.meter
            shown.append(replace(loop, gain_together=0.0) if apart else loop)
        except UnreadableLoopError:
            left_out.append(card.name)
    together = None if chorus is None else _together(chorus)
    page = loop_list(shown, _played(wish), _encoded(level_check(LOUDNESS_LUFS))[0], together)
    write_text(path, page)
    return PageMade(len(shown), len(page.encode()), tuple(left_out))


def _played(wish: Wish) -> str:
    if wish.tempo_bpm is None and wish.key is None:
        return words.OWN
    key = words.IN_KEY.format(key=wish.key) if wish.key else ""
    return words.AT.format(tempo=f"{float(wish.tempo_bpm or 0):g}", key=key)


def _together(chorus: Chorus) -> TogetherShown:
    sound, _ = _encoded(_with_lead(chorus.samples), chorus.rate_hz)
    seconds = len(chorus.samples) / chorus.rate_hz
    return TogetherShown(chorus.name, sound, seconds, LEAD_SECONDS, TOGETHER_GAIN)


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
    seen = words.rhythm(drawn, min(bars, MOST_BARS), bars)
    tempo = float(card.tempo_bpm)
    as_it_is = not fitted.semitones and frame.tempo_bpm == card.tempo_bpm
    lines = [words.facts(tempo, str(card.key or ""), card.bars, str(card.meter), card.set, as_it_is=as_it_is)]
    lines += [words.chords(" | ".join(card.chords))] if card.chords else []
    if tempos := card.limits.tempos_bpm(card.tempo_bpm):
        lines.append(bears.sentence((float(tempos[0]), float(tempos[1])), card.limits.semitones()))
    asked = [question for question in QUESTIONS if question not in permission_of(card).yes]
    return LoopShown(
        name=card.name,
        role=card.role,
        lines=(*lines, words.made_by(card.maker, card.licence), *told.to_ask(asked)),
        picture=rhythm_svg(onsets, bars, card.meter.beats, str(card.meter), seen),
        sound=sound,
        sound_type=sound_type,
        seconds=len(made.samples) / RATE_HZ,
        lead_seconds=LEAD_SECONDS,
        gain=round(gain, 4),
        gain_together=round(min(10 ** ((ROLE_LUFS[card.role] - made.loudness_lufs) / 20), 1 / peak) * TOGETHER_GAIN, 4),
    )


def _onsets(samples: Samples, beats: float) -> list[tuple[float, float]]:
    heard = hear(samples, RATE_HZ)
    places = heard.onsets / heard.seconds * beats
    return [(float(at), float(s)) for at, s in zip(places, heard.strengths, strict=True) if s > LEAST_STRENGTH]


def _with_lead(samples: Samples) -> Samples:
    lead = round(LEAD_SECONDS * RATE_HZ)
    around = np.arange(-lead, len(samples) + 2 * lead)
    return np.asarray(samples.take(around, axis=0, mode="wrap"))


def _encoded(samples: Samples, rate_hz: int = RATE_HZ) -> tuple[str, str]:
    """Give sound as a compressed file in base64, and its media type: MP3, which every browser plays, or else Vorbis."""
    with tempfile.TemporaryDirectory() as place:
        file = Path(place) / "sound"
        try:
            encode(file, [samples], rate_hz, "mp3 small")
            kind = "audio/mpeg"
        except NoEncoderError:
            encode(file, [samples], rate_hz, "ogg")
            kind = "audio/ogg"
        return base64.b64encode(file.read_bytes()).decode("ascii"), kind
