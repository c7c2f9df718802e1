"""Stretches odd loops by the thousand and looks whether one breaks, comes out too loud, or holds what is no number.

    python -m benchmarks.robustness.loops [--seed 1] [--count 1500]

Loops of one frame and of seconds, at any rate, of hits, tones, noise, steps, clicks and silence, in equal, opposite and
single channels, clipped or all but silent; made longer, shorter, lower and higher. A warning of numpy counts as broken.
"""

from __future__ import annotations

import argparse
import sys
import warnings

import numpy as np
from numpy.typing import NDArray

from mixer.signal.fit import fit_loop

Samples = NDArray[np.float32]
RATES_HZ = (8000, 11025, 16000, 22050, 44100, 48000, 96000)
SHORT_FRAMES = (1, 2, 63, 64, 65, 200, 1000, 3000)
MOST_SOUNDS = 12
# Tones turned to other phases can stand higher than they did; this is far more than any do.
MOST_TIMES = 6.0


def main() -> None:
    parser = argparse.ArgumentParser(description="Stretch odd loops by the thousand.")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--count", type=int, default=1500)
    asked = parser.parse_args()
    warnings.simplefilter("error")
    random = np.random.default_rng(asked.seed)
    broken = 0
    for number in range(asked.count):
        rate_hz = int(random.choice(RATES_HZ))
        loop = _odd(random, rate_hz)
        length_frames = max(1, int(len(loop) * random.uniform(0.3, 3)))
        semitones = float(random.choice([0, 0, 0, -6, 3.3, 12]))
        wrong = _wrong(loop, rate_hz, length_frames, semitones)
        if wrong:
            broken += 1
            print(f"{number}: {len(loop)} frames at {rate_hz} Hz to {length_frames}, {semitones} semitones: {wrong}")
    print(f"{broken} of {asked.count} broken")
    sys.exit(broken > 0)


def _wrong(loop: Samples, rate_hz: int, length_frames: int, semitones: float) -> str:
    try:
        fitted = fit_loop(loop, rate_hz, length_frames, semitones)
    except Exception as error:  # noqa: BLE001  # whatever it is, it is what is looked for
        return f"{type(error).__name__}: {error}"
    if fitted.shape != (length_frames, 2):
        return f"its shape is {fitted.shape}"
    if not np.isfinite(fitted).all():
        return "it holds what is no number"
    loudest, wanted = float(np.abs(fitted).max()), float(np.abs(loop).max())
    return f"{loudest:.3g} loud, was {wanted:.3g}" if loudest > MOST_TIMES * wanted else ""


def _odd(random: np.random.Generator, rate_hz: int) -> Samples:
    frames = int(random.choice([*SHORT_FRAMES, round(rate_hz * random.uniform(0.05, 3))]))
    loop = np.zeros((frames, 2))
    for _ in range(int(random.integers(0, MOST_SOUNDS))):
        start = int(random.integers(0, frames))
        sound = 10 ** random.uniform(-5, 0) * _sound(random, frames - start, rate_hz)
        loop[start:, 0] += sound
        loop[start:, 1] += random.choice([1, -1, 0, 0.5]) * sound
    loop *= random.choice([1, 1, 1, 8, 1e-6])
    return np.clip(loop, -1, 1).astype(np.float32)


def _sound(random: np.random.Generator, frames: int, rate_hz: int) -> NDArray[np.float64]:
    t = np.arange(frames) / rate_hz
    falls, hz = random.uniform(0.5, 200, 8), random.uniform(20, 0.49 * rate_hz, 8)
    tones = np.sin(2 * np.pi * np.outer(hz, t))
    sounds = (
        np.exp(-falls[0] * t) * tones[0],
        np.exp(-falls[0] * t) * random.standard_normal(frames),
        np.full(frames, random.uniform(-1, 1)),
        (random.random(frames) < 0.001).astype(np.float64),
        np.minimum(random.uniform(1, 50) * t, 1) * tones.mean(axis=0),
        np.sign(np.sin(2 * np.pi * random.uniform(30, 200) * t)) * np.exp(-falls[1] / 10 * t),
        (np.exp(-np.outer(falls / 5, t)) * tones).mean(axis=0),
        (t == 0).astype(np.float64),
    )
    return sounds[int(random.integers(len(sounds)))]


if __name__ == "__main__":
    main()
