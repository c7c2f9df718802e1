"""`mixer render`: recipes to songs."""

from __future__ import annotations

from enum import Enum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from mixer.cli.brief import BriefOption, brief_as_data, chosen_brief, tell_brief, with_brief
from mixer.cli.common import (
    CALLED_WRONGLY,
    MISTAKES,
    AsJson,
    LoopFolders,
    Progress,
    Recipes,
    lines_of,
    open_or_tell,
    print_json,
    problems_as_data,
    tell,
    tell_one,
    tell_shortly,
)
from mixer.store.names import distinct_places
from mixer.words.english import told
from mixer.words.problem import Problem
from mixer.words.say import is_mistake, printable

if TYPE_CHECKING:
    from mixer.signal.wav import SampleFormat
    from mixer.song.make import Made
    from mixer.song.opened import Opened
    from mixer.song.plan import Plan
    from mixer.song.render import Report


class Bits(str, Enum):
    """How samples are written."""

    sixteen = "16"
    twenty_four = "24"
    floating = "float"


class Format(str, Enum):
    """What kind of file a song is."""

    wav = "wav"
    flac = "flac"
    ogg = "ogg"
    mp3 = "mp3"


_SAMPLES: dict[Bits, SampleFormat] = {Bits.sixteen: "pcm16", Bits.twenty_four: "pcm24", Bits.floating: "float32"}


def render(  # noqa: PLR0913 - each is an option of the command
    recipes: Recipes = [],  # noqa: B006 - typer copies it
    out: Annotated[
        Path | None,
        typer.Option(
            "--out", "-o", metavar="FILE-or-FOLDER", help="Where the song goes; beside its recipe if left out."
        ),
    ] = None,
    loops: LoopFolders = [],  # noqa: B006 - typer copies it
    song_format: Annotated[
        Format | None,
        typer.Option("--format", help="What kind of file; if left out, what --out ends in, otherwise WAV."),
    ] = None,
    bits: Annotated[
        Bits | None, typer.Option(help="Bits of each sample, in WAV and (16 or 24) FLAC files; 16 if left out.")
    ] = None,
    rate: Annotated[int, typer.Option(help="Samples a second: 44100 or 48000.")] = 44_100,
    stems: Annotated[
        bool, typer.Option("--stems", help="Also write each layer by itself, into a folder beside the song.")
    ] = False,
    guide: Annotated[
        bool,
        typer.Option("--guide", help="Also the song with soft clicks, and a chime where each section begins."),
    ] = False,
    brief: BriefOption = None,
    as_json: AsJson = False,
) -> None:
    """Make a song (a WAV file, or FLAC, OGG or MP3) of each recipe.

    A recipe with mistakes gives a draft: the song without what could not be read. Everything that is wrong is
    told at once.

    Example: mixer render my-song/my-song.yaml
    """
    if rate not in (44_100, 48_000):
        raise typer.BadParameter(told.RATES, param_hint="--rate")
    chosen = _format(recipes, out, song_format)
    samples = _samples(chosen, bits)
    places = _places(recipes, out)
    brief_chosen = chosen_brief(brief)
    exit_code = 0
    answers: list[dict[str, Any]] = []
    for path, place in zip(recipes, places, strict=True):
        opened = with_brief(open_or_tell(path, loops, rate), brief_chosen)
        made = None if isinstance(opened, Problem) else _make(opened, place, chosen, samples, stems=stems, guide=guide)
        exit_code = max(exit_code, _exit_code(made))
        if as_json:
            answers.append(_as_data(opened, made))
        elif isinstance(opened, Problem):
            tell_one(opened)
        elif made is not None:
            _tell(made, path)
            tell_brief(opened, chosen=brief_chosen is not None, shortly=True)
    if as_json:
        print_json(answers)
    raise typer.Exit(exit_code)


def _names_a_file(recipes: list[Path], out: Path) -> bool:
    return bool(out.suffix) and not out.is_dir() and len(recipes) == 1


def _format(recipes: list[Path], out: Path | None, wanted: Format | None) -> Format:
    """What kind of file is asked for, by the option or by the ending."""
    if out is None or not _names_a_file(recipes, out):
        return wanted or Format.wav
    ending = out.suffix.lower().removeprefix(".")
    name = printable(out.name)
    if ending not in {known.value for known in Format}:
        raise typer.BadParameter(told.no_song_name(name), param_hint="--out")
    if wanted not in (None, Format(ending)):
        raise typer.BadParameter(told.other_ending(name, wanted.value), param_hint="--format")
    return Format(ending)


