"""Stretched loops beside the truth and beside other stretchers: `python -m benchmarks.stretch.compare`.

For every loop, ratio and transposition: the loop at its own tempo is fitted by each method, and held against the same
notes played at the target tempo and key. Smaller is better everywhere.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from benchmarks.stretch import truth
from benchmarks.stretch.peers import peers
from benchmarks.stretch.results import Asked, results
from benchmarks.stretch.tables import shares, table

RATIOS = (0.7, 0.85, 1.2, 1.4)
QUICK = (0.8, 1.25)


def main() -> None:
    parser = argparse.ArgumentParser(description="Stretched loops beside the truth and beside other stretchers.")
    parser.add_argument("kinds", nargs="*", help="kinds of loops (all)")
    parser.add_argument("--ratios", nargs="*", type=float, default=list(RATIOS))
    parser.add_argument("--semitones", nargs="*", type=int, default=[0])
    parser.add_argument("--loops", nargs="*", help="these loops only")
    parser.add_argument("--quick", action="store_true", help=f"the ratios {QUICK}, and at most two loops of a kind")
    parser.add_argument("--aside", action="store_true", help="the third that is set aside, and only that")
    parser.add_argument("--ours", action="store_true", help="leave the others out")
    parser.add_argument("--by", nargs="*", default=["kind"], choices=["kind", "loop", "ratio", "semitones"])
    parser.add_argument("--kept", type=Path, help="folder in which what is played and what others make of it is kept")
    parser.add_argument("--pictures", type=Path, help="folder for spectrograms of the worst cases, side by side")
    asked = parser.parse_args()
    loops = [loop for loop in truth.loops() if loop.aside == asked.aside]
    loops = [loop for loop in loops if not asked.kinds or loop.kind in asked.kinds]
    loops = [loop for loop in loops if not asked.loops or loop.name in asked.loops]
    if asked.quick:
        loops = [loop for loop in loops if sum(loop.kind == each.kind for each in loops[: loops.index(loop)]) < 2]
    cases = [
        Asked(loop, ratio, semitones)
        for loop in loops
        for ratio in (QUICK if asked.quick else asked.ratios)
        for semitones in asked.semitones
    ]
    rows = results(cases, {} if asked.ours else peers(), asked.kept)
    print(table(rows, asked.by))
    if not asked.ours:
        print(
            "\nOurs as a share of the best of the others in each column (and in brackets its worst loop and ratio):\n"
        )
        print(shares(rows, asked.by))
    if asked.pictures:
        from benchmarks.stretch.pictures import draw_worst  # noqa: PLC0415  # matplotlib only where it is asked for

        draw_worst(rows, cases, asked.pictures, asked.kept)


if __name__ == "__main__":
    main()
