"""Other stretchers, each given the loop three times over, so that its ends are not judged: the middle is kept.

A peer that is not installed is left out. `python-stretch` is a package, the others are commands.
"""

from __future__ import annotations

import importlib.util
import shutil
import subprocess
import tempfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

Samples = NDArray[np.float32]
Peer = Callable[[Samples, int, int, float], Samples]


def peers() -> dict[str, Peer]:
    """Name and function (samples, rate_hz, length_frames, semitones) of every peer found here."""
    found: dict[str, Peer] = {}
    if importlib.util.find_spec("python_stretch"):
        found["python-stretch"] = _python_stretch
    if shutil.which("rubberband"):
        found["rubberband R2"] = rubberband("-2")
        found["rubberband R3"] = rubberband("-3")
    if shutil.which("sox"):
        found["sox tempo -m"] = _command(_sox)
    if shutil.which("ffmpeg"):
        found["ffmpeg atempo"] = _command(_ffmpeg)
    return found


def _python_stretch(samples: Samples, rate_hz: int, length_frames: int, semitones: float) -> Samples:
    import python_stretch  # type: ignore[import-not-found]  # noqa: PLC0415  # only where it is installed

    stretch = python_stretch.Signalsmith.Stretch()
    stretch.preset(2, rate_hz)
    stretch.timeFactor = len(samples) / length_frames
    stretch.setTransposeSemitones(semitones)
    thrice = np.ascontiguousarray(np.tile(samples, (3, 1)).T)
    return _middle(np.ascontiguousarray(stretch.process(thrice).T), length_frames)


def _command(run: Callable[[Path, Path, float, float], list[str] | None]) -> Peer:
    def peer(samples: Samples, rate_hz: int, length_frames: int, semitones: float) -> Samples:
        with tempfile.TemporaryDirectory() as folder:
            before, after = Path(folder, "in.wav"), Path(folder, "out.wav")
            soundfile.write(before, np.tile(samples, (3, 1)) * 0.5, rate_hz, subtype="FLOAT")
            command = run(before, after, length_frames / len(samples), semitones)
            if command is None:
                return np.zeros((0, 2), np.float32)
            subprocess.run(command, check=True, capture_output=True)
            return _middle(soundfile.read(after, dtype="float32", always_2d=True)[0] * 2, length_frames)

    return peer


def rubberband(*options: str) -> Peer:
    """The `rubberband` command with its own options."""

    def command(before: Path, after: Path, ratio: float, semitones: float) -> list[str]:
        return ["rubberband", *options, "-q", "-t", f"{ratio:.9f}", "-p", f"{semitones}", str(before), str(after)]

    return _command(command)


def _sox(before: Path, after: Path, ratio: float, semitones: float) -> list[str]:
    pitch = ["pitch", f"{semitones * 100}"] if semitones else []
    return ["sox", str(before), "-e", "float", "-b", "32", str(after), "tempo", "-m", f"{1 / ratio:.9f}", *pitch]


def _ffmpeg(before: Path, after: Path, ratio: float, semitones: float) -> list[str] | None:
    if semitones:
        return None
    tempo = f"atempo={1 / ratio:.9f}"
    return ["ffmpeg", "-v", "error", "-i", str(before), "-af", tempo, "-c:a", "pcm_f32le", str(after)]


def _middle(samples: Samples, length_frames: int) -> Samples:
    """The second of three rounds; what a peer leaves short at its end is silence."""
    missing = max(0, 2 * length_frames - len(samples))
    return np.pad(samples, ((0, missing), (0, 0)))[length_frames : 2 * length_frames]
