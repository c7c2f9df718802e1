"""Damages sound files by the thousand and looks whether reading one breaks, hangs or takes the memory.

    python -m benchmarks.robustness.sounds [--seed 1] [--count 3000] [--keep FOLDER]

Files are read in a child process with a limit on its memory, and must be refused for a reason or give sound. A file
that ends the child, takes too long or draws a warning from Python is counted as broken and kept. What a student would
read is counted too, so that a reason that is never given shows. Recordings of phones and browsers are among the files
where ffmpeg is there to make them. Needs a system with limits on memory (not Windows).
"""

from __future__ import annotations

import argparse
import multiprocessing
import random
import resource
import shutil
import subprocess
import tempfile
import time
import warnings
from collections import Counter
from pathlib import Path
from typing import Any

import numpy as np
import soundfile

from mixer.signal.files import UnreadableSoundError, read_sound

# Of addresses, most of which are the libraries themselves.
MEMORY_BYTES = 1_200_000_000
SECONDS = 10
BATCH = 100
KINDS = (
    *(("wav", "PCM_16"), ("wav", "FLOAT"), ("wav", "DOUBLE"), ("wav", "PCM_U8"), ("wav", "PCM_24")),
    *(("wav", "IMA_ADPCM"), ("wav", "ULAW"), ("rf64", "PCM_16"), ("aiff", "PCM_16"), ("aiff", "FLOAT")),
    *(("flac", "PCM_16"), ("flac", "PCM_24"), ("ogg", "VORBIS"), ("ogg", "OPUS"), ("mp3", None)),
)
RECORDINGS = (("m4a", "aac"), ("webm", "libopus"), ("aac", "aac"))
# Numbers at the edges of what 16, 31, 32 and 64 bits can say.
EDGES = (b"\xff\xff", b"\xff\xff\xff\xff", b"\0\0\0\0", b"\xff\xff\xff\x7f", b"\0\0\0\x80", b"\x01\0\0\0", b"\xff" * 8)


def whole_files(folder: Path) -> list[bytes]:
    tone = (0.3 * np.sin(np.arange(9600) / 10)).astype(np.float32)
    made = []
    for ending, subtype in KINDS:
        path = folder / f"whole.{ending}"
        soundfile.write(path, np.stack([tone, -tone], axis=1), 48_000, subtype=subtype, format=ending.upper())
        made.append(path.read_bytes())
    soundfile.write(folder / "whole.wav", np.stack([tone] * 6, axis=1), 48_000)
    made.append((folder / "whole.wav").read_bytes())
    for ending, codec in RECORDINGS if shutil.which("ffmpeg") else ():
        path = folder / f"whole.{ending}"
        subprocess.run(
            ["ffmpeg", "-v", "error", "-i", folder / "whole.wav", "-ac", "2", "-c:a", codec, path], check=True
        )
        made.append(path.read_bytes())
    return made


def damaged(content: bytes, rng: random.Random) -> bytes:
    data = bytearray(content)
    for _ in range(rng.randint(1, 6)):
        kind = rng.randrange(6)
        at = rng.randrange(len(data) if rng.random() < 0.4 else min(100, len(data)))
        if kind == 0:
            data[at] = rng.randrange(256)
        elif kind == 1:
            edge = rng.choice(EDGES)
            data[at : at + len(edge)] = edge
        elif kind == 2:
            del data[at : at + rng.randint(1, 400)]
        elif kind == 3:
            data[at:at] = rng.randbytes(rng.randint(1, 40))
        elif kind == 4:
            data[at : at + 200] = data[at : at + 200] * rng.randint(2, 5)
        else:
            del data[max(1, at) :]
        if not data:
            return b""
    return bytes(data)


def read_all(paths: list[str], at: Any, answers: Any) -> None:  # noqa: ANN401 - what is shared between processes has no type
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    warnings.simplefilter("error")
    for number, path in enumerate(paths):
        at.value = number
        try:
            sound = read_sound(Path(path), 120)
            assert sound.samples.dtype == np.float32 and sound.samples.shape[1] == 2
            assert len(sound.samples) and np.isfinite(sound.samples).all()
            answers.put("sound, cut off" if sound.cut else "sound")
        except UnreadableSoundError as error:
            answers.put(error.kind)
    at.value = len(paths)


def read_batch(paths: list[str], keep: Path, told: Counter[str]) -> list[Path]:
    """Read a batch in a child process; give the files that end it other than by a reason."""
    broken = []
    while paths:
        at, answers = multiprocessing.Value("i", 0), multiprocessing.Queue()
        child = multiprocessing.Process(target=read_all, args=(paths, at, answers))
        child.start()
        done, since = 0, time.monotonic()
        while child.is_alive() and time.monotonic() - since < SECONDS:
            child.join(0.02)
            if at.value != done:
                done, since = at.value, time.monotonic()
            while not answers.empty():
                told[answers.get()] += 1
        if child.is_alive():
            child.kill()
            child.join()
        while not answers.empty():
            told[answers.get()] += 1
        if at.value >= len(paths):
            break
        bad = Path(paths[at.value])
        broken.append(keep / f"broken-{len(list(keep.glob('broken-*')))}.wav")
        shutil.copy(bad, broken[-1])
        paths = paths[at.value + 1 :]
    return broken


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--count", type=int, default=3000)
    options.add_argument("--keep", type=Path, default=Path())
    chosen = options.parse_args()
    rng = random.Random(chosen.seed)
    told: Counter[str] = Counter()
    broken: list[Path] = []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        originals = whole_files(folder)
        for _ in range(0, chosen.count, BATCH):
            paths = [folder / f"{number}.wav" for number in range(BATCH)]
            for path in paths:
                path.write_bytes(damaged(rng.choice(originals), rng))
            broken += read_batch([str(path) for path in paths], chosen.keep, told)
    for answer, count in told.most_common():
        print(f"{count:6} {answer}")
    print(f"{chosen.count} damaged files, {len(broken)} broke the reading {', '.join(map(str, broken))}")
    raise SystemExit(1 if broken else 0)


if __name__ == "__main__":
    main()
