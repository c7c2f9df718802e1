"""Disturbs the run over a class in every way that a lesson does, and looks what is left.

    python -m benchmarks.robustness.faults [FAULT...] [--seed 1] [--students 16] [--rounds 5]

After each disturbed run: what stands in the folder is byte for byte what an undisturbed run makes, or is not there;
nothing is half-written; no process is left; a word says what happened. And after one more run all is there.
Needs Linux (it looks for processes in /proc) and, for a disk that is full or may not be written, the right to mount.
"""

from __future__ import annotations

import argparse
import os
import random
import resource
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from benchmarks.robustness.classes import Class, write_class
from benchmarks.robustness.harm import terminal_harm

MIXER = [sys.executable, "-m", "mixer"]
Songs = dict[str, bytes]


class Bench:
    """A class, what undisturbed runs make of two of its weeks, and where disturbed ones go."""

    def __init__(self, folder: Path, seed: int, students: int) -> None:
        self.folder = folder
        self.rng = random.Random(seed)
        self.made: Class = write_class(folder / "class", seed=seed, students=students, weeks=2)
        self.count = 0
        began = time.monotonic()
        self.start(folder / "whole").communicate()
        self.whole = songs(folder / "whole")
        self.seconds = time.monotonic() - began
        self.start(folder / "next", week=1).communicate()
        self.next_whole = songs(folder / "next")
        assert len(self.whole) > students // 3

    def start(self, out: Path, week: int = 0, **options: object) -> subprocess.Popen[str]:
        command = [*MIXER, "batch", str(self.made.weeks[week]), "--out", str(out), "--loops", str(self.made.loops)]
        environment = {**os.environ, "MIXER_CACHE": str(self.folder / "cache"), "PYTHONUTF8": "1"}
        return subprocess.Popen(
            [*command, "--jobs", "2"],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env=environment,
            start_new_session=True,
            **options,  # type: ignore[call-overload]  # which of run's forms they fit is not told by a dict
        )

    def out(self) -> Path:
        """A folder with none beside it: those with lower numbers would be taken for earlier weeks."""
        self.count += 1
        return self.folder / str(self.count) / "songs"

    def later(self) -> float:
        """Some moment of a run, in seconds from its start."""
        return self.rng.uniform(0.1, 1.1) * self.seconds

    def wrong(self, out: Path, run: subprocess.Popen[str], told: str) -> list[str]:
        """What is not as it must be after a run."""
        found = [f"{name} is not what it must be" for name, song in songs(out).items() if song != self.whole.get(name)]
        found += [f"{path.name} was left half-written" for path in out.rglob("*.part")]
        found += [f"{out.name}: {each}" for each in terminal_harm(told)]
        found += ["Python's own words were shown"] if "Traceback" in told else []
        until = time.monotonic() + 5
        while group_lives(run.pid) and time.monotonic() < until:
            time.sleep(0.01)
        return found + (["a process is left"] if group_lives(run.pid) else [])

    def again(self, out: Path) -> list[str]:
        """Run once more, undisturbed; tell what is wrong after that."""
        run = self.start(out)
        told = "".join(run.communicate())
        missing = [f"{name} is not there after the next run" for name in self.whole.keys() - songs(out).keys()]
        return [*self.wrong(out, run, told), *missing]


def songs(out: Path) -> Songs:
    return {path.name: path.read_bytes() for path in out.glob("*.wav") if path.name != "level check.wav"}


def group_lives(group: int) -> bool:
    try:
        os.killpg(group, 0)
    except (ProcessLookupError, PermissionError):
        return False
    return True


def next_week(bench: Bench) -> list[str]:
    """Last week's songs are there, a third has changed, and the run is killed at a random point."""
    out = bench.out()
    bench.start(out, week=0).communicate()
    old = songs(out)
    run = bench.start(out, week=1)
    time.sleep(bench.later())
    with suppress(ProcessLookupError):
        os.killpg(run.pid, bench.rng.choice((signal.SIGKILL, signal.SIGTERM)))
    run.communicate()
    new = bench.next_whole
    found = [f"{name} is of no week" for name, song in songs(out).items() if song not in (old.get(name), new.get(name))]
    last = bench.start(out, week=1)
    told = "".join(last.communicate())
    now = songs(out)
    found += [f"{name} is not this week's" for name, song in new.items() if now.get(name) != song]
    return found + [each for each in bench.wrong(out, last, told) if "is not what" not in each]


def workers_of(process: int) -> list[int]:
    with suppress(OSError):
        return [int(each) for each in Path(f"/proc/{process}/task/{process}/children").read_text().split()] + [
            int(each)
            for task in Path(f"/proc/{process}/task").iterdir()
            if task.name != str(process)
            for each in (task / "children").read_text().split()
        ]
    return []


def workers_killed(bench: Bench) -> list[str]:
    """Processes are killed at random points, as by a system that is short of memory."""
    out = bench.out()
    run = bench.start(out)
    over = threading.Event()

    def kill() -> None:
        while not over.wait(bench.rng.uniform(0.05, bench.seconds / 4)):
            for worker in workers_of(run.pid)[:1]:
                with suppress(ProcessLookupError):
                    os.kill(worker, bench.rng.choice((signal.SIGKILL, signal.SIGTERM, signal.SIGSEGV)))

    killer = threading.Thread(target=kill)
    killer.start()
    told = "".join(run.communicate())
    over.set()
    killer.join()
    gone = len(bench.whole) - len(songs(out))
    word = [] if gone <= told.count("was ended twice") else [f"{gone} songs are gone without a word"]
    return [*bench.wrong(out, run, told), *word, *bench.again(out)]


