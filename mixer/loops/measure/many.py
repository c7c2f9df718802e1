"""Many files measured, several at a time on machines that can; in order, each once."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from mixer.loops.measure.measured import Measured, measure

ENDINGS = (".wav", ".flac", ".ogg", ".oga", ".opus", ".mp3", ".aif", ".aiff", ".m4a", ".mp4", ".webm", ".aac")
# For fewer files, starting processes takes longer than they save.
FEW = 6
MOST_PROCESSES = 4


def sound_files(path: Path) -> list[Path]:
    """Files to measure: the one named, or all sound files directly in a folder, by name."""
    if not path.is_dir():
        return [path]
    return sorted(
        (p for p in path.iterdir() if p.suffix.lower() in ENDINGS and not p.name.startswith(".")),
        key=lambda p: p.name.casefold(),
    )


def measure_all(paths: Sequence[Path]) -> Iterator[Measured]:
    """Measure files, in their order, as they are ready."""
    processes = min(MOST_PROCESSES, os.cpu_count() or 1)
    if len(paths) < FEW or processes < 2:
        yield from map(measure, paths)
        return
    with ProcessPoolExecutor(processes) as pool:
        yield from pool.map(measure, paths, chunksize=2)
