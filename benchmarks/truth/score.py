"""How `mixer measure` does on the truth set: `python -m benchmarks.truth.score [FOLDER] [--aside] [--peers] [--by]`.

Without `--aside` on what is not set aside. Tempo by the measures of Font and Serra (ISMIR 2016): within 4 % (accuracy
1), whole number equal (1e), within 4 % of a third, half, double or triple (2). Key by `mir_eval.key` (weighted); for
"either key" both are right where the chords stand in two keys alike. Each twice: by sound alone, and with the file's
name. `--peers`: the duration rule (the whole-number tempo for which the file is a whole number of beats nearest to
120), librosa and essentia, where they are installed.
"""

from __future__ import annotations

import sys
import time
from collections import defaultdict
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any

import mir_eval
import numpy as np

from benchmarks.truth.facts import is_open, key_number, right_keys, truth_of
from benchmarks.truth.make import FOLDER
from mixer.loops.measure.measured import Measured, measure

Answer = tuple[dict[str, Any], Measured]
OCTAVES = (1 / 3, 1 / 2, 1, 2, 3)
WRONG = {"silence": "silence in front", "tail": "tail", "upbeat": "upbeat", "cut short": "cut short"}


def within(share: float, factors: tuple[float, ...] = (1,)) -> Callable[[float, float], bool]:
    return lambda got, true: any(abs(got / (true * factor) - 1) <= share for factor in factors)


def _measured(job: tuple[dict[str, Any], bool]) -> Answer:
    truth, by_name = job
    return truth, measure(Path(truth["path"]), by_name=by_name)


def _tempo(answers: list[Answer]) -> dict[str, list[float]]:
    tests = {
        "4 %": within(0.04),
        "0.1 %": within(0.001),
        "whole": lambda got, true: round(got) == round(true),
        "octave": within(0.04, OCTAVES),
    }
    return {
        name: [float(bool(m.tempo_bpm) and test(m.tempo_bpm or 0.0, t["tempo_bpm"])) for t, m in answers]
        for name, test in tests.items()
    }


def results(answers: list[Answer]) -> dict[str, list[float]]:
    loops = [(t, m) for t, m in answers if t["tempo_bpm"]]
    keyed = [(t, m) for t, m in answers if t["key"]]
    found = _tempo(loops)
    found["bars"] = [float(m.bars == t["bars"]) for t, m in loops]
    found["time"] = [float(m.time == t["time"]) for t, m in loops]
    found["downbeat"] = [
        float(m.first_downbeat_seconds is not None and abs(m.first_downbeat_seconds - t["downbeat_seconds"]) <= 0.01)
        for t, m in loops
    ]
    found["key weighted"] = [
        mir_eval.key.weighted_score(_plain(t["key"]), _plain(str(m.key))) if m.key else 0.0 for t, m in keyed
    ]
    found["key exact"] = [float(m.key is not None and _same_key(t["key"], str(m.key))) for t, m in keyed]
    found["either key"] = [
        float(bool(m.key) and bool(right_keys(t)[key_number(_plain(str(m.key)))])) or weighted
        for (t, m), weighted in zip(keyed, found["key weighted"], strict=True)
    ]
    found["no key"] = [float(m.key is None) for t, m in loops if not t["key"]]
    found["chords"] = [
        float(m.chords[n] == chord) if n < len(m.chords) else 0.0
        for t, m in keyed
        for n, chord in enumerate(t["chords"])
    ]
    found["role"] = [float(m.role == t["role"]) for t, m in answers if t["role"] and t["kind"] == "loop"]
    found["told as no loop"] = [float(not m.is_loop) for t, m in answers if t["kind"] != "loop"]
    found["told as loop"] = [float(m.is_loop) for t, m in answers if t["kind"] == "loop"]
    return found


def _plain(key: str) -> str:
    return key.replace("♯", "#")


def _same_key(a: str, b: str) -> bool:
    return bool(mir_eval.key.weighted_score(a, b) == 1.0)


RIGHT: dict[str, Callable[[dict[str, Any], Measured], bool]] = {
    "tempo_bpm": lambda t, m: within(0.001)(m.tempo_bpm or 0, t["tempo_bpm"]),
    "bars": lambda t, m: m.bars == t["bars"],
    "time": lambda t, m: m.time == t["time"],
    "first_downbeat_seconds": lambda t, m: abs((m.first_downbeat_seconds or 0) - t["downbeat_seconds"]) <= 0.01,
    "key": lambda t, m: (str(m.key) == t["key"]) if m.key else t["key"] is None,
    "role": lambda t, m: m.role == t["role"],
    "chords": lambda t, m: list(m.chords) == t["chords"],
}


