"""Stems: each layer by itself, full length, as it goes into the mix before the finish.

Added up they are the unfinished mix, within the rounding of float32.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from mixer.material.fit import Material
from mixer.signal.wav import WavWriter
from mixer.song.mix import Mix
from mixer.song.plan import Plan
from mixer.store.names import safe_name
from mixer.store.whole import whole_file


def write_stems(plan: Plan, materials: Mapping[str, Material], folder: Path) -> list[Path]:
    """Write one float WAV for each layer that is heard.

    Parameters
    ----------
    plan, materials : the song
    folder : where the stems go; made if it is missing

    Returns
    -------
    the files, numbered in the order of the recipe's layers

    Raises
    ------
    OSError
        If one cannot be written; those before it stay.
    """
    heard = [part.layer.name for part in plan.parts if part.cues and part.layer.name in materials]
    files = []
    for number, name in enumerate(heard, start=1):
        file = folder / f"{number:02} {safe_name(name, 'layer')}.wav"
        with whole_file(file) as stream:
            writer = WavWriter(stream, plan.rate_hz, "float32", info={"INAM": name})
            for block in Mix(plan, materials, layers=[name]).blocks():
                writer.write(block)
            writer.close()
        files.append(file)
    return files
