"""The catalog beside the loops: one card each, in the words of the recipe language."""

from __future__ import annotations

from pathlib import Path

import soundfile

from demo_loops.making.loop import Loop
from demo_loops.making.loudness import integrated_lufs

HEAD = """\
# The demo loops. Made from notes by make.py in this folder, which also writes this catalog.
# Loops of one set go together bar by bar. Those without a set fit once they are stretched or transposed.
"""
MAKER = "the mixer contributors"
LICENCE = "CC0-1.0"
MAY_BE = "used in class, played to parents, taken home in a song, passed on by itself"


def card(loop: Loop, loudness_lufs: float) -> str:
    """One loop's card as YAML."""
    lines = {
        "file": f"{loop.name}.flac",
        "tempo": loop.tempo_bpm,
        "bars": str(loop.bars),
        "time": f"{loop.beats_per_bar}/4",
        "key": loop.key,
        "chords": loop.chords,
        "downbeat": "0",
        "role": loop.role,
        "set": loop.family,
        "loudness": f"{loudness_lufs:.1f}",
        "maker": MAKER,
        "licence": LICENCE,
        "may be": MAY_BE,
    }
    return "\n".join([f"{loop.name}:", *(f"  {key}: {value}" for key, value in lines.items() if value)])


def catalog(loops: dict[str, Loop], folder: Path) -> str:
    """The catalog of those loops whose files are in the folder; their loudness is that of the files."""
    cards = [
        card(loop, integrated_lufs(soundfile.read(folder / f"{name}.flac")[0]))
        for name, loop in loops.items()
        if (folder / f"{name}.flac").exists()
    ]
    return "\n\n".join([HEAD.rstrip(), *cards]) + "\n"