def sureness(answers: list[Answer]) -> None:
    print("\nsure of ..: how often (of 100), right then (of 100), right where not sure")
    loops = [(t, m) for t, m in answers if t["tempo_bpm"]]
    rights, total = 0, 0
    for name, test in RIGHT.items():
        sure = [test(t, m) for t, m in loops if name in m.sure]
        rest = [test(t, m) for t, m in loops if name not in m.sure]
        rights, total = rights + sum(sure), total + len(sure)
        print(
            f"{name:24} {100 * len(sure) / len(loops):5.0f} {100 * np.mean(sure or [0]):6.1f}"
            f" {100 * np.mean(rest or [0]):6.1f}"
        )
    print(f"{'all together':24} {total:5} {100 * rights / max(total, 1):6.1f}")
    for t, m in loops:
        wrong = [name for name in m.sure if not RIGHT[name](t, m)]
        if wrong and "--by" in sys.argv:
            print(
                "  sure and wrong:",
                t["file"],
                wrong,
                t["tempo_bpm"],
                t["bars"],
                t["time"],
                round(t["downbeat_seconds"], 3),
                t["key"],
                t["role"],
                t["difficulties"],
                "->",
                m.tempo_bpm,
                m.bars,
                m.time,
                m.first_downbeat_seconds,
                m.key,
                m.role,
            )


def wrongs(answers: list[Answer]) -> None:
    print("\nproblems: found of those there, told where there is none")
    named = sorted({p for t, _ in answers for p in t["problems"]})
    for name in named:
        kind = WRONG.get(name, name)
        there = [any(k == kind for k, _ in m.problems) for t, m in answers if name in t["problems"]]
        none = [any(k == kind for k, _ in m.problems) for t, m in answers if name not in t["problems"]]
        print(f"{kind:20} {sum(there)} of {len(there)}; {sum(none)} of {len(none)}")
    clicks = [t["source"] for t, m in answers if any(k == "join clicks" for k, _ in m.problems)]
    print(f"join clicks: told {len(clicks)} times")


def table(title: str, answers: list[Answer]) -> None:
    found = results(answers)
    print(f"{title:22}" + " ".join(f"{100 * np.mean(v):6.1f}" if v else "     -" for v in found.values()), len(answers))


def main() -> None:
    aside = "--aside" in sys.argv
    folder = next((Path(word) for word in sys.argv[1:] if not word.startswith("--")), FOLDER)
    truths = [t for t in truth_of(folder) if t["aside"] == aside]
    start = time.time()
    with ProcessPoolExecutor(2) as pool:
        alone = list(pool.map(_measured, [(t, False) for t in truths], chunksize=4))
        took = time.time() - start
        named = list(pool.map(_measured, [(t, True) for t in truths], chunksize=4))
    print(f"{len(truths)} files, {took:.0f} s each time\n{'':22}" + " ".join(f"{n[:6]:>6}" for n in results(named)))
    table("by sound alone", alone)
    table("with names", named)
    groups: dict[str, list[Answer]] = defaultdict(list)
    for t, m in named:
        groups[f"role {t['role']}"].append((t, m))
        groups[f"name {t['name']}"].append((t, m))
        if t["role"] == "harmony":
            groups["harmony in two keys" if is_open(t) else "harmony in one key"].append((t, m))
        for difficulty in t["difficulties"] or ["none"]:
            groups[f"with {difficulty}"].append((t, m))
    for name in sorted(groups):
        if len(groups[name]) > 2 and any(t["tempo_bpm"] for t, _ in groups[name]):
            table(name, groups[name])
    sureness(named)
    wrongs(named)
    if "--by" in sys.argv:
        for t, m in named:
            if t["kind"] != "loop" or not m.is_loop or (t["role"] and m.role != t["role"]):
                print("  ", t["file"], t["kind"], t["role"], "->", m.role, m.tempo_bpm, m.problems[:2], m.sure)
    if "--peers" in sys.argv:
        from benchmarks.truth.peers import peers  # noqa: PLC0415 - they need packages of their own

        peers(truths, within, OCTAVES)


if __name__ == "__main__":
    main()
