"""Many songs at once, on several processes: each song by itself, so that none holds up or spoils another.

A process that dies (killed, out of memory) loses the song it was at, which is tried once more by a new one. A song that
asks for more memory than a process's share is made after all others, when it has the machine alone. What comes out does
not depend on how many processes there are or who is first.
"""

from __future__ import annotations

import json
import queue
import subprocess
import sys
import threading
from collections.abc import Callable, Generator, Mapping, Sequence
from contextlib import closing, suppress

from mixer.classroom.room import free_bytes
from mixer.classroom.songs import FOLDERS
from mixer.classroom.tasks import Done, Task
from mixer.record import replace
from mixer.store.whole import drop_unfinished
from mixer.words.english.classroom import ENDED, TOO_LONG

LONGEST_SECONDS = 300
"""A song that takes longer is given up: 20 minutes of music and 32 layers take a slow machine about one minute."""
TRIES = 2
# The folder that the program is started in may be a class's own, so no module is taken from it.
_START = "import sys; sys.path.pop(0); from mixer.classroom.worker import main; main()"

Tell = Callable[[Done, int, int], None]


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
    done: dict[int, Done] = {}

    def take(number: int, result: Done) -> None:
        done[number] = result
        tell(result, len(done), len(tasks))

    large: list[int] = []
    try:
        with closing(_made(dict(enumerate(tasks)), processes)) as results:
            for number, result in results:
                if result.asks_bytes:
                    large.append(number)
                else:
                    take(number, result)
        alone = {number: replace(tasks[number], room_bytes=free_bytes()) for number in sorted(large)}
        with closing(_made(alone, 1)) as results:
            for number, result in results:
                take(number, result)
    finally:
        for folder in {task.out for task in tasks}:
            for place in (folder, *(folder / name for name in FOLDERS)):
                drop_unfinished(place)
    return [done[number] for number in range(len(tasks))]


def _made(tasks: Mapping[int, Task], processes: int) -> Generator[tuple[int, Done], None, None]:
    """Make songs; give each as it is done."""
    waiting: queue.SimpleQueue[tuple[int, Task]] = queue.SimpleQueue()
    for item in tasks.items():
        waiting.put(item)
    results: queue.SimpleQueue[tuple[int, Done]] = queue.SimpleQueue()
    workers = [_Worker(waiting, results) for _ in range(min(processes, len(tasks)))]
    try:
        for worker in workers:
            worker.start()
        for _ in tasks:
            yield _next(results)
    finally:
        for worker in workers:
            worker.stop()
        for worker in workers:
            worker.end()


def _next(results: queue.SimpleQueue[tuple[int, Done]]) -> tuple[int, Done]:
    """Wait for a result, in short steps: on Windows nothing interrupts a wait."""
    while True:
        with suppress(queue.Empty):
            return results.get(timeout=0.5)


class _Worker(threading.Thread):
    """Hands tasks to one process, and starts another where it dies."""

    def __init__(
        self, waiting: queue.SimpleQueue[tuple[int, Task]], results: queue.SimpleQueue[tuple[int, Done]]
    ) -> None:
        super().__init__(daemon=True)
        self._waiting, self._results = waiting, results
        self._process: subprocess.Popen[bytes] | None = None
        self._stopped = False
        self._lock = threading.Lock()

    def run(self) -> None:
        """Work until nothing is waiting."""
        while not self._stopped:
            try:
                number, task = self._waiting.get_nowait()
            except queue.Empty:
                return
            self._results.put((number, self._made(task)))

    def stop(self) -> None:
        """Let the process end, at once if it is still at work."""
        with self._lock:
            self._stopped = True
        if self._process is not None and self.is_alive():
            self._process.terminate()  # it takes away what it has half written

    def end(self) -> None:
        """Wait until the process has ended."""
        if self._process is not None:
            _end(self._process)

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
        too_long = threading.Event()

        def give_up() -> None:
            too_long.set()
            process.kill()

        late = threading.Timer(LONGEST_SECONDS, give_up)
        late.daemon = True
        late.start()
        try:
            process.stdin.write(json.dumps(task.as_data()).encode() + b"\n")
            process.stdin.flush()
            return Done.from_data(json.loads(process.stdout.readline()))
        except (OSError, ValueError):
            process.kill()
            _end(process)
            return Done(task.name, "none", why=TOO_LONG) if too_long.is_set() else None
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
