"""A class of songs, in one process and in two, and by sox: `python -m benchmarks.song.many`.

Songs of one class share the teacher's loops; there are three tempos, and everyone's layers come and go otherwise.
"""

from __future__ import annotations

import argparse
import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from statistics import median

from benchmarks.song import songs
from benchmarks.song.compare import MIXER, measured
from benchmarks.song.peers import peers

Took = tuple[float, float, float]


def prepared(folder: Path, count: int) -> tuple[list[Path], Path, Path]:
    """Recipes, loops, and a shell script that makes the same songs with sox."""
    made = songs.class_of(count)
    loops, _ = songs.write_loops(folder / "loops", made[0])
    recipes, lines = [], ["set -e"]
    for number, song in enumerate(made):
        recipe = folder / "class" / f"song {number + 1:02}.yaml"
        recipe.parent.mkdir(exist_ok=True)
        recipe.write_text(song.recipe(), encoding="utf-8")
        recipes.append(recipe)
        room = folder / f"peer {number}"
        room.mkdir()
        command = peers(song, loops, room)["sox"](room / "song.wav")
        lines.append(" ".join(f"'{word}'" for word in command))
    script = folder / "all.sh"
    script.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return recipes, loops, script


def ours(recipes: list[Path], loops: Path, out: Path, processes: int = 1) -> Took:
    """Render all, cold, shared out to so many processes that run at once."""
    out.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as cache:
        parts = [recipes[number::processes] for number in range(processes)]
        commands = [[MIXER, "render", *map(str, part), "--loops", str(loops), "--out", str(out)] for part in parts]
        if processes == 1:
            return measured(commands[0], cache)
        # The shell waits for both, so that its children's time and size are counted.
        script = " & ".join(" ".join(f"'{word}'" for word in command) for command in commands) + " & wait"
        return measured(["bash", "-c", script], cache)


def main() -> None:
    parser = argparse.ArgumentParser(description="A class of songs, in one process and in two, and by sox.")
    parser.add_argument("--songs", type=int, default=30)
    parser.add_argument("--rounds", type=int, default=3)
    asked = parser.parse_args()
    took: dict[str, list[Took]] = {}
    with tempfile.TemporaryDirectory(prefix="song-benchmark-") as room:
        folder = Path(room)
        recipes, loops, script = prepared(folder, asked.songs)
        turns: dict[str, Callable[[], Took]] = {
            "mixer, one process": lambda: ours(recipes, loops, folder / "out"),
            "mixer, two processes": lambda: ours(recipes, loops, folder / "out", 2),
            "sox, one after the other": lambda: measured(["bash", str(script)]),
        }
        for _ in range(asked.rounds):
            for name, run in turns.items():
                os.sync()  # half a gigabyte of the one before is on its way to the disk
                took.setdefault(name, []).append(run())
    print(f"| {asked.songs} songs by | wall s | least | CPU s | peak MB | wall / sox | CPU / sox |")
    print("|---|---|---|---|---|---|---|")
    sox = took["sox, one after the other"]
    for name, runs in took.items():
        walls, processor = [run[0] for run in runs], [run[1] for run in runs]
        ratios = sorted(run[0] / other[0] for run, other in zip(runs, sox, strict=True))
        by_processor = median(run[1] / other[1] for run, other in zip(runs, sox, strict=True))
        cells = f"{median(walls):.1f} | {min(walls):.1f} | {median(processor):.1f} | {max(run[2] for run in runs):.0f}"
        print(f"| {name} | {cells} | {median(ratios):.2f} ({ratios[0]:.2f} to {ratios[-1]:.2f}) | {by_processor:.2f} |")


if __name__ == "__main__":
    main()
