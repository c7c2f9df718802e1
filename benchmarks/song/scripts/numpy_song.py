"""The song as one writes it with arrays at first: everything at once, in double precision, peaks clipped.

Stretcher and meter are packages. Usage: numpy_song.py SONG.json OUT.wav
"""

import json
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pyloudnorm
import soundfile

SONG = json.loads(Path(sys.argv[1]).read_text(encoding="utf-8"))
RATE, BAR = SONG["rate_hz"], SONG["bar_frames"]
METER = pyloudnorm.Meter(RATE)


def fitted(layer: dict[str, Any]) -> np.ndarray[Any, Any]:
    """One loop at the song's tempo and its role's level."""
    samples, _ = soundfile.read(f"{SONG['loops']}/{layer['loop']}.wav", dtype="float32", always_2d=True)
    length = round(SONG["loop_bars"] * BAR)
    if SONG["ratio"] != 1:
        import python_stretch  # noqa: PLC0415 - only where something is stretched

        stretch = python_stretch.Signalsmith.Stretch()
        stretch.preset(2, RATE)
        stretch.setTimeFactor(len(samples) / length)
        samples = stretch.process(np.ascontiguousarray(samples.T)).T[:length]
    return pyloudnorm.normalize.loudness(samples, METER.integrated_loudness(samples), layer["level_lufs"])


song = np.zeros((round(SONG["bars"] * BAR), 2))
for layer in SONG["layers"]:
    loop = fitted(layer)
    pan = np.array([np.cos((layer["pan"] + 1) * np.pi / 4), np.sin((layer["pan"] + 1) * np.pi / 4)]) * 2**0.5
    for play in layer["plays"]:
        start, end = round(play["start"] * BAR), round(play["end"] * BAR)
        part = np.tile(loop, (-(-(end - start) // len(loop)), 1))[: end - start] * pan
        if play["fade_in"]:
            frames = round(play["fade_in"] * BAR)
            part[:frames] *= np.linspace(0, 1, frames)[:, None]
        if play["fade_out"]:
            frames = round(play["fade_out"] * BAR)
            part[-frames:] *= np.linspace(1, 0, frames)[:, None]
        song[start:end] += part
song = pyloudnorm.normalize.loudness(song, METER.integrated_loudness(song), -16)
soundfile.write(sys.argv[2], np.clip(song, -0.891, 0.891), RATE, subtype="PCM_16")
