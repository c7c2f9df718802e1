"""Facts of every file of a set that is not set aside, to fit the weights by."""

from __future__ import annotations

import json
import sys
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from benchmarks.truth.make import FOLDER
from mixer.loops.measure import keys, roles
from mixer.loops.measure.evidence import evidence
from mixer.loops.measure.hearing import hear
from mixer.loops.measure.hints import hints_in
from mixer.loops.measure.pitches import find_pitches
from mixer.loops.measure.readings import Reading, readings
from mixer.signal.files import read_sound

MORE = FOLDER.with_name("mixer-truth-more")


def truth_of(folder: Path) -> list[dict[str, Any]]:
    return [dict(t, path=str(folder / t["file"])) for t in json.loads((folder / "truth.json").read_text("utf-8"))]


def to_fit() -> list[dict[str, Any]]:
    """Files to fit by: what is not set aside, and loops beside the set."""
    more = truth_of(MORE) if (MORE / "truth.json").exists() else []
    return [t for t in truth_of(FOLDER) if not t["aside"] and t["kind"] != "song"] + more


def facts(truth: dict[str, Any]) -> dict[str, Any]:
    path = Path(truth["path"])
    sound = read_sound(path, 120)
    heard, pitches = hear(sound.samples, sound.rate_hz), find_pitches(sound.samples, sound.rate_hz)
    hints = hints_in(path.stem)
    found = readings(heard, pitches, hints.tempo_bpm)
    out: dict[str, Any] = {
        "truth": truth,
        "readings": found,
        "for readings": evidence(heard, pitches, found, hints).astype(np.float32),
        "for roles": roles.role_evidence(heard, pitches),
    }
    if truth["key"]:
        bar = truth["tempo_bpm"] and {"4/4": 4, "3/4": 3, "6/8": 2}[truth["time"]] * 60 / truth["tempo_bpm"]
        start = truth["downbeat_seconds"]
        bars = [(start + n * bar, start + (n + 1) * bar) for n in range(truth["bars"])]
        out["for keys"] = keys.key_evidence(pitches, bars, truth["role"], hints.key)
        out["chords"] = keys.chord_likeness(pitches, bars)
    return out


def all_facts(truths: list[dict[str, Any]]) -> list[dict[str, Any]]:
    with ProcessPoolExecutor(2) as pool:
        return list(pool.map(facts, truths, chunksize=4))


def right_ones(truth: dict[str, Any], found: list[Reading]) -> NDArray[np.bool_]:
    """Which readings are right; where none is exact, those that are nearly so."""
    exact = np.array([_is_right(truth, reading, 0.002, 0.015) for reading in found])
    return exact if exact.any() else np.array([_is_right(truth, reading, 0.02, 0.08) for reading in found])


def _is_right(truth: dict[str, Any], reading: Reading, share: float, seconds: float) -> bool:
    return (
        abs(reading.tempo_bpm / truth["tempo_bpm"] - 1) < share
        and reading.bars == truth["bars"]
        and reading.time == truth["time"]
        and abs(reading.origin_seconds - truth["downbeat_seconds"]) < seconds
    )


def right_keys(truth: dict[str, Any]) -> NDArray[np.bool_]:
    """Which of the 24 keys are right: the one it was written in, or two where its chords stand in both alike."""
    right = np.arange(len(keys.KEYS)) == key_number(truth["key"])
    if is_open(truth):
        tonic, _ = _chord(truth["chords"][0])
        right[[keys.KEYS.index((tonic, "minor")), keys.KEYS.index(((tonic + 3) % 12, "major"))]] = True
    return right


def is_open(truth: dict[str, Any]) -> bool:
    """Whether the chords that were written stand in a minor key and its relative major alike."""
    return bool(truth["chords"]) and keys.also_major([_chord(name) for name in truth["chords"]])


def _chord(name: str) -> tuple[int, str]:
    return keys.TONICS.index(name.removesuffix("m")), "minor" if name.endswith("m") else "major"


def key_number(name: str) -> int:
    tonic, mode = name.split()
    return keys.KEYS.index((keys.TONICS.index(tonic), mode))


Curve = NDArray[np.float64]


if __name__ == "__main__":
    sys.exit("this is used by fit and score")
