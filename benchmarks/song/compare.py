"""Whole songs by us and by other means, in one interleaved run: `python -m benchmarks.song.compare`.

Every round makes each song once by each method, in an order that turns from round to round, so that whatever else the
machine does falls on all alike. Ratios are ours to the other's in the same round; their middle and spread are told.
"""

from __future__ import annotations

import argparse
import os
import platform
import subprocess
import sys
import tempfile
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from statistics import median

from benchmarks.song import songs
from benchmarks.song.judge import Verdict, judge
from benchmarks.song.peers import peers

MIXER = str(Path(sys.executable).parent / "mixer")
COLD, WARM = "mixer, cold cache", "mixer, warm cache"
CASES: dict[str, Callable[[], songs.Song]] = {"usual": songs.usual, "stretched": songs.usual, "big": songs.big}


@dataclass
class Method:
    """A way to make the song, and what it took each time: seconds, processor seconds, megabytes."""

    command: list[str]
    out: Path
    cache: str = "off"
    cold: bool = False
    walls: list[float] = field(default_factory=list)
    processor: list[float] = field(default_factory=list)
    peaks_mb: list[float] = field(default_factory=list)

    def run(self) -> None:
        with tempfile.TemporaryDirectory() as fresh:
            wall, processor, peak = measured(self.command, fresh if self.cold else self.cache)
        self.walls.append(wall)
        self.processor.append(processor)
        self.peaks_mb.append(peak)


def measured(command: list[str], cache: str = "off") -> tuple[float, float, float]:
    """Wall seconds, processor seconds and megabytes of one run of a command."""
    environment = {**os.environ, "MIXER_CACHE": cache}
    # An installed program is compiled; a checkout whose Python may not write would be compiled anew each time.
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    meter = [sys.executable, "-S", "-m", "benchmarks.song.measure"]
    done = subprocess.run([*meter, *command], capture_output=True, text=True, check=True, env=environment)
    code, *numbers = done.stdout.split()
    assert code == "0", f"{' '.join(command)}: {done.stderr}"
    wall, processor, peak = map(float, numbers)
    return wall, processor, peak


def case(name: str, folder: Path, wanted: list[str]) -> tuple[songs.Song, Path, dict[str, Method]]:
    """Everything that a case needs, written into `folder`; only methods whose names begin as wanted, if any are."""
    loops, song = songs.write_loops(folder / "loops", CASES[name](), stretched=name == "stretched")
    # Loops that lie beside a recipe are not kept, so the recipe gets a folder of its own.
    recipe = folder / "mine" / "song.yaml"
    recipe.parent.mkdir()
    recipe.write_text(song.recipe(), encoding="utf-8")
    cache = folder / "cache"
    methods = {
        way: Method(
            [MIXER, "render", str(recipe), "--loops", str(loops), "--out", str(folder / f"{way}.wav")],
            folder / f"{way}.wav",
            str(cache),
            way == COLD,
        )
        for way in (COLD, WARM)
    }
    measured(methods[WARM].command, str(cache))
    for number, (way, command) in enumerate(peers(song, loops, folder).items()):
        if not wanted or any(way.startswith(each) for each in wanted):
            out = folder / f"peer {number}.wav"
            methods[way] = Method(command(out), out)
    return song, loops, methods


def table(song: songs.Song, loops: Path, methods: dict[str, Method]) -> str:
    """What was measured, as Markdown."""
    lines = [
        "| made by | wall s | least | CPU s | peak MB | warm / it | cold / it | LUFS | dBTP | hits late by ms |",
        "|---|---|---|---|---|---|---|---|---|---|",
    ]
    for name, method in methods.items():
        verdict: Verdict = judge(method.out, song, loops)
        took = f"{median(method.walls):.2f} | {min(method.walls):.2f} | {median(method.processor):.2f}"
        ratios = " | ".join(_ratio(methods[way], method) if method is not methods[way] else "" for way in (WARM, COLD))
        lines.append(f"| {name} | {took} | {max(method.peaks_mb):.0f} | {ratios} | {verdict} |")
    return "\n".join(lines)


def _ratio(ours: Method, theirs: Method) -> str:
    """Ours to theirs, round by round: the middle, and from least to greatest; then the same of processor time."""
    ratios = sorted(mine / other for mine, other in zip(ours.walls, theirs.walls, strict=True))
    processor = median(mine / other for mine, other in zip(ours.processor, theirs.processor, strict=True))
    return f"**{median(ratios):.2f}** ({ratios[0]:.2f} to {ratios[-1]:.2f}), CPU {processor:.2f}"


def main() -> None:
    parser = argparse.ArgumentParser(description="Whole songs by us and by other means.")
    parser.add_argument("cases", nargs="*", default=list(CASES), help=f"some of {', '.join(CASES)} (all)")
    parser.add_argument("--rounds", type=int, default=7, help="how often each method makes each song")
    parser.add_argument("--only", nargs="*", default=[], help="beginnings of the names of others to run (all)")
    asked = parser.parse_args()
    print(
        f"{platform.machine()}, {os.cpu_count()} processors, Python {platform.python_version()}; {asked.rounds} rounds"
    )
    for name in asked.cases:
        with tempfile.TemporaryDirectory(prefix="song-benchmark-") as folder:
            song, loops, methods = case(name, Path(folder), asked.only)
            for turn in range(asked.rounds):
                order = list(methods.values())
                for method in order[turn % len(order) :] + order[: turn % len(order)]:
                    method.run()
            print(f"\n{name}: {song.seconds:.0f} seconds, {len(song.layers)} layers\n")
            print(table(song, loops, methods), flush=True)


if __name__ == "__main__":
    main()
