"""A machine that has no room for another process: the songs are not made, and the run ends."""

from __future__ import annotations

import subprocess
import threading

from mixer.classroom import batch
from mixer.classroom.tasks import Task
from mixer.words.english.classroom import ENDED


def test_a_run_ends_where_no_process_can_be_started(tmp_path, monkeypatch):
    def refuse(*_args, **_options):
        raise BlockingIOError("no more processes")

    monkeypatch.setattr(subprocess, "Popen", refuse)
    tasks = [Task(tmp_path / f"{name}.yaml", name, tmp_path, "wav", (), None) for name in "ab"]
    came = []
    run = threading.Thread(target=lambda: came.extend(batch.make_all(tasks, 2, lambda *_: None)), daemon=True)
    run.start()
    run.join(5)
    assert [(done.name, done.state, done.why) for done in came] == [("a", "none", ENDED), ("b", "none", ENDED)]
