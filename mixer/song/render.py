"""A plan to a song file: material, mix, finish, and the file whole or not at all."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from mixer import __version__
from mixer.material import kinds
from mixer.material.fit import Material
from mixer.material.loop import UnreadableLoopError
from mixer.signal.wav import Marker, SampleFormat, WavWriter
from mixer.song.carried import carried_chunk
from mixer.song.credits import credits_of
from mixer.song.finish import Finished, finish
from mixer.song.mix import Mix
from mixer.song.plan import Plan
from mixer.store.cache import open_cache
from mixer.store.whole import whole_file
from mixer.words.problem import Place, Problem, Problems

Progress = Callable[[str, float], None]


@dataclass(frozen=True)
class Report:
    """What was measured on the way to a song.

    Parameters
    ----------
    song : the file
    seconds : how long it lasts
    loudness_lufs : integrated loudness; None for silence
    true_peak_dbtp : None for digital silence
    as_near_as_allowed : whether the loudness asked for was out of reach below the ceiling
    """

    song: Path
    seconds: float
    loudness_lufs: float | None
    true_peak_dbtp: float | None
    as_near_as_allowed: bool


def prepare(plan: Plan, progress: Progress | None = None) -> tuple[dict[str, Material], list[Problem]]:
    """Make the material of every layer that is heard; a layer whose sound cannot be used is left out and told."""
    materials: dict[str, Material] = {}
    problems = Problems()
    heard = [part for part in plan.parts if part.cues]
    made: dict[object, Material] = {}
    cache = open_cache()
    for number, part in enumerate(heard):
        if progress is not None:
            progress(part.layer.name, number / (len(heard) + 1))
        place = part.layer.at.get("loop", Place(plan.recipe.file))
        loop = part.layer.source.loop
        try:
            if part.fit not in made:
                made[part.fit] = kinds.make(part.fit, plan.frame, plan.rate_hz, cache)
        except UnreadableLoopError as error:
            problems.tell(error.kind, place, name=loop, **error.facts)
            continue
        material = materials[part.layer.name] = made[part.fit]
        for remark in material.remarks:
            problems.tell(remark.kind, place, name=loop, **remark.facts)
    return materials, list(problems)


def render_prepared(
    plan: Plan,
    materials: Mapping[str, Material],
    out: Path,
    *,
    sample_format: SampleFormat = "pcm16",
    progress: Progress | None = None,
) -> Report:
    """Mix, finish and write a song whose material is made.

    Parameters
    ----------
    plan : the song
    materials : by layer's name; layers without one are silent
    out : where the WAV file will be; written whole or not at all
    sample_format : 16 bit with dither, 24 bit with dither, or float
    progress : told what is being done and how much of it is done, 0 to 1

    Raises
    ------
    OSError
        If the file cannot be written; what stood there stays.
    """
    if progress is not None:
        progress("mix", len(materials) / (len(materials) + 1))
    finished = finish(Mix(plan, materials))
    _write(plan, finished, out, sample_format, carried_chunk(plan, materials))
    return Report(
        song=out,
        seconds=plan.seconds,
        loudness_lufs=finished.loudness_lufs,
        true_peak_dbtp=finished.true_peak_dbtp,
        as_near_as_allowed=finished.as_near_as_allowed,
    )


def _write(
    plan: Plan, finished: Finished, out: Path, sample_format: SampleFormat, carried: tuple[bytes, bytes]
) -> None:
    recipe = plan.recipe
    info = {"INAM": recipe.title or Path(recipe.file).stem, "ISFT": f"recipe-mixer {__version__}"}
    if recipe.by:
        info["IART"] = recipe.by
    info["ICMT"] = "; ".join(credits_of(plan)[1:])
    markers = [Marker(mark.start_frame, mark.name) for mark in plan.marks]
    with whole_file(out) as stream:
        writer = WavWriter(stream, plan.rate_hz, sample_format, markers=markers, info=info, chunks=[carried])
        for block in finished.blocks():
            writer.write(block)
        writer.close()
