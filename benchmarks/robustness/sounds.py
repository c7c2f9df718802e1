"""Damages sound files by the thousand and looks whether reading one breaks, hangs or takes the memory.

    python -m benchmarks.robustness.sounds [--seed 1] [--count 3000]

Files are read in a child process with a limit on its memory; a file that kills it is written beside.
"""

from __future__ import annotations

import argparse
import multiprocessing
import random
import resource
import tempfile
from pathlib import Path

import numpy as np
import soundfile

from mixer.signal.files import UnreadableSoundError, read_sound

MEMORY_BYTES = 1_500_000_000
SECONDS = 20
BATCH = 100


def whole_files(folder: Path) -> list[bytes]:
    tone = (0.3 * np.sin(np.arange(8000) / 10)).astype(np.float32)
    made = []
    kinds = [("wav", "PCM_16"), ("wav", "FLOAT"), ("wav", "PCM_24"), ("flac", "PCM_16"), ("aiff", "PCM_16")]
    for ending, subtype in [*kinds, ("ogg", "VORBIS"), ("mp3", None)]:
        path = folder / f"whole.{ending}"
        soundfile.write(path, np.stack([tone, -tone], axis=1), 44_100, subtype=subtype)
        made.append(path.read_bytes())
    return made


def damaged(content: bytes, rng: random.Random) -> bytes:
    data = bytearray(content)
    for _ in range(rng.randint(1, 8)):
        kind = rng.randrange(5)
        at = rng.randrange(len(data) if rng.random() < 0.5 else min(80, len(data)))
        if kind == 0:
            data[at] = rng.randrange(256)
        elif kind == 1:
            data[at : at + 4] = rng.choice([b"\xff\xff\xff\xff", b"\0\0\0\0", b"\xff\xff\xff\x7f", b"\x01\0\0\0"])
        elif kind == 2:
            del data[at : at + rng.randint(1, 400)]
        elif kind == 3:
            data[at:at] = bytes(rng.randrange(256) for _ in range(rng.randint(1, 40)))
        else:
            del data[max(1, at) :]
        if not data:
            return b""
    return bytes(data)


def _read_all(paths: list[str], at: multiprocessing.Value) -> None:  # type: ignore[valid-type]  # a Value has no static type
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    for number, path in enumerate(paths):
        at.value = number
        try:
            samples, _ = read_sound(Path(path), 120)
            assert samples.ndim == 2 and samples.shape[1] == 2 and np.isfinite(samples).all()
        except UnreadableSoundError:
            pass
    at.value = len(paths)


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--count", type=int, default=3000)
    chosen = options.parse_args()
    rng = random.Random(chosen.seed)
    broken = 0
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        originals = whole_files(folder)
        for start in range(0, chosen.count, BATCH):
            paths = []
            for number in range(BATCH):
                path = folder / f"{number}.wav"
                path.write_bytes(damaged(rng.choice(originals), rng))
                paths.append(str(path))
            broken += _batch(paths, start)
    print(f"{chosen.count} damaged files, {broken} broke the reading")


def _batch(paths: list[str], start: int) -> int:
    """Read a batch in a child process; count the files that end it other than by a reason."""
    broken = 0
    while paths:
        at = multiprocessing.Value("i", 0)
        child = multiprocessing.Process(target=_read_all, args=(paths, at))
        child.start()
        child.join(SECONDS)
        if child.is_alive():
            child.kill()
            child.join()
        if at.value >= len(paths):
            break
        bad = paths[at.value]
        broken += 1
        Path(f"broken-{start}-{Path(bad).name}").write_bytes(Path(bad).read_bytes())
        paths = paths[at.value + 1 :]
    return broken


if __name__ == "__main__":
    main()
