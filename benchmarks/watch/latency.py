"""From a save to the finished song, beside `mixer render`: `python -m benchmarks.watch.latency`.

The 90-second song of `benchmarks/song` is watched while one section of it changes to and fro. In each round the saved
recipe is also rendered by `mixer render` in a process of its own, from a warm cache, so that what else the machine does
falls on both. `--saves 1000` saves a short song so often and tells how much memory the watcher takes on the way.
"""

from __future__ import annotations

import argparse
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the program itself does, before numpy is loaded

from benchmarks.song import songs
from mixer.versions.watching import Watcher

SHORT = "tempo: 106\nlayers:\n  drums: tin-roof\n  bass: slow-tide\nsections:\n  - verse, 4 bars: drums{}\n"


def timed(run: Callable[[], object]) -> tuple[float, float]:
    """Wall and processor seconds, those of children included."""
    start, before = time.perf_counter(), os.times()
    run()
    after = os.times()
    return time.perf_counter() - start, sum(after[:4]) - sum(before[:4])


def save(watcher: Watcher, recipe: Path, text: str) -> None:
    recipe.write_text(text, encoding="utf-8")
    watcher.look()
    watcher.look()
    saved = watcher.make_next()
    assert saved is not None
    assert saved.made is not None
    assert saved.made.report is not None


def latency(room: Path, rounds: int) -> None:
    loops, song = songs.write_loops(room / "loops", songs.usual())
    text = song.recipe()
    head, part, tail = text.partition("  - name: part 5\n")
    without = head + part + tail.replace("      gulls:\n", "", 1)
    assert without != text
    recipe = room / "mine" / "song.yaml"
    other = room / "other" / "song.yaml"
    for path in (recipe, other):
        path.parent.mkdir()
        path.write_text(text, encoding="utf-8")
    command = [sys.executable, "-m", "mixer", "render", str(other), "--loops", str(loops)]
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    watcher = Watcher(recipe, [loops])
    save(watcher, recipe, text)
    found = []
    for number in range(rounds):
        saved_text = without if number % 2 == 0 else text
        ours = timed(lambda text=saved_text: save(watcher, recipe, text))
        other.write_text(saved_text, encoding="utf-8")
        whole = timed(lambda: subprocess.run(command, check=True, stdout=subprocess.DEVNULL))
        assert recipe.with_suffix(".wav").read_bytes() == other.with_suffix(".wav").read_bytes()
        found.append((*ours, *whole))
    for name, ours_at, whole_at in (("wall", 0, 2), ("CPU", 1, 3)):
        ratios = sorted(each[ours_at] / each[whole_at] for each in found)
        ours_ms = 1000 * statistics.median(each[ours_at] for each in found)
        whole_ms = 1000 * statistics.median(each[whole_at] for each in found)
        middle = statistics.median(ratios)
        print(f"{name}: saved to song {ours_ms:.0f} ms, mixer render {whole_ms:.0f} ms, ", end="")
        print(f"ratio {middle:.2f} ({ratios[0]:.2f} to {ratios[-1]:.2f})")


def memory(room: Path, saves: int) -> None:
    songs.write_loops(room / "loops", songs.usual())
    recipe = room / "short.yaml"
    watcher = Watcher(recipe, [room / "loops"])
    for number in range(1, saves + 1):
        save(watcher, recipe, SHORT.format(("", ", bass", ", bass 2-3", ", bass 4")[number % 4]))
        if number in (1, 10) or number % max(1, saves // 10) == 0:
            print(f"{number} saves: {_resident_mb():.1f} MB", flush=True)


def _resident_mb() -> float:
    try:
        pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    except OSError:  # no Linux: the most that there ever was
        return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return pages * resource.getpagesize() / 1e6


def main() -> None:
    parser = argparse.ArgumentParser(description="From a save to the finished song.")
    parser.add_argument("--rounds", type=int, default=9)
    parser.add_argument("--saves", type=int, default=0, help="instead: memory over so many saves")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="watch-benchmark-") as name:
        room = Path(name)
        os.environ["MIXER_CACHE"] = str(room / "cache")
        if asked.saves:
            memory(room, asked.saves)
        else:
            latency(room, asked.rounds)


if __name__ == "__main__":
    main()
