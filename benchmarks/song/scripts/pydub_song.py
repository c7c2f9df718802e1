"""The song as pydub's users make it: segments laid over one another, ffmpeg's atempo for the tempo, peaks normalised.

Usage: pydub_song.py SONG.json OUT.wav
"""

import json
import subprocess
import sys
import tempfile
import warnings
from pathlib import Path
from typing import Any

warnings.simplefilter("ignore")
from pydub import AudioSegment, effects  # noqa: E402 - its warnings are about things not used here

SONG = json.loads(Path(sys.argv[1]).read_text(encoding="utf-8"))
BAR_MS = SONG["bar_frames"] / SONG["rate_hz"] * 1000


def fitted(layer: dict[str, Any]) -> AudioSegment:
    """One loop at the song's tempo, as loud as its role by its mean power."""
    file = f"{SONG['loops']}/{layer['loop']}.wav"
    if SONG["ratio"] != 1:
        with tempfile.NamedTemporaryFile(suffix=".wav") as made:
            tempo = f"atempo={SONG['ratio']:.9f}"
            subprocess.run(["ffmpeg", "-v", "error", "-nostdin", "-y", "-i", file, "-af", tempo, made.name], check=True)
            segment = AudioSegment.from_wav(made.name)
    else:
        segment = AudioSegment.from_wav(file)
    segment = segment.apply_gain(layer["level_lufs"] - segment.dBFS).pan(layer["pan"])
    length = SONG["loop_bars"] * BAR_MS
    if len(segment) < length:
        segment += AudioSegment.silent(length - len(segment), frame_rate=SONG["rate_hz"])
    return segment[:length]


song = AudioSegment.silent(SONG["bars"] * BAR_MS, frame_rate=SONG["rate_hz"]).set_channels(2)
for layer in SONG["layers"]:
    loop = fitted(layer)
    for play in layer["plays"]:
        length = (play["end"] - play["start"]) * BAR_MS
        part = (loop * int(-(-length // len(loop))))[:length]
        if play["fade_in"]:
            part = part.fade_in(int(play["fade_in"] * BAR_MS))
        if play["fade_out"]:
            part = part.fade_out(int(play["fade_out"] * BAR_MS))
        song = song.overlay(part, position=int(play["start"] * BAR_MS))
effects.normalize(song, headroom=1.0).export(sys.argv[2], format="wav")
