"""A class's songs by `mixer batch`, beside one song by `mixer render`: `python -m benchmarks.song.batch`.

Loops are in the cache. In each round: one song by `render`, all songs by `batch` into a new folder with its pages,
and `batch` once more with nothing changed. Times vary with what else the machine does, so ratios are of one round.
Memory is that of all processes together (their proportional sets, looked at every 50 ms; Linux).
"""

from __future__ import annotations

import argparse
import os
import re
import shutil
import subprocess
import tempfile
import time
from contextlib import suppress
from pathlib import Path
from statistics import median

from benchmarks.song.compare import MIXER
from benchmarks.song.many import prepared

Took = tuple[float, float, float]


def took(command: list[str], cache: Path) -> Took:
    """Wall seconds, processor seconds, and megabytes of all processes at their height."""
    before, began = os.times(), time.monotonic()
    environment = {**os.environ, "MIXER_CACHE": str(cache)}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    run = subprocess.Popen(command, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    most = 0.0
    while run.poll() is None:
        most = max(most, _megabytes(run.pid))
        time.sleep(0.05)
    assert run.returncode == 0, command
    after = os.times()
    processor = after.children_user + after.children_system - before.children_user - before.children_system
    return time.monotonic() - began, processor, most


def _megabytes(process: int) -> float:
    """Memory of a process and all that it started."""
    total = 0.0
    with suppress(OSError):
        found = re.search(r"^Pss:\s+(\d+) kB", Path(f"/proc/{process}/smaps_rollup").read_text(), re.MULTILINE)
        total += int(found[1]) / 1000 if found else 0.0
        for task in Path(f"/proc/{process}/task").iterdir():
            total += sum(_megabytes(int(child)) for child in (task / "children").read_text().split())
    return total


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--songs", type=int, default=30)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--jobs", type=int, default=None)
    asked = parser.parse_args()
    runs: dict[str, list[Took]] = {"render, one song": [], "batch": [], "batch again": []}
    with tempfile.TemporaryDirectory(prefix="song-benchmark-") as name:
        folder = Path(name)
        recipes, loops, _ = prepared(folder, asked.songs)
        out, cache = folder / "out", folder / "cache"
        render = [MIXER, "render", str(recipes[0]), "--loops", str(loops), "--out", str(folder / "one.wav")]
        batch = [MIXER, "batch", str(recipes[0].parent), "--loops", str(loops), "--out", str(out)]
        batch += [] if asked.jobs is None else ["--jobs", str(asked.jobs)]
        took(batch, cache)
        for _ in range(asked.rounds):
            shutil.rmtree(out)
            for kind, command in zip(runs, (render, batch, batch), strict=True):
                runs[kind].append(took(command, cache))
    print(f"| {asked.songs} songs | wall s | least | CPU s | MB in all | wall / render | CPU / render |")
    print("|---|---|---|---|---|---|---|")
    for kind, each in runs.items():
        walls, processor, memory = zip(*each, strict=True)
        pairs = list(zip(each, runs["render, one song"], strict=True))
        by_wall = median(mine[0] / one[0] for mine, one in pairs)
        by_processor = median(mine[1] / one[1] for mine, one in pairs)
        print(
            f"| {kind} | {median(walls):.2f} | {min(walls):.2f} | {median(processor):.2f} | {max(memory):.0f} ", end=""
        )
        print(f"| {by_wall:.1f} | {by_processor:.1f} |")


if __name__ == "__main__":
    main()
