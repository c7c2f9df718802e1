"""Plays notes on sampled instruments (libfluidsynth and a General MIDI soundfont), at any tempo. For measuring only."""

from __future__ import annotations

import ctypes
import ctypes.util
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from benchmarks.stretch.sampled import SOUNDFONT

Samples = NDArray[np.float32]

RATE_HZ = 44100
BLOCK_FRAMES = 64  # the library starts notes on blocks of this size: 1.5 ms late at most
DRUM_CHANNEL = 9


@dataclass(frozen=True)
class Note:
    """A note: its beat from the first downbeat (an upbeat is negative), MIDI key, velocity, length in beats."""

    beat: Fraction
    key: int
    velocity: int
    beats: Fraction = Fraction(1, 2)


@dataclass(frozen=True)
class Part:
    """Notes for one General MIDI program (its number from 0; for drums a kit); `pan` 0 to 127."""

    program: int
    notes: tuple[Note, ...]
    drums: bool = False
    volume: int = 100
    pan: int = 64


@lru_cache(maxsize=1)
def _synth() -> tuple[ctypes.CDLL, ctypes.c_void_p]:
    library = ctypes.CDLL(ctypes.util.find_library("fluidsynth"))
    for name in ("new_fluid_settings", "new_fluid_synth"):
        getattr(library, name).restype = ctypes.c_void_p
    settings = ctypes.c_void_p(library.new_fluid_settings())
    library.fluid_settings_setnum(settings, b"synth.sample-rate", ctypes.c_double(RATE_HZ))
    library.fluid_settings_setnum(settings, b"synth.gain", ctypes.c_double(0.4))
    library.fluid_settings_setint(settings, b"synth.chorus.active", 0)
    synth = ctypes.c_void_p(library.new_fluid_synth(settings))
    library.fluid_synth_sfload(synth, str(SOUNDFONT).encode(), 1)
    return library, synth


def play(parts: list[Part], beat_seconds: float, from_beat: float, beats: float, *, wet: bool) -> Samples:
    """Play a stretch of time, in beats from the first downbeat; notes outside it are not played."""
    library, synth = _synth()
    library.fluid_synth_system_reset(synth)
    library.fluid_synth_set_reverb_on(synth, int(wet))
    events: list[tuple[int, int, int, int, int]] = []
    for place, part in enumerate(parts):
        channel = DRUM_CHANNEL if part.drums else place + (place >= DRUM_CHANNEL)
        library.fluid_synth_program_change(synth, channel, part.program)
        library.fluid_synth_cc(synth, channel, 7, part.volume)
        library.fluid_synth_cc(synth, channel, 10, part.pan)
        for note in part.notes:
            start = (float(note.beat) - from_beat) * beat_seconds * RATE_HZ
            end = start + float(note.beats) * beat_seconds * RATE_HZ
            blocks = round(start / BLOCK_FRAMES), round(end / BLOCK_FRAMES)
            if start >= -BLOCK_FRAMES:
                events.append((max(0, blocks[0]), 1, channel, note.key, note.velocity))
                events.append((max(1, blocks[1]), 0, channel, note.key, 0))
    total = round(beats * beat_seconds * RATE_HZ)
    out = np.zeros((-(-total // BLOCK_FRAMES) * BLOCK_FRAMES, 2), np.float32)
    at = 0
    for when, on, channel, key, velocity in [*sorted(events), (len(out) // BLOCK_FRAMES, 0, 0, 0, 0)]:
        block = min(when, len(out) // BLOCK_FRAMES)
        if block > at:
            piece = out[at * BLOCK_FRAMES : block * BLOCK_FRAMES]
            buffer = piece.ctypes.data_as(ctypes.c_void_p)
            library.fluid_synth_write_float(synth, len(piece), buffer, 0, 2, buffer, 1, 2)
            at = block
        if on:
            library.fluid_synth_noteon(synth, channel, key, velocity)
        else:
            library.fluid_synth_noteoff(synth, channel, key)
    return out[:total]
