"""A recipe that was opened, made into files: the song, or a draft of it where something had to be left out.

Whoever makes songs (one at a time, a whole class, or again and again while a recipe is being written) does it here.
"""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import field
from pathlib import Path

from mixer.loops.library import demo_loops_folder
from mixer.material import kinds
from mixer.material.fit import Material
from mixer.record import record
from mixer.signal.coded import NoEncoderError
from mixer.signal.wav import SampleFormat
from mixer.song.again import Again
from mixer.song.credits import credits_of, heard_cards, permissions_of
from mixer.song.opened import Opened
from mixer.song.plan import Plan
from mixer.song.render import Progress, Report, finished_once, prepare, render_prepared
from mixer.song.songfile import SongFormat
from mixer.song.stems import write_stems
from mixer.store.versions import FOLDER, keep_version
from mixer.store.whole import write_text
from mixer.words.problem import Place, Problem, Problems
from mixer.words.say import is_mistake


@record
class Order:
    """What is to be made.

    Parameters
    ----------
    place : the song's file, without its ending
    sample_format : how samples are written, in WAV and FLAC
    stems : whether each layer is written by itself too
    song_format : of the file
    guide : whether the song is also wanted with clicks and chimes
    """

    place: Path
    sample_format: SampleFormat = "pcm16"
    stems: bool = False
    song_format: SongFormat = "wav"
    guide: bool = False


@record
class Made:
    """What was made.

    Parameters
    ----------
    problems : all there is to tell: what was told on opening, what could not be used, what could not be written
    report : of the song; None where there is none
    stems : the files of the layers
    guide : the song with clicks and chimes
    written : False where a file could not be written
    materials : by layer's name, for whoever looks on at what the song does
    """

    problems: tuple[Problem, ...]
    report: Report | None = None
    stems: tuple[Path, ...] = ()
    guide: Path | None = None
    written: bool = True
    materials: Mapping[str, Material] = field(default_factory=dict, repr=False)

    @property
    def mistakes(self) -> list[Problem]:
        """What made it necessary to leave something out."""
        return [problem for problem in self.problems if is_mistake(problem)]

    @property
    def draft(self) -> bool:
        """Whether something had to be left out."""
        return bool(self.mistakes)


def make(opened: Opened, order: Order, progress: Progress | None = None, again: Again | None = None) -> Made:
    """Make a song of a recipe; what `again` has kept of it need not be made anew, and gives the same song."""
    problems = Problems(opened.problems)
    plan = opened.plan
    if plan is None:
        return Made(tuple(problems))
    materials, unusable = prepare(plan, progress, again.material if again else kinds.make)
    problems += unusable
    _doubt(plan, materials, problems)
    if not materials:
        if not any(is_mistake(problem) for problem in problems):
            problems.tell("nothing-heard", Place(opened.path.name))
        return Made(tuple(problems))
    draft = any(is_mistake(problem) for problem in problems)
    place = order.place.with_name(f"{order.place.name} (draft)") if draft else order.place
    song = place.with_name(f"{place.name}.{order.song_format}")
    guide = place.with_name(f"{place.name} (guide).wav") if order.guide else None
    try:
        report = render_prepared(
            plan,
            materials,
            song,
            song_format=order.song_format,
            sample_format=order.sample_format,
            guide=guide,
            progress=progress,
            finished_by=again.finished if again else finished_once,
        )
        stems = _write_beside(plan, materials, place, stems=order.stems)
    except NoEncoderError as error:
        problems.tell("no-encoder", Place(opened.path.name), song=str(song), file_format=str(error))
        return Made(tuple(problems), written=False)
    except OSError as error:
        problems.tell("not-written", Place(opened.path.name), song=str(song), why=error.strerror or "")
        return Made(tuple(problems), written=False)
    if not draft and place.parent.name != FOLDER:
        with suppress(OSError):  # a version that could not be kept is no reason to do without the song
            keep_version(place.parent, place.name, plan.recipe.text)
    return Made(tuple(problems), report, tuple(stems), guide=guide, materials=materials)


def _doubt(plan: Plan, materials: Mapping[str, Material], problems: Problems) -> None:
    """Tell of cards that the sound contradicts; those of our own loops are right."""
    if any(demo_loops_folder() not in card.path.parents for card in heard_cards(plan)):
        from mixer.song.doubts import doubt_known_cards  # noqa: PLC0415 - so it is loaded for others' loops alone

        doubt_known_cards(plan, materials, problems)


def _write_beside(plan: Plan, materials: Mapping[str, Material], place: Path, *, stems: bool) -> list[Path]:
    """Write the credits, and each layer by itself where that is asked for; give the layers' files."""
    about = "\n".join([*credits_of(plan), "", *permissions_of(plan), ""])
    # What the song carries says the same; on a small machine waiting for the disk takes as long as mixing.
    write_text(place.with_name(f"{place.name} (credits).txt"), about, synced=False)
    return write_stems(plan, materials, place.with_name(f"{place.name} (stems)")) if stems else []
