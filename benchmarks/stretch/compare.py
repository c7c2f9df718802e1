"""Stretched loops beside the truth and beside other stretchers: `python -m benchmarks.stretch.compare`.

For every loop, ratio and transposition: the loop at its own tempo is fitted by each method, and held against the same
notes played at the target tempo and key. Prints one table for each kind of sound; smaller is better.
"""

from __future__ import annotations

import argparse
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from benchmarks.stretch import truth
from benchmarks.stretch.measures import Samples, flux_distance, log_mel_distance_db, onset_errors_ms
from benchmarks.stretch.peers import Peer, peers
from mixer.signal.fit import fit_loop
from mixer.signal.onsets import find_onsets

RATIOS = (0.8, 0.9, 1.1, 1.25)


@dataclass(frozen=True)
class Result:
    """One loop fitted by one method."""

    kind: str
    loop: str
    ratio: float
    semitones: int
    method: str
    mel_4096_db: float
    mel_1024_db: float
    flux: float
    onset_median_ms: float
    onset_95_ms: float


def results(kinds: list[str], ratios: list[float], semitones: list[int], methods: dict[str, Peer]) -> Iterator[Result]:
    """Every loop of these kinds by every method."""
    for loop in truth.loops():
        if loop.kind in kinds or not kinds:
            for ratio in ratios:
                for shift in semitones:
                    yield from _beside_truth(loop, ratio, shift, methods)


def _beside_truth(loop: truth.Loop, ratio: float, semitones: int, methods: dict[str, Peer]) -> Iterator[Result]:
    source, wanted = loop.play(1.0, 0), loop.play(ratio, semitones)
    for name, method in methods.items():
        fitted = method(source.samples, source.rate_hz, len(wanted.samples), float(semitones))
        if len(fitted):
            yield _result(loop, ratio, semitones, name, fitted, wanted)


def _result(
    loop: truth.Loop, ratio: float, semitones: int, method: str, fitted: Samples, wanted: truth.Played
) -> Result:
    rate_hz = wanted.rate_hz
    # Against the onsets heard in the truth: a sampled instrument starts a little after its note is struck.
    heard = find_onsets(wanted.samples, rate_hz).astype(np.float64)
    errors = onset_errors_ms(find_onsets(fitted, rate_hz), heard, len(fitted), rate_hz)
    mel = [log_mel_distance_db(fitted, wanted.samples, rate_hz, window) for window in (4096, 1024)]
    flux = flux_distance(fitted, wanted.samples, rate_hz)
    median, late = np.percentile(np.minimum(errors, 99), [50, 95]) if len(errors) else (np.nan, np.nan)
    return Result(loop.kind, loop.name, ratio, semitones, method, *mel, flux, float(median), float(late))


def table(rows: list[Result], by: str) -> str:
    """Means by kind and method, as a Markdown table."""
    groups: dict[tuple[str, str], list[Result]] = defaultdict(list)
    for row in rows:
        groups[str(getattr(row, by)), row.method].append(row)
    lines = [
        f"| {by} | method | mel 4096 dB | mel 1024 dB | flux | onsets median / 95 % ms |",
        "|---|---|---|---|---|---|",
    ]
    for (group, method), members in groups.items():
        mean = np.nanmean(
            [[r.mel_4096_db, r.mel_1024_db, r.flux, r.onset_median_ms, r.onset_95_ms] for r in members], axis=0
        )
        cells = f"{mean[0]:.2f} | {mean[1]:.2f} | {mean[2]:.3f} | {mean[3]:.1f} / {mean[4]:.1f}"
        lines.append(f"| {group} | {method} | {cells} |")
    return "\n".join(lines)


def main() -> None:
    parser = argparse.ArgumentParser(description="Stretched loops beside the truth and beside other stretchers.")
    parser.add_argument("kinds", nargs="*", help="kinds of loops (all)")
    parser.add_argument("--ratios", nargs="*", type=float, default=list(RATIOS))
    parser.add_argument("--semitones", nargs="*", type=int, default=[0])
    parser.add_argument("--ours", action="store_true", help="leave the others out")
    parser.add_argument("--by", default="kind", choices=["kind", "loop", "ratio", "semitones"])
    asked = parser.parse_args()
    methods: dict[str, Peer] = {"mixer": fit_loop, **({} if asked.ours else peers())}
    print(table(list(results(asked.kinds, asked.ratios, asked.semitones, methods)), asked.by))


if __name__ == "__main__":
    main()