def _ended(bench: Bench, how: signal.Signals, word: str) -> list[str]:
    out = bench.out()
    run = bench.start(out)
    time.sleep(bench.later())
    over = run.poll() is not None
    with suppress(ProcessLookupError):
        if how == signal.SIGINT and bench.rng.random() < 0.5:
            os.killpg(run.pid, how)  # as a terminal does: to all of them
        else:
            run.send_signal(how)
    told = "".join(run.communicate())
    begun = "found" in told  # before that there is nothing to tell
    found = [] if over or word in told or "For the teacher" in told or not begun else [f"not told: {word}"]
    half = [] if how != signal.SIGKILL else list(out.rglob("*.part"))
    wrong = [each for each in bench.wrong(out, run, told) if "half-written" not in each or not half]
    return [*found, *wrong, *bench.again(out)]


def ctrl_c(bench: Bench) -> list[str]:
    """Somebody presses Ctrl-C at a random point, and runs it again."""
    return _ended(bench, signal.SIGINT, "Stopped.")


def told_to_end(bench: Bench) -> list[str]:
    """The system is shut down at a random point."""
    return _ended(bench, signal.SIGTERM, "Stopped.")


def killed(bench: Bench) -> list[str]:
    """The whole program is killed at a random point; what it had half written goes with the next run."""
    return _ended(bench, signal.SIGKILL, "")


def two_runs(bench: Bench) -> list[str]:
    """Two teachers start at once, into one folder."""
    out = bench.out()
    runs = [bench.start(out), bench.start(out)]
    told = ["".join(run.communicate()) for run in runs]
    refused = [text for run, text in zip(runs, told, strict=True) if run.returncode == 2]
    found = [] if all("Another run is making songs" in text and "--out" in text for text in refused) else ["no word"]
    found += [] if len(refused) == 1 else [f"{len(refused)} were refused"]
    for run, text in zip(runs, told, strict=True):
        found += bench.wrong(out, run, text)
    return found + bench.again(out)


@contextmanager
def disk(bench: Bench, size_bytes: int) -> Iterator[Path]:
    place = bench.out()
    place.mkdir(parents=True)
    subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={size_bytes}", "tmpfs", place], check=True)
    try:
        yield place
    finally:
        subprocess.run(["umount", place], check=True)


def disk_full(bench: Bench) -> list[str]:
    """The stick is full after a random number of songs; then there is room."""
    need = sum(map(len, bench.whole.values()))
    with disk(bench, round(bench.rng.uniform(0.02, 0.9) * need)) as place:
        out = place / "songs"
        run = bench.start(out)
        told = "".join(run.communicate())
        gone = len(bench.whole) - len(songs(out))
        word = [] if told.count("No space left on device") >= min(1, gone) else [f"{gone} songs gone without a word"]
        word += [] if run.returncode == 1 else [f"it ended with {run.returncode}"]
        found = [*word, *bench.wrong(out, run, told)]
        subprocess.run(["mount", "-o", f"remount,size={3 * need + 10_000_000}", place], check=True)
        return found + bench.again(out)


def files_too_large(bench: Bench) -> list[str]:
    """The drive takes no large files."""
    most = round(bench.rng.uniform(0.2, 1.0) * max(map(len, bench.whole.values())))
    out = bench.out()
    run = bench.start(out, preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (most, most)))
    told = "".join(run.communicate())
    word = [] if "File too large" in told or len(songs(out)) == len(bench.whole) else ["no word"]
    return [*word, *bench.wrong(out, run, told), *bench.again(out)]


def read_only(bench: Bench) -> list[str]:
    """The folder may not be written; later it may."""
    with disk(bench, 500_000_000) as place:
        out = place / "songs"
        bench.start(out).communicate()
        subprocess.run(["mount", "-o", "remount,ro", place], check=True)
        run = bench.start(out)
        told = "".join(run.communicate())
        word = [] if "could not be written (Read-only file system)" in told and run.returncode == 1 else ["no word"]
        found = [*word, *bench.wrong(out, run, told)]
        subprocess.run(["mount", "-o", "remount,rw", place], check=True)
        return found + bench.again(out)


FAULTS: dict[str, Callable[[Bench], list[str]]] = {
    each.__name__.replace("_", "-"): each
    for each in (
        *(workers_killed, ctrl_c, told_to_end, killed, next_week, two_runs, disk_full, files_too_large, read_only),
    )
}


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("faults", nargs="*", metavar="FAULT", help=f"some of {', '.join(FAULTS)} (all)")
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--students", type=int, default=16)
    options.add_argument("--rounds", type=int, default=5)
    chosen = options.parse_args()
    wrong = 0
    with tempfile.TemporaryDirectory(prefix="faults-") as name:
        bench = Bench(Path(name), chosen.seed, chosen.students)
        print(f"{len(bench.whole)} songs, {bench.seconds:.1f} s undisturbed")
        for fault in chosen.faults or FAULTS:
            found = [each for _ in range(chosen.rounds) for each in FAULTS[fault](bench)]
            wrong += len(found)
            print(f"{fault}: {chosen.rounds} runs, {len(found)} wrong", *found[:9], sep="\n    ", flush=True)
    raise SystemExit(1 if wrong else 0)


if __name__ == "__main__":
    main()
