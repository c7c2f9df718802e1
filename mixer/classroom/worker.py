"""The other end of the pipe: a process that makes one song after another as it is told, a line for each.

A task comes in as a line of JSON and what came of it goes out as one. Whatever
a stranger's file may do, it ends this process at worst and not the run. When whoever started it is gone, however that
ended, this ends too, in the midst of a song: nobody else is to find it writing into their folder.
"""

from __future__ import annotations

import _thread
import json
import os
import queue
import signal
import sys
import threading
import time
from collections.abc import Iterator
from dataclasses import asdict

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy is loaded; see `mixer.cli`
_TO_END_SECONDS = 2


def main() -> None:
    """Make songs until nothing more comes in."""
    from mixer.classroom.room import bound  # noqa: PLC0415 - after what is set above
    from mixer.classroom.songs import make_song  # noqa: PLC0415 - the same
    from mixer.classroom.tasks import Done, Task  # noqa: PLC0415 - the same
    from mixer.words.english.classroom import NO_MEMORY, could_not_write, went_wrong  # noqa: PLC0415 - the same

    signal.signal(signal.SIGINT, signal.SIG_IGN)  # whoever started this ends it
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(1))  # as an error: what is half written is taken away
    answers = os.fdopen(os.dup(sys.stdout.fileno()), "w", encoding="utf-8")
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())  # a library that prints does not spoil the answers
    for line in _lines():
        task = Task.from_data(json.loads(line))
        bound(task.room_bytes)
        try:
            done = make_song(task)
        except MemoryError:
            done = Done(task.name, "none", why=NO_MEMORY)
        except OSError as error:
            done = Done(task.name, "none", why=could_not_write(error.strerror or str(error)))
        except Exception as error:  # noqa: BLE001 - one song may not hold up the others, whatever happens
            done = Done(task.name, "none", why=went_wrong(type(error).__name__, str(error)))
        answers.write(json.dumps(asdict(done)) + "\n")
        answers.flush()


def _lines() -> Iterator[bytes]:
    """Give what comes in; end the process where nothing more can come while it is at work."""
    lines: queue.SimpleQueue[bytes] = queue.SimpleQueue()
    at_work = threading.Event()

    def read() -> None:
        for line in sys.stdin.buffer:
            lines.put(line)
        lines.put(b"")
        if at_work.is_set():
            _thread.interrupt_main(signal.SIGTERM)
            time.sleep(_TO_END_SECONDS)
            os._exit(1)

    threading.Thread(target=read, daemon=True).start()
    while line := lines.get():
        at_work.set()
        yield line
        at_work.clear()
