"""Songs of the demo loops, laid out and with their material, which is made once for all tests."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from mixer.coach.energy import Energy, energy
from mixer.coach.features import LoopFeatures
from mixer.loops.library import open_library
from mixer.material import kinds
from mixer.material.fit import Fit, Frame, Material
from mixer.recipe.reader import read
from mixer.song.plan import Plan, plan

LOOPS = Path(__file__).parents[2] / "demo_loops"
LAYERS = {
    "drums": "tin-roof",
    "big drums": "wet-cardboard",
    "bass": "slow-tide",
    "piano": "paper-lantern",
    "lamp": "fog-lamp",
    "gulls": "gull-song",
    "shaker": "rice-jar",
    "rain": "quay-rain",
}


@cache
def library():
    return open_library(None, [LOOPS])


@cache
def _material(fit: Fit, frame: Frame, rate_hz: int) -> Material:
    return kinds.make(fit, frame, rate_hz)


def materials_of(song: Plan) -> dict[str, Material]:
    return {part.layer.name: _material(part.fit, song.frame, song.rate_hz) for part in song.parts if part.cues}


def text_of(*sections: str, top: str = "", layers: dict[str, str] = LAYERS) -> str:
    """A recipe of the ferry town's loops, or of others."""
    names = "".join(f"  {name}: {loop}\n" for name, loop in layers.items())
    return f"tempo: 96\nkey: A minor\n{top}layers:\n{names}sections:\n" + "".join(f"  - {each}\n" for each in sections)


def laid_out(text: str) -> Plan:
    reading = read(text, library().names())
    assert [problem for problem in reading.problems if problem.kind != "layer-unused"] == []
    return plan(reading.recipe, library())


_KNOWN: dict[object, dict[Fit, LoopFeatures]] = {}


def heard(song: Plan) -> Energy:
    """Energy of a song; each loop is looked at once in all tests."""
    return energy(song, materials_of(song), _KNOWN.setdefault((song.frame, song.rate_hz), {}))
