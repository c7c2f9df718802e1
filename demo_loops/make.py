"""Make the demo loops again, all or one: `python demo_loops/make.py [--out DIR] [--only NAME]`."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent))

import numpy as np  # noqa: E402 - the checkout has to be on the path first, so that this runs from anywhere
import soundfile  # noqa: E402 - as above

from demo_loops.making import LOOPS, play  # noqa: E402 - as above
from demo_loops.making.catalog import catalog  # noqa: E402 - as above
from demo_loops.making.loop import MIX_LUFS  # noqa: E402 - as above
from demo_loops.making.loudness import integrated_lufs  # noqa: E402 - as above
from mixer.loops.measure.keep import keep  # noqa: E402 - as above
from mixer.loops.measure.many import measure_all, sound_files  # noqa: E402 - as above

RATE_HZ = 44_100


def spare_bits(name: str) -> int:
    """How many of the 16 bits are never heard: a mix plays the file softer than it is stored, 6 dB a bit.

    What rounding adds stays in the mix under the dither of a 16-bit song, which has three times its power (4.8 dB).
    """
    louder_db = integrated_lufs(play(name).astype(np.float64)) - MIX_LUFS[LOOPS[name].role]
    return max(0, int((louder_db + 4.8) // (20 * np.log10(2))))


def sixteen_bit(name: str) -> np.ndarray[tuple[int, ...], np.dtype[np.int16]]:
    """The loop as it is stored: rounded, without dither, and without spare bits, since noise can't be packed."""
    step = 2 ** spare_bits(name)
    return (np.round(play(name).astype(np.float64) * 32768 / step) * step).astype(np.int16)


def main() -> None:
    """Read the arguments, write the files, then the catalog of all files that are there.

    How far each bears to be stretched and moved is measured, as `mixer measure --write` does.
    """
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--out", type=Path, default=HERE, help="folder to write to (default: this one)")
    words.add_argument("--only", choices=sorted(LOOPS), help="make this one alone")
    asked = words.parse_args()
    asked.out.mkdir(parents=True, exist_ok=True)
    for name in [asked.only] if asked.only else LOOPS:
        soundfile.write(asked.out / f"{name}.flac", sixteen_bit(name), RATE_HZ, subtype="PCM_16", compression_level=1.0)
    (asked.out / "loops.yaml").write_text(catalog(LOOPS, asked.out), encoding="utf-8")
    keep(asked.out, list(measure_all(sound_files(asked.out), with_limits=True)))


if __name__ == "__main__":
    main()
