"""The worst cases as spectrograms side by side: the truth, ours, and the best of the others."""

from __future__ import annotations

from pathlib import Path

import matplotlib as mpl
import numpy as np

mpl.use("Agg")
from matplotlib import pyplot as plt  # the backend comes first

from benchmarks.stretch.peers import peers
from benchmarks.stretch.results import AGAIN, OURS, Asked, Result, played
from benchmarks.stretch.tables import MAIN, share
from mixer.signal.blocks import Samples
from mixer.signal.fit import fit_loop

MOST = 6
SECONDS = 3.0


def draw_worst(rows: list[Result], cases: list[Asked], folder: Path, kept: Path | None) -> None:
    """Draw the cases in which ours is furthest behind the best of the others, each in the column where it is so."""
    folder.mkdir(parents=True, exist_ok=True)
    behind = []
    for case in cases:
        members = [r for r in rows if (r.loop, r.ratio, r.semitones) == (case.loop.name, case.ratio, case.semitones)]
        most, column = max((share(members, column), column) for column in MAIN)
        best = min((r for r in members if r.method not in (OURS, AGAIN)), key=lambda r: getattr(r.apart, column))
        behind.append((most, case, column, best.method))
    for most, case, column, rival in sorted(behind, key=lambda each: -each[0])[:MOST]:
        title = f"{case.loop.name} at {case.ratio}: {column} {most:.2f} of {rival}"
        _draw(case, rival, title, folder / f"{case.loop.name}-{case.ratio}.png", kept)


def _draw(case: Asked, rival: str, title: str, path: Path, kept: Path | None) -> None:
    source, wanted = played(case.loop, 1.0, 0, kept), played(case.loop, case.ratio, case.semitones, kept)
    length_frames = len(wanted.samples)
    sounds: dict[str, Samples] = {"played so": wanted.samples}
    for name, method in ((OURS, fit_loop), (rival, peers()[rival])):
        sounds[name] = method(source.samples, source.rate_hz, length_frames, float(case.semitones))
    figure, panels = plt.subplots(1, 3, figsize=(18, 6), sharey=True, layout="constrained")
    for panel, (name, samples) in zip(panels, sounds.items(), strict=True):
        part = np.mean(samples[: round(SECONDS * wanted.rate_hz)], axis=1)
        panel.specgram(part + 1e-9, NFFT=2048, Fs=wanted.rate_hz, noverlap=1792, scale="dB", vmin=-140, vmax=-40)
        panel.set(title=name, ylim=(30, 16000), yscale="log", xlabel="seconds")
    figure.suptitle(title)
    figure.savefig(path, dpi=60)
    plt.close(figure)
