"""How time and memory grow with bars, layers, distinct loops and songs: `python -m benchmarks.song.grow OUT.png`.

Each point is one process with an empty cache; processor time, because it is the steadier measure on a shared machine.
Needs matplotlib, and prints the points besides.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

from benchmarks.song import songs
from benchmarks.song.compare import MIXER, measured

Points = list[tuple[int, float, float]]
GROWTHS: dict[str, tuple[tuple[int, ...], Callable[[int], list[songs.Song]]]] = {
    "bars (4 layers)": ((24, 80, 160, 280, 400), lambda bars: [songs.usual(bars)]),
    "layers (4 loops, 80 bars)": ((1, 4, 8, 16), lambda layers: [songs.big(80, layers, 4)]),
    "distinct loops (16 layers, 80 bars)": ((4, 8, 16), lambda loops: [songs.big(80, 16, loops)]),
    "songs (one process)": ((1, 5, 10), songs.class_of),
}


def grown(sizes: tuple[int, ...], made: Callable[[int], list[songs.Song]]) -> Points:
    """Size, processor seconds and peak megabytes."""
    points = []
    for size in sizes:
        with tempfile.TemporaryDirectory(prefix="song-benchmark-") as name:
            folder = Path(name)
            some = made(size)
            loops, _ = songs.write_loops(folder / "loops", some[0])
            (folder / "class").mkdir()
            recipes = [folder / "class" / f"{number}.yaml" for number in range(len(some))]
            for recipe, song in zip(recipes, some, strict=True):
                recipe.write_text(song.recipe(), encoding="utf-8")
            asked = [MIXER, "render", *map(str, recipes), "--loops", str(loops), "--out", str(folder / "out")]
            _, processor, peak = measured(asked, str(folder / "cache"))
            points.append((size, processor, peak))
    return points


def drawn(found: dict[str, Points], out: Path) -> None:
    import matplotlib as mpl  # noqa: PLC0415 - the numbers come without it

    mpl.use("Agg")
    from matplotlib import pyplot as plt  # noqa: PLC0415 - as above

    figure, axes = plt.subplots(2, len(found), figsize=(3 * len(found), 4.2), sharex="col")
    for column, (name, points) in enumerate(found.items()):
        for row, (what, at) in enumerate((("CPU seconds", 1), ("peak MB", 2))):
            axis = axes[row][column]
            axis.plot([point[0] for point in points], [point[at] for point in points], "k.-")
            axis.set_ylim(bottom=0)
            axis.grid(visible=True, linewidth=0.3)
            if column == 0:
                axis.set_ylabel(what)
        axes[1][column].set_xlabel(name, fontsize=8)
    figure.tight_layout()
    figure.savefig(out, dpi=80)


def main() -> None:
    found = {name: grown(*growth) for name, growth in GROWTHS.items()}
    for name, points in found.items():
        cells = ", ".join(f"{size}: {processor:.2f} s {peak:.0f} MB" for size, processor, peak in points)
        print(f"{name}: {cells}")
    if len(sys.argv) > 1:
        drawn(found, Path(sys.argv[1]))


if __name__ == "__main__":
    main()
