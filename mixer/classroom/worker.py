"""The other end of the pipe: a process that makes one song after another as it is told, a line for each.

A task comes in as a line of JSON and what came of it goes out as one. Whatever
a stranger's file may do, it ends this process at worst and not the run.
"""

from __future__ import annotations

import json
import os
import signal
import sys
from dataclasses import asdict

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy is loaded; see `mixer.cli`


def main() -> None:
    """Make songs until nothing more comes in."""
    from mixer.classroom.songs import Done, Task, make_song  # noqa: PLC0415 - after what is set above

    signal.signal(signal.SIGINT, signal.SIG_IGN)  # whoever started this ends it
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(1))  # as an error: what is half written is taken away
    answers = os.fdopen(os.dup(sys.stdout.fileno()), "w", encoding="utf-8")
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())  # a library that prints does not spoil the answers
    for line in sys.stdin.buffer:
        task = Task.from_data(json.loads(line))
        try:
            done = make_song(task)
        except Exception as error:  # noqa: BLE001 - one song may not hold up the others, whatever happens
            done = Done(task.name, "none", why=f"{type(error).__name__}: {error}"[:300])
        answers.write(json.dumps(asdict(done)) + "\n")
        answers.flush()
