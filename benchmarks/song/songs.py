"""The songs that everyone makes: four loops of the ferry town, played at a tempo that is not theirs.

A song is described once (`Song`) and written down for us as a recipe and for the others as JSON (`scripts/` reads it,
and `peers` turns it into shell scripts), so that all make the same one. For some seconds at its start the drums are
alone: there it is judged whether hits stand where they belong.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from mixer.loops.library import demo_loops_folder
from mixer.signal.fit import fit_loop

RATE_HZ = 44_100
OWN_TEMPO_BPM = 96
TEMPO_BPM = 106
LOOP_BARS = 4
SECTION_BARS = 4
DRUMS_ALONE_BARS = 4
BEATS = 4


@dataclass(frozen=True)
class Play:
    """Where a layer is heard: bars of the song counted from 0, `end` not included; fades in bars."""

    start: int
    end: int
    fade_in: int = 0
    fade_out: int = 0


@dataclass(frozen=True)
class Layer:
    """A loop in the song; `level_lufs` is our usual level for its role, `pan` is -1 to 1."""

    name: str
    loop: str
    role: str
    level_lufs: float
    pan: float
    plays: tuple[Play, ...]


@dataclass(frozen=True)
class Song:
    """A song. `ratio` is by how much loops have to be sped up."""

    bars: int
    layers: tuple[Layer, ...]
    tempo_bpm: int = TEMPO_BPM
    own_tempo_bpm: int = OWN_TEMPO_BPM

    @property
    def ratio(self) -> float:
        return self.tempo_bpm / self.own_tempo_bpm

    @property
    def bar_frames(self) -> Fraction:
        return Fraction(BEATS * 60 * RATE_HZ, self.tempo_bpm)

    @property
    def seconds(self) -> float:
        return float(self.bars * self.bar_frames / RATE_HZ)

    def recipe(self) -> str:
        """The song in our language."""
        lines = [f"tempo: {self.tempo_bpm}", "layers:"]
        for layer in self.layers:
            lines += [f"  {layer.name}:", f"    loop: {layer.loop}"]
            if layer.pan:
                side = "left" if layer.pan < 0 else "right"
                lines.append(f"    pan: {side} {round(abs(layer.pan) * 100)}")
        lines.append("sections:")
        for start in range(0, self.bars, SECTION_BARS):
            lines += [f"  - name: part {start // SECTION_BARS + 1}", f"    bars: {SECTION_BARS}", "    play:"]
            entries = [line for layer in self.layers for line in _entries(layer, start)]
            lines += entries or ["      nothing"]
        return "\n".join(lines) + "\n"

    def written(self, folder: Path, loops: Path) -> Path:
        """Write the song as JSON, for the others; gives the file."""
        file = folder / "song.json"
        content = {**asdict(self), "bar_frames": float(self.bar_frames), "ratio": self.ratio, "loops": str(loops)}
        file.write_text(json.dumps({**content, "loop_bars": LOOP_BARS, "rate_hz": RATE_HZ}), encoding="utf-8")
        return file


def _entries(layer: Layer, start: int) -> list[str]:
    end = start + SECTION_BARS
    for play in layer.plays:
        low, high = max(play.start, start), min(play.end, end)
        if low < high:
            lines = [f"      {layer.name}:"]
            if (low, high) != (start, end):
                lines.append(f"        in bars: {low - start + 1}-{high - start}")
            if play.fade_in and low == play.start:
                lines.append(f"        fade in: {play.fade_in} bars")
            if play.fade_out and high == play.end:
                lines.append(f"        fade out: {play.fade_out} bars")
            return lines
    return []


def usual(bars: int = 40) -> Song:
    """Four layers that come and go: 40 bars are 90 seconds."""
    last = bars - 4
    return Song(
        bars,
        (
            Layer("drums", "tin-roof", "drums", -18, 0.0, (Play(0, last),)),
            Layer("piano", "paper-lantern", "harmony", -21, -0.1, (Play(DRUMS_ALONE_BARS, bars, 2, 4),)),
            Layer("bass", "slow-tide", "bass", -20, 0.0, (Play(12, bars, 0, 4),)),
            Layer("gulls", "gull-song", "melody", -19, 0.2, (Play(12, bars - 16), Play(bars - 8, bars, 0, 2))),
        ),
    )


def big(bars: int = 264, layers: int = 32, distinct: int = 32) -> Song:
    """Many layers that all differ: 264 bars are 10 minutes. They play the usual four loops begun at other beats."""
    models = usual().layers
    found = []
    for number in range(layers):
        model = models[number % len(models)]
        loop = model.loop if number % distinct < len(models) else f"{model.loop}-{number % distinct}"
        start = DRUMS_ALONE_BARS * (number % 9) if number else 0
        pan = ((number * 7) % 11 - 5) / 10
        end = max(start + SECTION_BARS, bars - SECTION_BARS * (number % 5))
        found.append(replace(model, name=f"layer {number + 1}", loop=loop, pan=pan, plays=(Play(start, end),)))
    return Song(bars, tuple(found))


def class_of(count: int) -> list[Song]:
    """Songs as a class makes them: the teacher's loops, three tempos, everyone's own order of coming and going."""
    songs = []
    for number in range(count):
        song = replace(usual(), tempo_bpm=(104, 106, 108)[number % 3])
        layers = list(song.layers)
        for at, layer in enumerate(layers[2:], start=2):
            enters = SECTION_BARS * (1 + (number * (at + 1)) % 6)
            layers[at] = replace(layer, plays=(Play(enters, song.bars - SECTION_BARS * (number % 4)),))
        songs.append(replace(song, layers=tuple(layers)))
    return songs


def write_loops(folder: Path, song: Song, *, stretched: bool = False) -> tuple[Path, Song]:
    """Write a song's loops as 16-bit WAV with their catalog; gives the folder, and the song that uses them.

    `stretched` brings them to the song's tempo beforehand, so that nobody has to.
    """
    folder.mkdir(parents=True, exist_ok=True)
    if stretched:
        song = replace(song, own_tempo_bpm=song.tempo_bpm)
    cards = []
    for name, role in sorted({(layer.loop, layer.role) for layer in song.layers}):
        samples = _loop(name)
        if stretched:
            samples = fit_loop(samples, RATE_HZ, round(LOOP_BARS * song.bar_frames))
        soundfile.write(folder / f"{name}.wav", samples, RATE_HZ, subtype="PCM_16")
        cards.append(
            f"{name}:\n  file: {name}.wav\n  tempo: {song.own_tempo_bpm}\n  bars: {LOOP_BARS}\n"
            f"  time: {BEATS}/4\n  key: none\n  role: {role}\n"
        )
    (folder / "loops.yaml").write_text("".join(cards), encoding="utf-8")
    return folder, song


def _loop(name: str) -> NDArray[np.float32]:
    """A demo loop; a number at its end says how many beats later it begins."""
    model, _, beats = name.rpartition("-")
    if not beats.isdigit():
        model, beats = name, "0"
    samples, rate_hz = soundfile.read(demo_loops_folder() / f"{model}.flac", dtype="float32", always_2d=True)
    assert rate_hz == RATE_HZ
    stereo = np.repeat(samples, 2, axis=1) if samples.shape[1] == 1 else samples
    rolled: NDArray[np.float32] = np.roll(stereo, -round(int(beats) / 2 * 60 / OWN_TEMPO_BPM * RATE_HZ), axis=0)
    return rolled
