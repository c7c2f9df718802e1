"""Round trips beside the truth: `python -m benchmarks.stretch.limits`; where `round_trip.SUFFERS_DB` is from.

For every loop and ratio: how far the stretched loop is from the same notes played at that tempo (slower and faster,
mean of both), and what the loop's own round trips say. Then, for several limits on the trips, how well they part what
is further from the truth than `FAR_DB` from the rest, and at which ratio the middle loop reaches them.
Loops that are set aside are left out. A quarter of an hour.
"""

from __future__ import annotations

import argparse

import numpy as np
from numpy.typing import NDArray

from benchmarks.stretch import truth
from mixer.loops.measure.round_trip import MOST_RATIO, Trips
from mixer.signal.fit import fit_loop
from mixer.signal.mel import distance_db, mel_powers

Grid = NDArray[np.float64]

RATIOS = (1.12, 1.25, 1.4)
LIMITS_DB = (0.2, 0.25, 0.3, 0.35, 0.4, 0.5, 0.6)
# So far apart are the same notes by neighbours in one soundfont, which people hear as different instruments: a standard
# and a room kit (1.9), a jazz kit (1.4), a grand and a bright piano (1.9).
FAR_DB = 1.5


def _beside_truth(loop: truth.Loop) -> tuple[list[float], list[float]]:
    """Distances from the truth, and what the round trips say, at each ratio."""
    own = loop.play(1.0, 0)
    trips = Trips(own.samples, own.rate_hz)
    apart = [np.mean([_from_truth(loop, own, each) for each in (ratio, 1 / ratio)]) for ratio in RATIOS]
    return [float(each) for each in apart], [trips.harm_db(ratio) for ratio in RATIOS]


def _from_truth(loop: truth.Loop, own: truth.Played, ratio: float) -> float:
    wanted = loop.play(ratio, 0).samples
    fitted = fit_loop(own.samples, own.rate_hz, len(wanted))
    return distance_db(mel_powers(wanted, own.rate_hz), mel_powers(fitted, own.rate_hz))


def _parted(truths: Grid, trips: Grid, limit_db: float) -> float:
    """Mean share of right calls among what is far from the truth, and among what is not."""
    far = truths > FAR_DB
    return float((np.mean(trips[far] > limit_db) + np.mean(trips[~far] <= limit_db)) / 2)


def _middle_ratio(trips: Grid, limit_db: float) -> float:
    """The ratio at which the middle loop reaches a limit."""
    steps = np.log([1.03, *RATIOS])
    levels = [np.maximum.accumulate([0, *row]) for row in trips]
    reached = [np.interp(limit_db, each, steps, right=np.log(MOST_RATIO)) for each in levels]
    return float(np.exp(np.median(reached)))


def main() -> None:
    parser = argparse.ArgumentParser(description="Round trips beside the truth.")
    parser.add_argument("kinds", nargs="*", help="kinds of loops (all)")
    kinds = parser.parse_args().kinds
    print(
        "| loop | kind | " + " | ".join(f"{ratio} truth / trips dB" for ratio in RATIOS) + " |\n|---" + "|---" * 4 + "|"
    )
    rows = []
    for loop in truth.loops():
        if (loop.kind in kinds or not kinds) and not loop.aside:
            rows.append(_beside_truth(loop))
            cells = [f"{far:.2f} / {trip:.2f}" for far, trip in zip(*rows[-1], strict=True)]
            print(f"| {loop.name} | {loop.kind} | {' | '.join(cells)} |", flush=True)
    truths, trips = (np.array([row[side] for row in rows]) for side in (0, 1))
    print(f"\n| limit dB | parts what is {FAR_DB} dB from the truth | middle loop reaches it at |\n|---|---|---|")
    for limit_db in LIMITS_DB:
        print(f"| {limit_db} | {_parted(truths, trips, limit_db):.2f} | {_middle_ratio(trips, limit_db):.2f} |")


if __name__ == "__main__":
    main()
