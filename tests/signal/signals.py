"""Loops that can be played at any tempo, pure tones, clicks and noise: the known answers for tests of sound.

A loop "played" at another tempo has the same notes at other times, each decaying as it always does. That is
the truth which a stretched loop is held against. Everything is float32, shape (frames, 2), made from fixed
numbers.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.float32]

RATE_HZ = 44100


@dataclass(frozen=True)
class Played:
    """A loop as it was played: its sound, and the exact place of every note in frames (not rounded)."""

    samples: Samples
    onsets_frames: NDArray[np.float64]
    rate_hz: int


# Beat, strength. Two bars of 4/4 with ghost notes on the snare and a roll at the end.
KICKS = [(0.0, 1.0), (1.5, 0.7), (2.5, 0.9), (4.0, 1.0), (5.5, 0.7), (6.25, 0.5)]
SNARES = [
    (1.0, 1.0),
    (1.75, 0.08),
    (3.0, 1.0),
    (3.75, 0.1),
    (5.0, 1.0),
    (7.0, 0.5),
    (7.25, 0.6),
    (7.5, 0.8),
    (7.75, 1.0),
]
HATS = [(beat / 2, 0.8 if beat % 2 == 0 else 0.5) for beat in range(16)]
PLUCKS = [
    (0.0, 45),
    (0.75, 57),
    (1.5, 52),
    (2.0, 48),
    (3.0, 55),
    (4.0, 41),
    (4.5, 53),
    (5.5, 48),
    (6.0, 43),
    (7.0, 47),
]
CHORDS = [(0.0, (57, 60, 64)), (2.0, (53, 57, 60)), (4.0, (55, 60, 64)), (6.0, (55, 59, 62))]


def midi_hz(note: float) -> float:
    """ISO 16: A4 (note 69) is 440 Hz; a semitone is the twelfth root of 2."""
    return float(440.0 * 2 ** ((note - 69) / 12))


def stereo(mono: NDArray[np.float64]) -> Samples:
    """Both channels the same."""
    return np.repeat(mono.astype(np.float32)[:, None], 2, axis=1)


def tone(freq_hz: float, frames: int, rate_hz: int = RATE_HZ, amplitude: float = 0.3) -> Samples:
    """A steady sine, made circular by taking the nearest whole number of cycles."""
    cycles = round(freq_hz * frames / rate_hz)
    return stereo(amplitude * np.sin(2 * np.pi * cycles * np.arange(frames) / frames))


def tone_hz(freq_hz: float, frames: int, rate_hz: int = RATE_HZ) -> float:
    """The frequency that `tone` really has."""
    return round(freq_hz * frames / rate_hz) * rate_hz / frames


def noise(frames: int, seed: int = 1, amplitude: float = 0.1) -> Samples:
    """White noise, different in both channels."""
    return (amplitude * np.random.default_rng(seed).standard_normal((frames, 2))).astype(np.float32)


def _add(loop: NDArray[np.float64], at_frames: float, sound: NDArray[np.float64]) -> None:
    """Put a note into the loop at the nearest frame, its tail wrapped round the join."""
    start = round(at_frames)
    np.add.at(loop, (start + np.arange(len(sound))) % len(loop), sound)


def _seconds(seconds: float, rate_hz: int) -> NDArray[np.float64]:
    return np.arange(round(seconds * rate_hz)) / rate_hz


def kick(rate_hz: int) -> NDArray[np.float64]:
    t = _seconds(0.4, rate_hz)
    body = np.sin(2 * np.pi * (50 * t + 5 * (1 - np.exp(-t * 30)))) * np.exp(-t * 14)
    click = np.random.default_rng(5).standard_normal(len(t)) * np.exp(-t * 500) * 0.2
    return 0.8 * body + click


def snare(rate_hz: int) -> NDArray[np.float64]:
    t = _seconds(0.3, rate_hz)
    wires = np.random.default_rng(6).standard_normal(len(t)) * np.exp(-t * 22) * 0.25
    return wires + 0.4 * np.sin(2 * np.pi * 190 * t) * np.exp(-t * 28)


def hat(rate_hz: int) -> NDArray[np.float64]:
    t = _seconds(0.12, rate_hz)
    hiss = np.random.default_rng(7).standard_normal(len(t) + 1)
    return 0.08 * np.diff(hiss) * np.exp(-t * 60)


def pluck(note: float, rate_hz: int, seconds: float = 1.2) -> NDArray[np.float64]:
    """Ten harmonics, the higher ones gone sooner."""
    t = _seconds(seconds, rate_hz)
    start = 1 - np.exp(-t * 2000)
    partials = [np.sin(2 * np.pi * midi_hz(note) * h * t + h) * np.exp(-t * (3 + 1.5 * h)) / h for h in range(1, 11)]
    return 0.25 * start * np.sum(partials, axis=0)


def slow_speaking(soft_db: float, rate_hz: int = RATE_HZ) -> NDArray[np.float64]:
    """A low string of 0.4 s; for 35 ms before it the finger is heard on it, 20 dB louder at last (so many dB below)."""
    t = _seconds(0.4, rate_hz)
    finger = np.random.default_rng(8).standard_normal(round(0.035 * rate_hz))
    finger *= 10 ** ((soft_db - np.linspace(20, 0, len(finger))) / 20)
    string = sum(np.sin(2 * np.pi * 55 * h * t) / h for h in range(1, 9)) * np.clip((0.4 - t) / 0.03, 0, 1)
    return 0.1 * np.concatenate([finger, string * (1 - np.exp(-t * 300))])


def swelling(rate_hz: int = RATE_HZ) -> NDArray[np.float64]:
    """A blown or bowed note of 0.6 s that has no attack: it swells for a quarter of a second."""
    t = _seconds(0.6, rate_hz)
    partials = [np.sin(2 * np.pi * 330 * h * t) / h**2 for h in range(1, 6)]
    return 0.2 * np.square(np.minimum(1, t / 0.25)) * np.clip((0.6 - t) / 0.05, 0, 1) * np.sum(partials, axis=0)


def held(note: float, seconds: float, rate_hz: int) -> NDArray[np.float64]:
    """A string-like note: 40 ms to come, 80 ms to go, six harmonics."""
    t = _seconds(seconds + 0.08, rate_hz)
    shape = np.minimum(1, np.minimum(t / 0.04, (t[-1] - t) / 0.08))
    partials = [np.sin(2 * np.pi * midi_hz(note) * h * t + h * h) / h**1.3 for h in range(1, 7)]
    return 0.12 * shape * np.sum(partials, axis=0)


def _empty(tempo_bpm: float, rate_hz: int, beats: int) -> tuple[NDArray[np.float64], float]:
    beat_frames = rate_hz * 60 / tempo_bpm
    return np.zeros(round(beats * beat_frames)), beat_frames


def play_drums(tempo_bpm: float, rate_hz: int = RATE_HZ) -> Played:
    """Two bars of kick, snare with ghost notes and a roll, hats in eighths."""
    loop, beat_frames = _empty(tempo_bpm, rate_hz, 8)
    for hits, sound in ((KICKS, kick(rate_hz)), (SNARES, snare(rate_hz)), (HATS, hat(rate_hz))):
        for beat, strength in hits:
            _add(loop, beat * beat_frames, strength * sound)
    beats = sorted({beat for beat, _ in KICKS + SNARES + HATS})
    return Played(stereo(0.7 * loop), np.array(beats) * beat_frames, rate_hz)


def play_plucks(tempo_bpm: float, rate_hz: int = RATE_HZ, semitones: float = 0.0) -> Played:
    """Plucked notes, each cut with a short release when the next one comes."""
    loop, beat_frames = _empty(tempo_bpm, rate_hz, 8)
    beats = [beat for beat, _ in PLUCKS]
    for (beat, note), after in zip(PLUCKS, [*beats[1:], 8.0], strict=True):
        sound = pluck(note + semitones, rate_hz, (after - beat) * 60 / tempo_bpm + 0.03)
        release = round(0.03 * rate_hz)
        sound[-release:] *= np.linspace(1, 0, release)
        _add(loop, beat * beat_frames, sound)
    return Played(stereo(loop), np.array(beats) * beat_frames, rate_hz)


def play_chords(tempo_bpm: float, rate_hz: int = RATE_HZ, semitones: float = 0.0) -> Played:
    """Four held chords, half a bar each."""
    loop, beat_frames = _empty(tempo_bpm, rate_hz, 8)
    for beat, notes in CHORDS:
        for note in notes:
            _add(loop, beat * beat_frames, held(note + semitones, 2 * 60 / tempo_bpm, rate_hz))
    return Played(stereo(loop), np.array([beat for beat, _ in CHORDS]) * beat_frames, rate_hz)


def play_both(tempo_bpm: float, rate_hz: int = RATE_HZ) -> Played:
    """Drums and chords in one loop."""
    drums, chords = play_drums(tempo_bpm, rate_hz), play_chords(tempo_bpm, rate_hz)
    return Played(drums.samples + chords.samples, drums.onsets_frames, rate_hz)
