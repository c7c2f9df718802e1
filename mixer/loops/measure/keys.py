"""The key of a loop and its chords bar by bar.

A key is weighed by how the pitch classes fit published profiles, by how much of the sound lies in its scale, by where
loops have their tonic (in the bass, in the first bar, in the last), and by whether every bar can be one of its own
chords. Each weighs differently in a bass, which has no chords, in chords, which have no tune, and in a tune. A chord is
a major or a minor triad; its root is heard in the bass first.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product

import numpy as np
from numpy.typing import NDArray

from mixer.loops.measure.pitches import LOWEST_MIDI, Pitches
from mixer.music.keys import Key

Curve = NDArray[np.floating]

MODES = ("major", "minor")
TONICS = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
KEYS = tuple(product(range(12), MODES))
SCALES = {"major": (0, 2, 4, 5, 7, 9, 11), "minor": (0, 2, 3, 5, 7, 8, 10)}
TRIADS = {"major": (0, 4, 7), "minor": (0, 3, 7)}
PITCHED = ("bass", "harmony", "melody", "voice")
# A melody and a voice both sing a tune.
WAYS = {"always": PITCHED, "bass": ("bass",), "harmony": ("harmony",), "tune": ("melody", "voice")}
# A minor chord and the major chords 8, 3 and 10 semitones above it, round and round: a listener may hear the minor key
# of the first or its relative major, and only a tune decides (Richards, "Tonal Ambiguity in Popular Music's Axis
# Progressions", Music Theory Online 23.3, 2017).
OPEN = ((0, "minor"), (8, "major"), (3, "major"), (10, "major"))
FEWEST_OPEN = 3
# The triads on a key's steps that are its own, as semitones above the tonic.
OWN = {
    "major": ((0, "major"), (2, "minor"), (4, "minor"), (5, "major"), (7, "major"), (9, "minor")),
    "minor": ((0, "minor"), (3, "major"), (5, "minor"), (7, "minor"), (8, "major"), (10, "major")),
}
UNHEARD = 0.02
BASS_TOP_MIDI = 53
IN_SCALE = 12.0
# Krumhansl and Kessler 1982; Temperley 2005; Faraldo 2016 "edma" and "bgate", C first.
PROFILES = {
    "major": (
        (6.35, 2.23, 3.48, 2.33, 4.38, 4.09, 2.52, 5.19, 2.39, 3.66, 2.29, 2.88),
        (0.748, 0.060, 0.488, 0.082, 0.670, 0.460, 0.096, 0.715, 0.104, 0.366, 0.057, 0.400),
        (1, 0.2875, 0.5020, 0.4048, 0.6050, 0.5614, 0.3205, 0.7966, 0.3159, 0.4506, 0.4202, 0.3889),
        (1, 0, 0.42, 0, 0.53, 0.37, 0, 0.77, 0, 0.38, 0.21, 0.30),
    ),
    "minor": (
        (6.33, 2.68, 3.52, 5.38, 2.60, 3.53, 2.54, 4.75, 3.98, 2.69, 3.34, 3.17),
        (0.712, 0.084, 0.474, 0.618, 0.049, 0.460, 0.105, 0.747, 0.404, 0.067, 0.133, 0.330),
        (1, 0.3096, 0.4415, 0.5827, 0.3262, 0.4948, 0.2889, 0.7804, 0.4328, 0.2903, 0.5331, 0.3217),
        (1, 0, 0.36, 0.39, 0, 0.38, 0, 0.74, 0.27, 0, 0.42, 0.23),
    ),
}
NAMES = (
    *("profile 1982", "profile 2005", "profile edma", "profile bgate", "in scale", "tonic", "fifth", "third"),
    *("tonic in bass", "first bar", "first in bass", "last bar", "first chord", "fifth chord", "major", "start bass"),
    *("leading note", "tonic chord anywhere", "sixth first"),
    *("own chords", "own chords in the least bar", "own chords, added up"),
)


def key_evidence(pitches: Pitches, bars: list[tuple[float, float]], role: str, said: Key | None) -> Curve:
    """Give what speaks for each of the 24 `KEYS`.

    Parameters
    ----------
    pitches : what sounds when
    bars : start and end of each bar, in seconds
    role : one of `PITCHED`
    said : the key that the file's name says

    Returns
    -------
    shape (24, ways x facts + 1): all of `NAMES` for each of `WAYS`, then whether the name says this key
    """
    facts = _facts(pitches, bars)
    ways = np.array([float(role in roles) for roles in WAYS.values()])
    named = [[float(said is not None and (said.tonic_semitones, said.mode) == key)] for key in KEYS]
    return np.concatenate([(ways[:, None] * facts[:, None, :]).reshape(len(KEYS), -1), named], axis=1)


def _facts(pitches: Pitches, bars: list[tuple[float, float]]) -> Curve:
    whole = _share(pitches.chroma(bars[0][0], bars[-1][1]))
    low = _share(pitches.chroma(bars[0][0], bars[-1][1], LOWEST_MIDI, BASS_TOP_MIDI))
    first = _share(pitches.chroma(*bars[0]))
    first_low = _share(pitches.chroma(*bars[0], LOWEST_MIDI, BASS_TOP_MIDI))
    last = _share(pitches.chroma(*bars[-1]))
    start, end = bars[0]
    begins = _share(pitches.chroma(start, start + (end - start) / 4))
    chords = chord_likeness(pitches, bars)
    rows = []
    for tonic, mode in KEYS:
        turned = np.roll(whole, -tonic)
        triad = TRIADS[mode]
        number = _number(tonic, mode)
        own = np.log(chords[:, [_number(tonic + step, kind) for step, kind in OWN[mode]]].sum(axis=1) + UNHEARD)
        rows.append(
            [
                *(float(np.corrcoef(turned, profile)[0, 1]) for profile in PROFILES[mode]),
                float(turned[list(SCALES[mode])].sum()) * 3,
                turned[0] * 3,
                turned[7] * 3,
                turned[triad[1]] * 3,
                low[tonic],
                float(np.roll(first, -tonic)[list(triad)].sum()),
                first_low[tonic],
                float(np.roll(last, -tonic)[list(triad)].sum()),
                float(chords[0, number]),
                float(chords[-1, _number(tonic + 7, "major")]),
                float(mode == "major"),
                begins[tonic],
                turned[11] * 3,
                float(chords[:, number].max()),
                float(chords[0, _number(tonic + 9, "minor")]) if mode == "major" else 0.0,
                float(own.mean()),
                float(own.min()),
                float(own.sum()) / 4,
            ]
        )
    return np.nan_to_num(np.array(rows))


def _number(tonic: int, mode: str) -> int:
    return 2 * (tonic % 12) + MODES.index(mode)


def _share(chroma: Curve) -> Curve:
    total = float(chroma.sum())
    return np.asarray(chroma / total) if total > 0 else np.full(12, 1 / 12)


def chord_likeness(pitches: Pitches, bars: list[tuple[float, float]]) -> Curve:
    """How likely each triad is in each bar, shape (bars, 24), in the order of `KEYS`; each row sums to 1."""
    rows = []
    for start, end in bars:
        chroma = np.sqrt(_share(pitches.chroma(start, end)))
        low = _share(pitches.chroma(start, end, LOWEST_MIDI, BASS_TOP_MIDI))
        begins = _share(pitches.chroma(start, start + (end - start) / 3, LOWEST_MIDI, BASS_TOP_MIDI))
        scores = []
        for tonic, mode in KEYS:
            turned = np.roll(chroma, -tonic)
            root, third, fifth = (turned[place] for place in TRIADS[mode])
            scores.append(float(1.1 * root + third + 0.9 * fifth + 0.6 * low[tonic] + 0.5 * begins[tonic]))
        shares = np.exp(8 * (np.array(scores) - max(scores)))
        rows.append(shares / shares.sum())
    return np.array(rows)


def chords_in_key(likeness: Curve, key: int) -> Curve:
    """Chord likeness, shape (bars, chords), once the key is known: chords of its scale are likelier by `IN_SCALE`."""
    tonic, mode = KEYS[key]
    scale = {(tonic + step) % 12 for step in SCALES[mode]} | ({(tonic + 11) % 12} if mode == "minor" else set())
    own = np.array([all((root + step) % 12 in scale for step in TRIADS[kind]) for root, kind in KEYS])
    weighed = likeness * np.where(own, IN_SCALE, 1.0)
    return np.asarray(weighed / weighed.sum(axis=1, keepdims=True))


def also_major(chords: Sequence[tuple[int, str]]) -> bool:
    """Whether these chords, one a bar, stand in a minor key and in its relative major alike."""
    root = chords[0][0]
    return len(chords) >= FEWEST_OPEN and all(
        ((tonic - root) % 12, mode) == OPEN[bar % len(OPEN)] for bar, (tonic, mode) in enumerate(chords)
    )


def chord_name(number: int) -> str:
    """Name one of the 24 triads, such as `F#m`."""
    tonic, mode = KEYS[number]
    return TONICS[tonic] + ("m" if mode == "minor" else "")
