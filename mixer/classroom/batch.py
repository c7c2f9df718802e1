"""Many songs at once, on several processes: each song by itself, so that none holds up or spoils another.

A process that dies (killed, out of memory) loses the song it was at, which is tried once more by a new one. What comes
out does not depend on how many processes there are or who is first.
"""

from __future__ import annotations

import json
import os
import queue
import subprocess
import sys
import threading
from collections.abc import Callable, Sequence
from contextlib import suppress
from pathlib import Path

from mixer.classroom.songs import Done, Task
from mixer.words.english.classroom import ENDED

LONGEST_SECONDS = 300
"""A song that takes longer is given up: at most 20 minutes of music and 32 layers take a slow machine about one."""
MEMORY_BYTES = 300_000_000
"""What a process may need at its height, for the number of processes that a machine has room for."""
TRIES = 2
# The folder that the program is started in may be a class's own, so no module is taken from it.
_START = "import sys; sys.path.pop(0); from mixer.classroom.worker import main; main()"

Tell = Callable[[Done, int, int], None]


def processes_for(songs: int) -> int:
    """How many processes are worth starting: as many as there are cores, memory and songs for."""
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    return max(1, min(cores, _free_bytes() // MEMORY_BYTES, songs))


def _free_bytes() -> int:
    """Memory that is free, as far as the system tells (Linux does); else plenty."""
    with suppress(OSError, ValueError, IndexError), Path("/proc/meminfo").open(encoding="ascii") as facts:
        return next(1024 * int(line.split()[1]) for line in facts if line.startswith("MemAvailable"))
    return 1 << 40


def make_all(tasks: Sequence[Task], processes: int, tell: Tell) -> list[Done]:
    """Make songs.

    Parameters
    ----------
    tasks : what is wanted
    processes : how many at once, 1 or more
    tell : told of each song as it is done, with how many are done and how many there are

    Returns
    -------
    what came of each, in the order of the tasks

    Raises
    ------
    KeyboardInterrupt
        If it was stopped; no process is left running.
    """
    waiting: queue.SimpleQueue[int] = queue.SimpleQueue()
    for number in range(len(tasks)):
        waiting.put(number)
    results: queue.SimpleQueue[tuple[int, Done]] = queue.SimpleQueue()
    workers = [_Worker(tasks, waiting, results) for _ in range(min(processes, len(tasks)))]
    done: dict[int, Done] = {}
    try:
        for worker in workers:
            worker.start()
        while len(done) < len(tasks):
            number, result = results.get()
            done[number] = result
            tell(result, len(done), len(tasks))
    finally:
        for worker in workers:
            worker.stop()
    return [done[number] for number in range(len(tasks))]


class _Worker(threading.Thread):
    """Hands tasks to one process, and starts another where it dies."""

    def __init__(
        self, tasks: Sequence[Task], waiting: queue.SimpleQueue[int], results: queue.SimpleQueue[tuple[int, Done]]
    ) -> None:
        super().__init__(daemon=True)
        self._tasks, self._waiting, self._results = tasks, waiting, results
        self._process: subprocess.Popen[bytes] | None = None
        self._stopped = False
        self._lock = threading.Lock()

    def run(self) -> None:
        """Work until nothing is waiting."""
        while not self._stopped:
            try:
                number = self._waiting.get_nowait()
            except queue.Empty:
                return
            self._results.put((number, self._made(self._tasks[number])))

    def stop(self) -> None:
        """End the process, at once if it is still at work."""
        with self._lock:
            self._stopped = True
            process = self._process
        if process is None:
            return
        if self.is_alive():
            process.terminate()  # it takes away what it has half written
        _end(process)

    def _made(self, task: Task) -> Done:
        for _ in range(TRIES):
            answer = self._asked(task)
            if answer is not None:
                return answer
            if self._stopped:
                break
        return Done(task.name, "none", why=ENDED)

    def _asked(self, task: Task) -> Done | None:
        try:
            process = self._running()
        except OSError:  # no room for another process; without an answer the run would wait for ever
            return None
        if process is None:
            return None
        assert process.stdin is not None and process.stdout is not None  # noqa: S101, PT018 - both are pipes
        late = threading.Timer(LONGEST_SECONDS, process.kill)
        late.start()
        try:
            process.stdin.write(json.dumps(task.as_data()).encode() + b"\n")
            process.stdin.flush()
            return Done.from_data(json.loads(process.stdout.readline()))
        except (OSError, ValueError):
            process.kill()
            _end(process)
            return None
        finally:
            late.cancel()

    def _running(self) -> subprocess.Popen[bytes] | None:
        """Give the process, a new one where it has died; None once the run is stopped."""
        with self._lock:
            if self._stopped:
                return None
            if self._process is None or self._process.poll() is not None:
                if self._process is not None:
                    _end(self._process)
                self._process = subprocess.Popen(  # noqa: S603 - this program itself, and no words of strangers
                    [sys.executable, "-c", _START],
                    stdin=subprocess.PIPE,
                    stdout=subprocess.PIPE,
                    stderr=subprocess.DEVNULL,
                )
            return self._process


def _end(process: subprocess.Popen[bytes]) -> None:
    for stream in (process.stdin, process.stdout):
        if stream is not None:
            with suppress(OSError):
                stream.close()
    try:
        process.wait(timeout=5)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()
