"""Every case by every method; what is played and what others make of it is kept, since neither ever changes."""

from __future__ import annotations

import json
import zlib
from collections.abc import Callable
from dataclasses import asdict, dataclass
from functools import partial
from pathlib import Path

import numpy as np

from benchmarks.stretch import truth
from benchmarks.stretch.measures import Distances, Truth
from benchmarks.stretch.peers import Peer
from mixer.signal.fit import fit_loop

OURS = "mixer"
# No method: the truth itself, played a little slower. Nothing can be told from less than that.
AGAIN = "played again"


@dataclass(frozen=True)
class Asked:
    """A loop to be brought to another length and key."""

    loop: truth.Loop
    ratio: float
    semitones: int


@dataclass(frozen=True)
class Result:
    """One loop fitted by one method."""

    kind: str
    loop: str
    ratio: float
    semitones: int
    method: str
    apart: Distances


def results(cases: list[Asked], others: dict[str, Peer], kept: Path | None) -> list[Result]:
    """All cases by all methods."""
    rows = []
    for case in cases:
        source, wanted = played(case.loop, 1.0, 0, kept), played(case.loop, case.ratio, case.semitones, kept)
        judge = Truth(wanted.samples, wanted.rate_hz)
        again = played(case.loop, case.ratio, case.semitones, kept, again=True)
        floor = judge.distances(again.samples)
        rows.append(Result(case.loop.kind, case.loop.name, case.ratio, case.semitones, AGAIN, floor))
        for name, method in {OURS: fit_loop, **others}.items():
            judged = partial(_judged, judge, method, source, wanted, case)
            apart = judged() if name == OURS else _kept_distances(kept, case, name, judged)
            if apart is not None:
                rows.append(Result(case.loop.kind, case.loop.name, case.ratio, case.semitones, name, apart))
    return rows


def _judged(judge: Truth, method: Peer, source: truth.Played, wanted: truth.Played, case: Asked) -> Distances | None:
    fitted = method(source.samples, source.rate_hz, len(wanted.samples), float(case.semitones))
    return judge.distances(fitted) if len(fitted) else None


def played(loop: truth.Loop, ratio: float, semitones: int, kept: Path | None, *, again: bool = False) -> truth.Played:
    """The loop as it is played at another length and key."""
    play = loop.again if again else loop.play
    if kept is None:
        return play(ratio, semitones)
    path = kept / f"{loop.name}-{ratio}-{semitones}{'-again' * again}.npz"
    if not path.exists():
        fresh = play(ratio, semitones)
        kept.mkdir(parents=True, exist_ok=True)
        np.savez(path, samples=fresh.samples, onsets=fresh.onsets_frames, rate_hz=fresh.rate_hz)
    with np.load(path) as file:
        return truth.Played(file["samples"], file["onsets"], int(file["rate_hz"]))


def _kept_distances(
    kept: Path | None, case: Asked, method: str, judged: Callable[[], Distances | None]
) -> Distances | None:
    if kept is None:
        return judged()
    # Other measures need other results.
    measures = zlib.crc32(Path(__file__).with_name("measures.py").read_bytes())
    path = kept / f"{case.loop.name}-{case.ratio}-{case.semitones}-{method}-{measures:08x}.json"
    if not path.exists():
        fresh = judged()
        path.write_text(json.dumps(fresh and asdict(fresh)), encoding="utf-8")
    found = json.loads(path.read_text(encoding="utf-8"))
    return found and Distances(**{name: tuple(v) if isinstance(v, list) else v for name, v in found.items()})
