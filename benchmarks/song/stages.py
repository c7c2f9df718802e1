"""Where the time of one song goes, and what each stage could not do without: `python -m benchmarks.song.stages`.

Processor time of the best of some runs within one process; a stage that contains another is told with and without it.
The floor of a stage is copying the bytes that it makes, or for the file, writing them.
"""

from __future__ import annotations

import os
import tempfile
import time
from collections.abc import Callable, Iterable
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the program itself does, before numpy is loaded

import numpy as np
from numpy.typing import NDArray

from benchmarks.song import songs
from mixer.song.carried import carried_text
from mixer.song.finish import finish
from mixer.song.mix import Mix
from mixer.song.opened import open_recipe
from mixer.song.render import prepare
from mixer.song.songfile import write_song
from mixer.store.whole import whole_file

ROUNDS = 7


def best_ms(run: Callable[[], object], rounds: int = ROUNDS) -> float:
    least = float("inf")
    for _ in range(rounds):
        start = time.process_time()
        run()
        least = min(least, time.process_time() - start)
    return 1000 * least


def gone_through(blocks: Iterable[NDArray[np.float32]]) -> None:
    for _ in blocks:
        pass


def copied(frames: int) -> float:
    """Copying so much stereo float sound, block by block."""
    source = np.ones((16_384, 2), np.float32)
    out = np.empty_like(source)

    def run() -> None:
        for _ in range(-(-frames // len(source))):
            np.copyto(out, source)

    return best_ms(run)


def written(content: bytes, out: Path) -> float:
    """Writing so many bytes as the program does, until they are on the disk."""

    def run() -> None:
        with whole_file(out) as stream:
            stream.write(content)

    return best_ms(run)


def main() -> None:
    with tempfile.TemporaryDirectory(prefix="song-benchmark-") as name:
        folder = Path(name)
        loops, song = songs.write_loops(folder / "loops", songs.usual())
        recipe = folder / "mine" / "song.yaml"
        recipe.parent.mkdir()
        recipe.write_text(song.recipe(), encoding="utf-8")
        os.environ["MIXER_CACHE"] = str(folder / "cache")
        opened = open_recipe(recipe, [loops])
        plan = opened.plan
        assert plan is not None
        materials, _ = prepare(plan)
        mix = Mix(plan, materials)
        finished = finish(mix)
        out = folder / "song.wav"
        carried = carried_text(plan, materials)
        rows = [("recipe and catalogs read, plan", best_ms(lambda: open_recipe(recipe, [loops])), 0.0)]
        loop_frames = sum(len(material.samples) for material in materials.values())
        warm = best_ms(lambda: prepare(plan))
        os.environ["MIXER_CACHE"] = "off"
        cold = best_ms(lambda: prepare(plan), 3)
        mixed = best_ms(lambda: gone_through(mix.blocks()))
        surveyed = best_ms(lambda: finish(mix)) - mixed
        turned = best_ms(lambda: gone_through(finished.blocks())) - mixed
        filed = best_ms(lambda: write_song(plan, finished, out, "wav", "pcm16", carried)) - mixed - turned
        song_copied = copied(mix.length_frames)
        rows += [
            ("loops from the cache", warm, copied(loop_frames)),
            ("loops made", cold, copied(loop_frames)),
            ("mix (made twice)", 2 * mixed, song_copied),
            ("measured, gain and limiter's curve found", surveyed, song_copied),
            ("turned up, limited", turned, song_copied),
            ("dither, 16 bits, file", filed, written(out.read_bytes(), folder / "copy.wav")),
        ]
    print("| stage | CPU ms | floor ms |\n|---|---|---|")
    for stage, took, floor in rows:
        print(f"| {stage} | {took:.1f} | {floor:.1f} |")


if __name__ == "__main__":
    main()
