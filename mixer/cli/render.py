"""`mixer render`: recipes to songs."""

from __future__ import annotations

from enum import Enum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from mixer.cli.common import (
    CALLED_WRONGLY,
    MISTAKES,
    AsJson,
    LoopFolders,
    Progress,
    Recipes,
    open_or_tell,
    print_json,
    problems_as_data,
    tell,
)
from mixer.song.opened import Opened
from mixer.store.names import safe_name
from mixer.words.english import told
from mixer.words.problem import Problem
from mixer.words.say import is_mistake, printable, say

if TYPE_CHECKING:
    from mixer.song.plan import Plan
    from mixer.song.render import Report


class Bits(str, Enum):
    """How samples are written."""

    sixteen = "16"
    twenty_four = "24"
    floating = "float"


_FORMATS = {Bits.sixteen: "pcm16", Bits.twenty_four: "pcm24", Bits.floating: "float32"}


def render(
    recipes: Recipes,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            "-o",
            metavar="FILE-or-FOLDER",
            help="Where the song goes; beside its recipe if left out.",
        ),
    ] = None,
    loops: LoopFolders = [],  # noqa: B006 - typer copies it
    bits: Annotated[Bits, typer.Option(help="Bits of each sample.")] = Bits.sixteen,
    rate: Annotated[int, typer.Option(min=44_100, max=48_000, help="Samples a second: 44100 or 48000.")] = 44_100,
    as_json: AsJson = False,
) -> None:
    """Make a song (a WAV file) of each recipe.

    A recipe with mistakes gives a draft: the song without what could not be read. Everything that is wrong is told
    at once.

    Example: mixer render my-song/my-song.yaml
    """
    if rate not in (44_100, 48_000):
        raise typer.BadParameter("it is 44100 or 48000.", param_hint="--rate")
    places = _places(recipes, out)
    runs = [_Run(path, place, loops, bits, rate, quiet=as_json) for path, place in zip(recipes, places, strict=True)]
    if as_json:
        print_json([run.as_data() for run in runs])
    raise typer.Exit(max(run.exit_code for run in runs))


def _places(recipes: list[Path], out: Path | None) -> list[Path]:
    """Where each song goes, without the ending; no two at the same place."""
    folder = out is not None and (out.is_dir() or len(recipes) > 1 or out.suffix == "")
    if out is not None and not folder:
        if out.suffix.lower() != ".wav":
            raise typer.BadParameter(f'a song ends in .wav, and "{printable(out.name)}" does not.', param_hint="--out")
        return [out.with_suffix("")]
    if out is not None and out.is_file():
        raise typer.BadParameter(f'"{printable(out.name)}" is a file; several songs need a folder.', param_hint="--out")
    places: list[Path] = []
    for path in recipes:
        place = (out or path.parent) / safe_name(path.stem)
        number = 2
        while str(place).casefold() in {str(other).casefold() for other in places}:
            place = place.with_name(f"{safe_name(path.stem)} ({number})")
            number += 1
        places.append(place)
    return places


class _Run:
    """One recipe made into a song, and told about."""

    def __init__(self, path: Path, place: Path, loops: list[Path], bits: Bits, rate_hz: int, *, quiet: bool) -> None:
        self.report: Report | None = None
        self.problems: list[Problem] = []
        self.opened = open_or_tell(path, loops, rate_hz)
        self.exit_code = 0
        if isinstance(self.opened, Problem):
            self.problems = [self.opened]
            self.exit_code = CALLED_WRONGLY
        else:
            self.problems = list(self.opened.problems)
            self._make(self.opened, place, bits)
        if not quiet:
            self._tell()

    @property
    def draft(self) -> bool:
        """Whether something had to be left out."""
        return any(is_mistake(problem) for problem in self.problems)

    def _make(self, opened: Opened, place: Path, bits: Bits) -> None:
        if opened.plan is not None and any(part.cues for part in opened.plan.parts):
            from mixer.song.render import prepare, render_prepared  # noqa: PLC0415 - loads numpy

            progress = Progress()
            materials, unusable = prepare(opened.plan, progress)
            self.problems += unusable
            name = f"{place.name} (draft).wav" if self.draft else f"{place.name}.wav"
            try:
                self.report = render_prepared(
                    opened.plan,
                    materials,
                    unusable,
                    place.with_name(name),
                    sample_format=_FORMATS[bits],  # type: ignore[arg-type]
                    progress=progress,
                )
            except OSError as error:
                progress.clear()
                typer.echo(told.not_written(printable(str(place.with_name(name))), error.strerror or ""), err=True)
                self.exit_code = CALLED_WRONGLY
            progress.clear()
        if self.draft:
            self.exit_code = max(self.exit_code, MISTAKES)

    def _tell(self) -> None:
        mistakes = [problem for problem in self.problems if is_mistake(problem)]
        advice = [problem for problem in self.problems if not is_mistake(problem)]
        tell(mistakes)
        if self.report is None:
            if self.exit_code == MISTAKES:
                typer.echo(f"\n{told.NO_SONG}", err=True)
            elif self.exit_code == 0:
                typer.echo(told.NOTHING_HEARD, err=True)
                self.exit_code = MISTAKES
        else:
            self._tell_report(self.report, mistakes)
        if advice:
            typer.echo(f"\n{told.ALSO}\n", err=True)
            tell(advice)

    def _tell_report(self, report: Report, mistakes: list[Problem]) -> None:
        if mistakes:
            typer.echo("", err=True)
        length = told.minutes(report.seconds)
        lines = told.rendered(
            printable(str(report.song)),
            length,
            report.loudness_lufs,
            report.true_peak_dbtp,
            draft=bool(mistakes),
        )
        typer.echo("\n".join(lines))
        if report.as_near_as_allowed and report.loudness_lufs is not None:
            typer.echo(told.NEAR)
        if mistakes:
            typer.echo(told.LEFT_OUT)
            for problem in mistakes:
                typer.echo(f"- line {problem.place.line}: {printable(say(problem).message)}")

    def as_data(self) -> dict[str, Any]:
        """Give what came of it for JSON."""
        plan = None if isinstance(self.opened, Problem) else self.opened.plan
        report = self.report
        return {
            "song": None if report is None else str(report.song),
            "draft": self.draft,
            "seconds": None if report is None else round(report.seconds, 6),
            "loudness_lufs": report and report.loudness_lufs and round(report.loudness_lufs, 2),
            "true_peak_dbtp": report and report.true_peak_dbtp and round(report.true_peak_dbtp, 2),
            "sections": [] if plan is None else _sections(plan),
            **problems_as_data(self.problems),
        }


def _sections(plan: Plan) -> list[dict[str, Any]]:
    return [
        {"name": mark.name, "start_seconds": round(mark.start_frame / plan.rate_hz, 6), "bars": mark.bars}
        for mark in plan.marks
    ]
