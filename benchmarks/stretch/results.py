"""Every case by every method; what is played and what others make of it is kept, since neither ever changes."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soundfile

from benchmarks.stretch import truth
from benchmarks.stretch.measures import Distances, Truth
from benchmarks.stretch.peers import Peer, Samples
from mixer.signal.fit import fit_loop

OURS = "mixer"
# No method: the truth itself, played a little slower. Nothing can be told from less than that.
AGAIN = "played again"
# What others make may be louder than full scale.
KEPT_GAIN = 0.25


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
        again = played(case.loop, case.ratio, case.semitones, kept, again=True)
        judge = Truth(wanted, again, source, case.semitones)
        sounds = {AGAIN: again.samples, OURS: _fitted(fit_loop, source, wanted, case)}
        for name, method in others.items():
            sounds[name] = _kept_fitted(kept, name, method, source, wanted, case)
        for name, fitted in sounds.items():
            if len(fitted):
                apart = judge.distances(fitted)
                rows.append(Result(case.loop.kind, case.loop.name, case.ratio, case.semitones, name, apart))
    return rows


def _fitted(method: Peer, source: truth.Played, wanted: truth.Played, case: Asked) -> Samples:
    return method(source.samples, source.rate_hz, len(wanted.samples), float(case.semitones))


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


def _kept_fitted(
    kept: Path | None, name: str, method: Peer, source: truth.Played, wanted: truth.Played, case: Asked
) -> Samples:
    """What another makes of the loop: its sound is kept, so that it can be measured anew."""
    if kept is None:
        return _fitted(method, source, wanted, case)
    path = kept / f"{case.loop.name}-{case.ratio}-{case.semitones}-{name}.flac"
    if not path.exists():
        fitted = _fitted(method, source, wanted, case)
        if len(fitted) == 0:  # it can't do what is asked
            return fitted
        kept.mkdir(parents=True, exist_ok=True)
        soundfile.write(path, fitted * KEPT_GAIN, wanted.rate_hz, subtype="PCM_24")
    return soundfile.read(path, dtype="float32", always_2d=True)[0] / np.float32(KEPT_GAIN)
