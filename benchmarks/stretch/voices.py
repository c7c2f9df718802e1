"""Voices moved to another key, beside the same voices there: `python -m benchmarks.stretch.voices`.

Sung: the tests' synthetic voice, whose mouth stays (`tests/signal/voice.py`). Spoken: `espeak-ng`, where it is
installed; how far apart its two pitches lie is measured from their periods. Mel distance to the truth in dB; smaller is
better.
"""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soundfile
import soxr
from numpy.typing import NDArray

from benchmarks.stretch.peers import Peer, rubberband
from mixer.signal.fit import fit_loop
from mixer.signal.mel import distance_db, mel_powers
from tests.signal.signals import RATE_HZ
from tests.signal.voice import sing

Samples = NDArray[np.float32]

SENTENCE = "The evening ferry is leaving the harbour, and we are singing on the water."
SPOKEN = ((20, 50), (50, 80), (40, 55))
LOWEST_HZ, HIGHEST_HZ = 70, 400


@dataclass(frozen=True)
class Pair:
    """A voice, and the same one so many semitones away."""

    name: str
    own: Samples
    truth: Samples
    semitones: float


def pairs() -> Iterator[Pair]:
    """Every voice at every distance."""
    for name, octaves, larger in (("sung low", 0, 1.0), ("sung high", 1, 1.15)):
        own = sing(octaves=octaves, larger=larger)
        for semitones in (-6, -3, 3, 6):
            yield Pair(name, own, sing(semitones, octaves=octaves, larger=larger), semitones)
    if shutil.which("espeak-ng"):
        for low, high in SPOKEN:
            one, other = (_speak(pitch) for pitch in (low, high))
            frames = min(len(one), len(other))
            apart = 12 * float(np.log2(_pitch_hz(other) / _pitch_hz(one)))
            yield Pair("spoken", one[:frames], other[:frames], apart)
            yield Pair("spoken", other[:frames], one[:frames], -apart)


def _speak(pitch: int) -> Samples:
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder, "said.wav")
        subprocess.run(["espeak-ng", "-s", "120", "-p", str(pitch), "-w", str(file), SENTENCE], check=True)
        samples, rate_hz = soundfile.read(file, dtype="float32")
    return np.repeat(soxr.resample(samples, rate_hz, RATE_HZ)[:, None], 2, axis=1)


def _pitch_hz(samples: Samples) -> float:
    """The middle pitch, by the autocorrelation of what is voiced."""
    found = []
    for start in range(0, len(samples) - 2048, 1024):
        piece = samples[start : start + 2048, 0] * np.hanning(2048)
        likeness = np.fft.irfft(np.abs(np.fft.rfft(piece, 4096)) ** 2)
        lag = RATE_HZ // HIGHEST_HZ + int(np.argmax(likeness[RATE_HZ // HIGHEST_HZ : RATE_HZ // LOWEST_HZ]))
        if np.mean(piece**2) > 1e-4 and likeness[lag] > 0.4 * likeness[0]:
            found.append(RATE_HZ / lag)
    return float(np.median(found))


def _ours(samples: Samples, rate_hz: int, length_frames: int, semitones: float) -> Samples:
    return fit_loop(samples, rate_hz, length_frames, semitones, keep_colour=True)


def main() -> None:
    methods: dict[str, Peer] = {"moved as an instrument": fit_loop, "moved as a voice": _ours}
    if shutil.which("rubberband"):
        methods |= {"rubberband R3": rubberband("-3"), "R3, formants kept": rubberband("-3", "-F")}
        methods["R2, formants kept"] = rubberband("-2", "-F")
    print(f"| voice | semitones | {' | '.join(methods)} |\n|---|---{'|---' * len(methods)}|")
    rows = []
    for pair in pairs():
        moved = [method(pair.own, RATE_HZ, len(pair.own), pair.semitones) for method in methods.values()]
        truth = mel_powers(pair.truth, RATE_HZ)
        rows.append([distance_db(truth, mel_powers(each, RATE_HZ)) for each in moved])
        print(f"| {pair.name} | {pair.semitones:+.1f} | {' | '.join(f'{each:.2f}' for each in rows[-1])} |", flush=True)
    print(f"| mean | | {' | '.join(f'{each:.2f}' for each in np.mean(rows, axis=0))} |")


if __name__ == "__main__":
    main()
