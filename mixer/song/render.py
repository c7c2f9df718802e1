"""A plan to a song file: material, mix, finish, and the file whole or not at all."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from mixer.material import kinds
from mixer.material.fit import Fit, Frame, Material
from mixer.material.loop import UnreadableLoopError
from mixer.material.several import make_all
from mixer.record import record
from mixer.signal.wav import SampleFormat
from mixer.song.carried import carried_text
from mixer.song.finish import Finished, finish
from mixer.song.guide import with_guide
from mixer.song.mix import Mix
from mixer.song.mixes import Mixes
from mixer.song.plan import Plan
from mixer.song.songfile import SongFormat, write_song, write_wav
from mixer.store.cache import Cache, open_cache
from mixer.words.problem import Place, Problem, Problems

Progress = Callable[[str, float], None]
Make = Callable[[Fit, Frame, int, Cache | None], Material]


@record
class Report:
    """What was measured on the way to a song.

    Parameters
    ----------
    song : the file
    seconds : how long it lasts
    loudness_lufs : integrated loudness of what comes out of the file; None for silence
    true_peak_dbtp : of the same; None for digital silence
    as_near_as_allowed : whether the loudness asked for was out of reach below the ceiling
    """

    song: Path
    seconds: float
    loudness_lufs: float | None
    true_peak_dbtp: float | None
    as_near_as_allowed: bool


def prepare(
    plan: Plan, progress: Progress | None = None, make: Make = kinds.make
) -> tuple[dict[str, Material], list[Problem]]:
    """Make the material of every layer that is heard; a layer whose sound cannot be used is left out and told."""
    materials: dict[str, Material] = {}
    problems = Problems()
    heard = [part for part in plan.parts if part.cues]
    cache = open_cache()
    names = {part.fit: part.layer.name for part in reversed(heard)}
    order = list(dict.fromkeys(part.fit for part in heard))

    def tell(fit: Fit, made: int) -> None:
        if progress is not None:
            progress(names[fit], made / (len(order) + 1))

    made = make_all(order, lambda fit: make(fit, plan.frame, plan.rate_hz, cache), tell)
    for part in heard:
        place = part.layer.at.get("loop", Place(plan.recipe.file))
        loop = part.layer.source.loop
        material = made[part.fit]
        if isinstance(material, UnreadableLoopError):
            problems.tell(material.kind, place, name=loop, **material.facts)
            continue
        if isinstance(material, Exception):
            raise material
        materials[part.layer.name] = material
        for remark in material.remarks:
            problems.tell(remark.kind, place, name=loop, **remark.facts)
    return materials, list(problems)


_MIXES = Mixes()


def finished_once(plan: Plan, materials: Mapping[str, Material]) -> Finished:
    """Finish a song that is made this once."""
    return finish(_MIXES.kept(Mix(plan, materials)))


def render_prepared(  # noqa: PLR0913 - most may be left out
    plan: Plan,
    materials: Mapping[str, Material],
    out: Path,
    *,
    song_format: SongFormat = "wav",
    sample_format: SampleFormat = "pcm16",
    guide: Path | None = None,
    progress: Progress | None = None,
    finished_by: Callable[[Plan, Mapping[str, Material]], Finished] = finished_once,
) -> Report:
    """Mix, finish and write a song whose material is made.

    Parameters
    ----------
    plan : the song
    materials : by layer's name; layers without one are silent
    out : where the file will be; written whole or not at all
    song_format : of the file
    sample_format : 16 bit with dither, 24 bit with dither, or float (WAV alone); without meaning in Ogg and MP3
    guide : where the song with clicks and chimes goes, if that is wanted
    progress : told what is being done and how much of it is done, 0 to 1
    finished_by : adds the materials up and finishes the song

    Raises
    ------
    NoEncoderError
        If the format cannot be written on this machine.
    OSError
        If the file cannot be written; what stood there stays.
    """
    if progress is not None:
        progress("mix", len(materials) / (len(materials) + 1))
    finished = finished_by(plan, materials)
    if guide is not None:
        write_wav(guide, with_guide(plan, finished), plan)
    heard = write_song(plan, finished, out, song_format, sample_format, carried_text(plan, materials))
    return Report(
        song=out,
        seconds=plan.seconds,
        loudness_lufs=heard.loudness_lufs,
        true_peak_dbtp=heard.true_peak_dbtp,
        as_near_as_allowed=finished.as_near_as_allowed,
    )
