"""How much memory there is for making songs, how much a song asks for, and that it takes no more.

A class has one machine. So as many processes are started as it has cores and memory for; a song that asks for more than
a process's share is made when it has the machine alone, and one that asks for more than there is is not begun. What a
song asks for is told from its plan; where the system bounds what a process may have, that is held to as well.
"""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from mixer.material.loop import LONGEST_SECONDS

if sys.platform != "win32":
    import resource

if TYPE_CHECKING:
    from mixer.song.plan import Plan

SHARE_BYTES = 300_000_000
"""What is set aside for each process: a usual song takes half of it."""
# Measured: what a process takes before it has sound (with a mix that stays, of three minutes at most), and how often
# the longest loop is there while it is being made.
_BEFORE_BYTES = 165_000_000
_TIMES_LONGEST = 5
_FRAME_BYTES = 8
_PLENTY = 1 << 40
# The bound lies above what is asked: it also counts what is set aside and not used, such as threads' stacks.
_SLACK_BYTES = 300_000_000


def processes_for(songs: int) -> int:
    """How many processes are worth starting: as many as there are cores, memory and songs for."""
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    return max(1, min(cores, free_bytes() // SHARE_BYTES, songs))


def free_bytes() -> int:
    """Memory that is free, as far as the system tells; where it tells how much there is, half of that; else plenty."""
    with suppress(OSError, ValueError, StopIteration), Path("/proc/meminfo").open(encoding="ascii") as facts:
        return next(1024 * int(line.split()[1]) for line in facts if line.startswith("MemAvailable"))
    with suppress(AttributeError, OSError, ValueError):  # Windows has no sysconf
        return os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE") // 2
    return _PLENTY


def asked_bytes(plan: Plan) -> int:
    """How much memory a process needs to make a song: its loops as they are played, the longest in the making."""
    made, longest = 0.0, 0.0
    for fit in {part.fit for part in plan.parts if part.cues}:
        own_seconds = fit.card.bars * fit.card.meter.bar_seconds(fit.card.tempo_bpm)
        if own_seconds <= LONGEST_SECONDS:  # a longer one is not made but told
            seconds = float(fit.bars * plan.frame.bar_seconds)
            made += seconds
            longest = max(longest, seconds, float(own_seconds))
    return _BEFORE_BYTES + round((made + _TIMES_LONGEST * longest) * plan.rate_hz * _FRAME_BYTES)


def bound(most_bytes: int) -> None:
    """Bound what this process may have from now on; what goes beyond raises MemoryError. Nothing where none can be."""
    if sys.platform == "linux":  # elsewhere there is no such bound, or it is not held to
        with suppress(OSError, ValueError):
            _, hard = resource.getrlimit(resource.RLIMIT_DATA)
            wanted = most_bytes + _SLACK_BYTES
            soft = wanted if hard == resource.RLIM_INFINITY else min(wanted, hard)
            resource.setrlimit(resource.RLIMIT_DATA, (soft, hard))
