"""How fast loops are stretched, beside python-stretch where it is installed: `python -m benchmarks.stretch.speed`.

Processor time on one core, the best of some rounds in which both take turns, so that whatever else the machine does
falls on both alike. Each gets the loop once. Told as how many seconds of loop are stretched in a second.
"""

from __future__ import annotations

import argparse
import importlib.util
import os
import time
from collections.abc import Callable
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the program itself does, before numpy is loaded

import numpy as np
from numpy.typing import NDArray

from benchmarks.stretch import truth
from benchmarks.stretch.results import played
from mixer.signal.fit import fit_loop

RATIO = 1.15
ROUNDS = 15


def main() -> None:
    parser = argparse.ArgumentParser(description="How fast loops are stretched, beside python-stretch.")
    parser.add_argument("loops", nargs="*", help="these loops only")
    parser.add_argument("--aside", action="store_true", help="the third that is set aside, and only that")
    parser.add_argument("--ratio", type=float, default=RATIO)
    parser.add_argument("--rounds", type=int, default=ROUNDS)
    parser.add_argument("--kept", type=Path, help="folder in which what is played is kept")
    asked = parser.parse_args()
    print("| loop | ours | python-stretch | ours to it |\n|---|---|---|---|")
    for loop in truth.loops():
        if loop.name in asked.loops if asked.loops else loop.aside == asked.aside:
            print(_row(loop.name, played(loop, 1.0, 0, asked.kept), asked.ratio, asked.rounds), flush=True)


def _row(name: str, sound: truth.Played, ratio: float, rounds: int) -> str:
    samples, rate_hz = sound.samples, sound.rate_hz
    length_frames = round(len(samples) * ratio)
    ways: list[Callable[[], object]] = [lambda: fit_loop(samples, rate_hz, length_frames)]
    if importlib.util.find_spec("python_stretch"):
        ways.append(lambda: _python_stretch(samples, rate_hz, length_frames))
    took = np.array([[_cpu_seconds(way) for way in ways] for _ in range(rounds)]).min(axis=0)
    ours, *others = len(samples) / rate_hz / took
    return f"| {name} | {ours:.0f} | " + (f"{others[0]:.0f} | {ours / others[0]:.2f} |" if others else "| |")


def _cpu_seconds(run: Callable[[], object]) -> float:
    start = time.process_time()
    run()
    return time.process_time() - start


def _python_stretch(samples: NDArray[np.float32], rate_hz: int, length_frames: int) -> object:
    import python_stretch  # type: ignore[import-not-found]  # noqa: PLC0415  # only where it is installed

    stretch = python_stretch.Signalsmith.Stretch()
    stretch.preset(2, rate_hz)
    stretch.timeFactor = len(samples) / length_frames
    return stretch.process(np.ascontiguousarray(samples.T))


if __name__ == "__main__":
    main()
