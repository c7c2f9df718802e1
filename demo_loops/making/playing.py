"""From a written loop to sound: every note is played into a circle of the loop's length.

`play` can play any loop at any tempo, in any key and at any rate. Starts of notes move, their attacks, decays and
random parts stay as they are, since those belong to the hit and not to the tempo. So it is the truth by which a
stretched loop can be judged.
"""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from demo_loops.making.loop import DRY, PEAK_DBFS, Loop, Stroke, Voice, frames_at
from demo_loops.making.ring import RATE_HZ, Sound, stereo
from demo_loops.making.room import resounding
from demo_loops.making.score import Note, hz_of, random_of
from demo_loops.making.scores import LOOPS
from demo_loops.making.tone import equalised, warmed


def sound_of(loop: Loop, tempo_bpm: Fraction, semitones: int) -> Sound:
    """The loop at 44.1 kHz before its level is set, shape (frames, 2)."""
    frames = frames_at(loop.beats, tempo_bpm, RATE_HZ)
    dry, sent = np.zeros((frames, 2)), np.zeros((frames, 2))
    for place, (voice, played) in enumerate(loop.played()):
        heard = _voice(loop, place, voice, played, tempo_bpm, semitones, frames)
        dry += heard
        if voice.room_db > DRY:
            sent += heard * 10 ** (voice.room_db / 20)
    answer = resounding(sent, loop.room) if sent.any() else 0.0
    warm = warmed(dry + answer, loop.drive)
    return equalised(warm, loop.colour, loop.low_cut_hz)


def _voice(
    loop: Loop, place: int, voice: Voice, played: list[Note], tempo_bpm: Fraction, semitones: int, frames: int
) -> Sound:
    out = np.zeros((frames, 2))
    for number, note in enumerate(played):
        hz = hz_of(note.pitch + semitones) if note.pitch is not None else 0.0
        held_s = float(note.beats * 60 / tempo_bpm)
        random = random_of(loop.name, place, number)
        sound = stereo(voice.instrument(Stroke(note, held_s, hz, random)), voice.pan)
        _add_round(out, sound, frames_at(note.beat, tempo_bpm, RATE_HZ))
    return out * 10 ** (voice.level_db / 20)


def _add_round(circle: Sound, sound: Sound, start: int) -> None:
    frames, done = len(circle), 0
    while done < len(sound):
        at = (start + done) % frames
        piece = sound[done : done + frames - at]
        circle[at : at + len(piece)] += piece
        done += len(piece)


@lru_cache(maxsize=64)
def gain_of(loop_name: str) -> float:
    """Gain that takes the peak of the loop, as it was written, to its level; the same at every tempo and key."""
    loop = _named(loop_name)
    peak = np.abs(sound_of(loop, Fraction(loop.tempo_bpm), 0)).max()
    return float(10 ** (PEAK_DBFS / 20) / peak)


def play(
    name: str, tempo_bpm: float | None = None, semitones: int = 0, rate_hz: int = RATE_HZ
) -> npt.NDArray[np.float32]:
    """Play a loop from its notes.

    Parameters
    ----------
    name : str, a loop of the catalog
    tempo_bpm : float > 0, quarter notes per minute; the loop's own if left out
    semitones : int, moves everything that has a pitch; drums, percussion and noises stay
    rate_hz : int > 0; other rates than 44100 are resampled round the circle from 44100

    Returns
    -------
    float32 array, shape (frames, 2), full scale 1.0; frames = round(beats * 60 / tempo_bpm * rate_hz)

    Raises
    ------
    KeyError : no loop of this name
    """
    loop = _named(name)
    tempo = Fraction(loop.tempo_bpm) if tempo_bpm is None else Fraction(str(tempo_bpm))
    sound = sound_of(loop, tempo, semitones) * gain_of(name)
    if rate_hz != RATE_HZ:
        sound = _resampled(sound, frames_at(loop.beats, tempo, rate_hz))
    return sound.astype(np.float32)


def notes(name: str) -> list[tuple[Fraction, str]]:
    """Onsets of a loop in order: (beat from the loop's start as an exact fraction, kind of sound)."""
    return sorted((note.beat, note.kind) for _, played in _named(name).played() for note in played)


def _resampled(sound: Sound, frames: int) -> Sound:
    spectrum = np.fft.rfft(sound, axis=0)
    return np.fft.irfft(spectrum, frames, axis=0) * (frames / len(sound))


def _named(name: str) -> Loop:
    return LOOPS[name]
