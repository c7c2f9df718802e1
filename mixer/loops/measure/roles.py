"""What part a loop plays (drums, bass, harmony ...), from how its sound is made up."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mixer.loops.catalog import ROLES
from mixer.loops.measure.hearing import Heard
from mixer.loops.measure.pitches import LOWEST_MIDI, Pitches
from mixer.record import record

Curve = NDArray[np.floating]

SPEECH = "speech"
KINDS = (*ROLES, SPEECH)
NAMES = (
    *("one", "low", "low middle", "middle", "high", "highest", "lowest rise", "highest rise", "tonal", "tonal spread"),
    *(
        "pitch",
        "pitch spread",
        "voices",
        "chord share",
        "onsets a second",
        "falls",
        "steady",
        "bass pitch",
        "no onsets",
    ),
    *("low squared", "pitch squared", "tonal squared", "high squared", "one voice", "glide", "low and tonal", "kinds"),
)


def role_evidence(heard: Heard, pitches: Pitches) -> Curve:
    """Give what a sound is made up of, shape (facts,)."""
    power = (10 ** (heard.levels_db / 10)).sum(axis=0)
    power /= power.sum()
    low, low_mid, mid = power[:2].sum(), power[2:5].sum(), power[5:8].sum()
    high, highest = power[8:10].sum(), power[10:].sum()
    voices = _voices(pitches)
    place, tonal = (voices.pitch - 60) / 12, voices.tonal
    return np.array(
        [
            1.0,
            *(low * 2, low_mid * 2, mid * 2, high * 3, highest * 4),
            *(*_rises(heard), tonal, float(pitches.tonal.std())),
            *(place, voices.spread / 12, float(voices.count.mean()) / 3, float((voices.count >= 3).mean())),
            *(*_course(heard), (voices.lowest - 50) / 12, float(len(heard.onsets) < 3)),
            *(4 * low**2, place**2, tonal**2, 9 * high**2),
            *(float((voices.count <= 1).mean()), 4 * voices.glide, 2 * low * tonal),
            _kinds(heard),
        ]
    )


def _rises(heard: Heard) -> tuple[float, float]:
    """How steeply hits begin in the lowest and the highest bands."""
    tall = heard.rises[heard.rises.mean(axis=1) > 3.0]
    return (float(tall[:, :3].mean()) / 20, float(tall[:, 9:].mean()) / 20) if len(tall) else (0.0, 0.0)


def _course(heard: Heard) -> tuple[float, float, float]:
    """How many onsets there are in a second, how often the level falls, and how far it moves about."""
    level = np.maximum(heard.loudness_db, -40.0)
    rate = len(heard.onsets) / max(heard.seconds, 1e-6)
    return min(rate, 12.0) / 6, 3 * float((np.diff(level) < -0.25).mean()), float(level.std()) / 10


@record
class _Voices:
    """What pitches there are while something sounds.

    Parameters
    ----------
    pitch, spread : the middle of all, as a MIDI number, and how far they lie from it, in semitones
    count : how many sound at once, shape (hops,)
    lowest : the middle one of the lowest pitches, as a MIDI number
    tonal : how much of the energy stands out as pitches, 0 to 1
    glide : how often the strongest moves by one semitone
    """

    pitch: float
    spread: float
    count: NDArray[np.intp]
    lowest: float
    tonal: float
    glide: float


def _voices(pitches: Pitches) -> _Voices:
    loud = pitches.salience.max(axis=1) > 0.2
    salience = pitches.salience[loud] if loud.any() else pitches.salience
    weights = salience.mean(axis=0) + 1e-9
    semitones = np.arange(len(weights)) + LOWEST_MIDI
    pitch = float(np.average(semitones, weights=weights))
    strong = salience > 0.45 * np.maximum(salience.max(axis=1, keepdims=True), 1e-9)
    lowest = np.where(strong.any(axis=1), strong.argmax(axis=1), 0) + LOWEST_MIDI
    top = salience.argmax(axis=1)
    return _Voices(
        pitch,
        spread=float(np.sqrt(np.average((semitones - pitch) ** 2, weights=weights))),
        count=strong.sum(axis=1),
        lowest=float(np.median(lowest)),
        tonal=float(pitches.tonal[loud].mean()) if loud.any() else 0.0,
        glide=float((np.abs(np.diff(top)) == 1).mean()) if len(top) > 1 else 0.0,
    )


def _kinds(heard: Heard) -> float:
    """How unlike each other the hits are: a drum kit's are, a shaker's or a piano's are not."""
    rows = (heard.onsets / heard.hop_seconds + 2.5).astype(int)
    rows = rows[rows < len(heard.levels_db)]
    if len(rows) < 3:
        return 0.0
    shapes = heard.levels_db[rows]
    shapes = shapes - shapes.mean(axis=1, keepdims=True)
    return float(shapes.std(axis=0).mean()) / 10