def _samples(song_format: Format, bits: Bits | None) -> SampleFormat:
    """How samples are written; what a kind of file has not cannot be asked of it."""
    if bits is not None and song_format in (Format.ogg, Format.mp3):
        name = song_format.value.upper()
        raise typer.BadParameter(told.no_bits(name), param_hint="--bits")
    if bits is Bits.floating and song_format is Format.flac:
        raise typer.BadParameter(told.FLAC_BITS, param_hint="--bits")
    return _SAMPLES[bits or Bits.sixteen]


def _places(recipes: list[Path], out: Path | None) -> list[Path]:
    """Where each song goes, without the ending; no two at the same place."""
    if out is None:
        return distinct_places(path.parent / (path.stem or "song") for path in recipes)  # "." and "/" have no name
    if not _names_a_file(recipes, out):
        if out.is_file():
            raise typer.BadParameter(told.no_folder(printable(out.name)), param_hint="--out")
        return distinct_places(out / path.stem for path in recipes)
    return [out.with_suffix("")]


def _make(
    opened: Opened, place: Path, song_format: Format, sample_format: SampleFormat, *, stems: bool, guide: bool
) -> Made:
    from mixer.song.make import Order, make  # noqa: PLC0415 - loads numpy

    progress = Progress()
    try:
        return make(opened, Order(place, sample_format, stems, song_format.value, guide), progress)
    finally:
        progress.clear()


def _exit_code(made: Made | None) -> int:
    if made is None or not made.written:
        return CALLED_WRONGLY
    return MISTAKES if made.draft else 0


# So many pieces of advice are told whole; whoever has more has enough to do with these.
_WHOLE = 3


def _tell(made: Made, recipe: Path) -> None:
    """Tell mistakes first, then advice, then what is there to be heard, and last the one thing to do."""
    mistakes = [problem for problem in made.problems if is_mistake(problem)]
    advice = [problem for problem in made.problems if not is_mistake(problem)]
    tell(mistakes)
    if mistakes:
        typer.echo("", err=True)
    if advice:
        typer.echo(f"{told.ALSO}\n", err=True)
        tell(advice[:_WHOLE])
        if advice[_WHOLE:]:
            typer.echo("", err=True)
            tell_shortly(advice[_WHOLE:])
        typer.echo("", err=True)
    lines = lines_of(mistakes, recipe)
    if made.report is None:
        typer.echo(told.NO_SONG, err=True)
    else:
        _tell_report(made.report, made)
        if mistakes:
            typer.echo(told.left_out(lines))
    if mistakes and made.written:
        typer.echo(told.start_with(lines[0] if lines else "", "render"), err=made.report is None)


def _tell_report(report: Report, made: Made) -> None:
    length = told.minutes(report.seconds)
    song = printable(str(report.song))
    for line in told.rendered(song, length, report.loudness_lufs, report.true_peak_dbtp, draft=made.draft):
        typer.echo(line)
    if made.guide is not None:
        typer.echo(told.guide_written(printable(str(made.guide))))
    if made.stems:
        typer.echo(told.stems_written(len(made.stems), printable(str(made.stems[0].parent))))
    if report.as_near_as_allowed and not made.draft and report.loudness_lufs is not None:
        typer.echo(told.NEAR)


def _as_data(opened: Opened | Problem, made: Made | None) -> dict[str, Any]:
    """Give what came of a recipe for JSON."""
    plan = None if isinstance(opened, Problem) else opened.plan
    report = None if made is None else made.report
    problems = [opened] if isinstance(opened, Problem) else list(made.problems if made is not None else ())
    return {
        "song": None if report is None else str(report.song),
        "draft": made is not None and made.draft,
        "seconds": None if report is None else round(report.seconds, 6),
        "loudness_lufs": _rounded(None if report is None else report.loudness_lufs),
        "true_peak_dbtp": _rounded(None if report is None else report.true_peak_dbtp),
        "sections": [] if plan is None else _sections(plan),
        "stems": [] if made is None else [str(path) for path in made.stems],
        **problems_as_data(problems),
        **({} if isinstance(opened, Problem) else brief_as_data(opened)),
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 2)


def _sections(plan: Plan) -> list[dict[str, Any]]:
    return [
        {"name": mark.name, "start_seconds": round(mark.start_frame / plan.rate_hz, 6), "bars": mark.bars}
        for mark in plan.marks
    ]
