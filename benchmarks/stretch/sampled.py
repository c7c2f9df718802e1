"""Loops played by sampled instruments at any tempo and key, through libfluidsynth and a General MIDI soundfont.

For measuring only; nothing of it is shipped. The library is driven directly, block by block, because its own MIDI
player places notes only to a millisecond or two. It starts notes on blocks of 64 frames, so a twelfth of a beat is
made a whole number of blocks and every note begins exactly where arithmetic puts it.
"""

from __future__ import annotations

import ctypes
import ctypes.util
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.float32]

RATE_HZ = 44100
BLOCK_FRAMES = 64
TICKS_PER_BEAT = 12
# A twelfth of a beat at a loop's own tempo: 32 blocks, 107.7 beats a minute.
BLOCKS_PER_TICK = 32
BEATS = 8
DRUMS = 9
SOUNDFONT = Path("/usr/share/sounds/sf2/FluidR3_GM.sf2")


@dataclass(frozen=True)
class Note:
    """A note of a part: tick, MIDI key and velocity, length in ticks."""

    tick: int
    key: int
    velocity: int
    ticks: int


@dataclass(frozen=True)
class Part:
    """Notes for one General MIDI program (its number from 0; for drums the channel decides)."""

    program: int
    notes: tuple[Note, ...]
    drums: bool = False
    gain: float = 1.0


def available() -> bool:
    """Whether the library and the soundfont are here."""
    return ctypes.util.find_library("fluidsynth") is not None and SOUNDFONT.exists()


def blocks_for(ratio: float) -> int:
    """Blocks a tick lasts at the nearest ratio that can be played."""
    return round(BLOCKS_PER_TICK * ratio)


@lru_cache(maxsize=64)
def play(parts: tuple[Part, ...], blocks_per_tick: int, semitones: int, *, room: bool) -> Samples:
    """The middle of three rounds of the loop, so that tails go round the join."""
    frames = BEATS * TICKS_PER_BEAT * blocks_per_tick * BLOCK_FRAMES
    total = np.zeros((frames, 2), np.float32)
    for part in parts:
        total += (
            part.gain * _rounds(part, blocks_per_tick, 0 if part.drums else semitones, room=room)[frames : 2 * frames]
        )
    return total


def onset_ticks(parts: tuple[Part, ...]) -> list[int]:
    """Where notes begin."""
    return sorted({note.tick for part in parts for note in part.notes})


def _rounds(part: Part, blocks_per_tick: int, semitones: int, *, room: bool) -> Samples:
    library, synth, free = _synth(room=room)
    channel = DRUMS if part.drums else 0
    library.fluid_synth_program_change(synth, channel, part.program)
    total_ticks = BEATS * TICKS_PER_BEAT
    events: dict[int, list[Callable[[], object]]] = {}
    for turn in range(3):
        for note in part.notes:
            key, start = note.key + semitones, turn * total_ticks + note.tick
            events.setdefault(start + note.ticks, []).insert(0, _call(library.fluid_synth_noteoff, synth, channel, key))
            events.setdefault(start, []).append(_call(library.fluid_synth_noteon, synth, channel, key, note.velocity))
    out = np.zeros((3 * total_ticks, blocks_per_tick * BLOCK_FRAMES, 2), np.float32)
    for tick in range(3 * total_ticks):
        for event in events.get(tick, []):
            event()
        _write(library, synth, out[tick])
    free()
    return out.reshape(-1, 2)


def _call(function: Callable[..., object], *arguments: object) -> Callable[[], object]:
    return lambda: function(*arguments)


def _write(library: ctypes.CDLL, synth: ctypes.c_void_p, out: Samples) -> None:
    buffer = out.ctypes.data_as(ctypes.c_void_p)
    library.fluid_synth_write_float(synth, len(out), buffer, 0, 2, buffer, 1, 2)


def _synth(*, room: bool) -> tuple[ctypes.CDLL, ctypes.c_void_p, Callable[[], None]]:
    library = ctypes.CDLL(ctypes.util.find_library("fluidsynth"))
    for name in ("new_fluid_settings", "new_fluid_synth"):
        getattr(library, name).restype = ctypes.c_void_p
    settings = ctypes.c_void_p(library.new_fluid_settings())
    library.fluid_settings_setnum(settings, b"synth.sample-rate", ctypes.c_double(RATE_HZ))
    library.fluid_settings_setnum(settings, b"synth.gain", ctypes.c_double(0.5))
    library.fluid_settings_setint(settings, b"synth.reverb.active", int(room))
    library.fluid_settings_setint(settings, b"synth.chorus.active", 0)
    synth = ctypes.c_void_p(library.new_fluid_synth(settings))
    library.fluid_synth_sfload(synth, str(SOUNDFONT).encode(), 1)

    def free() -> None:
        library.delete_fluid_synth(synth)
        library.delete_fluid_settings(settings)

    return library, synth, free
