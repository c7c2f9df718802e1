"""Many files measured, several at a time on machines that can; in order, each once."""

from __future__ import annotations

import os
import signal
from collections.abc import Generator, Sequence
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from mixer.loops.measure.facts import Measured
from mixer.loops.measure.known import measured_once

ENDINGS = (".wav", ".flac", ".ogg", ".oga", ".opus", ".mp3", ".aif", ".aiff", ".m4a", ".mp4", ".webm", ".aac")
# For fewer files, starting processes takes longer than they save.
FEW = 6
MOST_PROCESSES = 4


def sound_files(path: Path) -> list[Path]:
    """Files to measure: the one named, or all sound files directly in a folder, by name; none if it is locked."""
    if not path.is_dir():
        return [path]
    return sorted(
        (p for p in _inside(path) if p.suffix.lower() in ENDINGS and not p.name.startswith(".")),
        key=lambda p: p.name.casefold(),
    )


def inner_folders(path: Path) -> list[Path]:
    """Folders in a folder with sound files of their own; they have their own lists of loops and are not looked into."""
    if not path.is_dir():
        return []
    return sorted(p for p in _inside(path) if p.is_dir() and not p.name.startswith(".") and sound_files(p))


def _inside(folder: Path) -> list[Path]:
    try:
        return list(folder.iterdir())
    except OSError:
        return []


def measure_all(paths: Sequence[Path], *, with_limits: bool = False) -> Generator[Measured, None, None]:
    """Measure files, in their order, as they are ready; what was measured before is only looked up.

    With limits it takes several times as long: each loop is sent there and back.
    """
    measure_one = _measured_with_limits if with_limits else measured_once
    processes = min(MOST_PROCESSES, os.cpu_count() or 1)
    if len(paths) < FEW or processes < 2:
        yield from map(measure_one, paths)
        return
    with ProcessPoolExecutor(processes, initializer=_leave_ctrl_c_to_the_first) as pool:
        yield from pool.map(measure_one, paths)


def _measured_with_limits(path: Path) -> Measured:
    from mixer.loops.measure.round_trip import learnt  # noqa: PLC0415 - loads all that stretches

    return learnt(measured_once(path))


def _leave_ctrl_c_to_the_first() -> None:
    """Ctrl-C reaches all processes of a terminal; the one that started the others ends them when it has cleared up."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
