"""Run a command and say what it took: `python -S -m benchmarks.song.measure COMMAND ...`.

It is a process of its own and loads next to nothing, because a child counts as large at least as what it was started
from. Wall time is from start to end; processor time is that of the command and all it waited for; the peak is that of
the largest process among them.
"""

from __future__ import annotations

import os
import sys
import time

MEGABYTE = 1_000_000


def main() -> None:
    command = sys.argv[1:]
    start = time.perf_counter()
    child = os.posix_spawnp(command[0], command, os.environ, file_actions=[(os.POSIX_SPAWN_OPEN, 1, os.devnull, 1, 0)])
    _, status, used = os.wait4(child, 0)
    wall = time.perf_counter() - start
    peak_bytes = used.ru_maxrss * (1 if sys.platform == "darwin" else 1024)
    print(os.waitstatus_to_exitcode(status), wall, used.ru_utime + used.ru_stime, peak_bytes / MEGABYTE)


if __name__ == "__main__":
    main()
