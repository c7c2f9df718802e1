"""`mixer chart`: the song's form as printed music, in the terminal or as a file."""

from __future__ import annotations

from dataclasses import asdict
from enum import Enum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from mixer.cli.common import (
    CALLED_WRONGLY,
    MISTAKES,
    AsJson,
    LoopFolders,
    Progress,
    energy_as_data,
    open_or_tell,
    print_json,
    problems_as_data,
    tell,
)
from mixer.record import record
from mixer.words.english import chart as words
from mixer.words.english.told import NO_SONG
from mixer.words.problem import Problem
from mixer.words.say import is_mistake, printable

if TYPE_CHECKING:
    from mixer.coach.energy import Energy
    from mixer.coach.seen import Seen
    from mixer.pages.chart import Chart
    from mixer.pages.drawing import Sheet
    from mixer.song.opened import Opened
    from mixer.song.plan import Plan


class Paper(str, Enum):
    """What the chart is to be printed on."""

    a4 = "a4"
    letter = "letter"


ENDINGS = (".svg", ".png", ".pdf", ".html")


def chart(  # noqa: PLR0913 - each is an option of the command
    recipe: Annotated[Path, typer.Argument(metavar="RECIPE", help="A recipe.")],
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", metavar="FILE", help="A file that ends in .svg, .png, .pdf or .html."),
    ] = None,
    loops: LoopFolders = [],  # noqa: B006 - typer copies it
    paper: Annotated[Paper, typer.Option(help="What it is to be printed on.")] = Paper.a4,
    large: Annotated[bool, typer.Option("--large", help="In large print, on as many sheets as that takes.")] = False,
    text: Annotated[bool, typer.Option("--text", help="Show it as text too when there is a file.")] = False,
    mood: Annotated[
        bool,
        typer.Option("--mood", help="On the page: how such a tempo, key and the like are often heard."),
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Show the form of a song as printed music.

    Without --out it is shown as text. A file that ends in .html is a page with the chart and the song to listen to.

    Example: mixer chart my-song/my-song.yaml --out my-song.svg
    """
    if out is not None and out.suffix.lower() not in ENDINGS:
        name = printable(out.name)
        raise typer.BadParameter(words.wrong_ending(name), param_hint="--out")
    opened = open_or_tell(recipe, loops)
    if isinstance(opened, Problem) or opened.plan is None:
        problems = [opened] if isinstance(opened, Problem) else list(opened.problems)
        _tell(problems, None, as_json=as_json)
        raise typer.Exit(CALLED_WRONGLY if isinstance(opened, Problem) else MISTAKES)
    heard = _hear(opened.plan)
    problems = [*opened.problems, *heard.problems]
    _tell(problems, heard, as_json=as_json)
    if (out is None or text) and not as_json:
        typer.echo(printable(_as_text(heard.chart)))
    if out is not None and not _write(opened, heard.chart, out, _Look(paper, large, mood), quiet=as_json):
        raise typer.Exit(CALLED_WRONGLY)
    raise typer.Exit(MISTAKES if any(map(is_mistake, problems)) else 0)


@record
class _Heard:
    """A song's chart, its energy, and what was found out while its loops were heard."""

    chart: Chart
    energy: Energy
    problems: list[Problem]


def _hear(plan: Plan) -> _Heard:
    from mixer.coach.energy import energy  # noqa: PLC0415 - loads numpy
    from mixer.song.charted import chart_of  # noqa: PLC0415 - the same
    from mixer.song.render import prepare  # noqa: PLC0415 - the same

    progress = Progress()
    try:
        materials, problems = prepare(plan, progress)
    finally:
        progress.clear()
    found = energy(plan, materials)
    return _Heard(chart_of(plan, found.shape), found, problems)


def _tell(problems: list[Problem], heard: _Heard | None, *, as_json: bool) -> None:
    if not as_json:
        tell(problem for problem in problems if is_mistake(problem))
        return
    found = None if heard is None else asdict(heard.chart)
    bars = None if heard is None else energy_as_data(heard.energy)
    print_json([{**problems_as_data(problems), "chart": found, "bars": bars}])


def _as_text(song: Chart) -> str:
    from mixer.pages.form_text import form_as_text  # noqa: PLC0415 - help comes without it

    facts = words.text_head(song.title, song.by, song.tempo, song.key, song.time, song.length)
    sections = [(each.letter, each.name, each.first_bar, each.bars) for each in song.sections]
    layers = [(layer.name, layer.heard) for layer in song.in_score_order]
    return f"{facts}\n\n{form_as_text(sections, layers, energy=song.energy)}"


@record
class _Look:
    """How it is to look."""

    paper: Paper
    large: bool
    mood: bool


def _write(opened: Opened, song: Chart, out: Path, look: _Look, *, quiet: bool) -> bool:
    """Write the chart; False where it could not be written, which is told."""
    from mixer.pages.png import NoPillowError  # noqa: PLC0415 - help comes without it

    try:
        page = out.suffix.lower() == ".html"
        written = _write_page(opened, out, look) if page else _write_picture(song, out, look)
    except NoPillowError:
        typer.echo(words.NO_PNG, err=True)
        return False
    except OSError as error:
        typer.echo(words.not_written(printable(str(out)), error.strerror or ""), err=True)
        return False
    if written and not quiet:
        typer.echo(written)
    return bool(written)


def _write_page(opened: Opened, out: Path, look: _Look) -> str:
    """Write the page; give what is to be said of it, nothing where there is no song."""
    from mixer.cli.song_page import draw_chart, write_page  # noqa: PLC0415 - help comes without it
    from mixer.words.english.page import written as page_written  # noqa: PLC0415 - the same

    def draw(plan: Plan, seen: Seen) -> str:
        return draw_chart(plan, seen, look.paper.value, large=look.large)

    made = write_page(opened, out, draw, mood=look.mood)
    if made is None:
        typer.echo(NO_SONG, err=True)
        return ""
    return page_written(printable(str(out)), song=True)


def _write_picture(song: Chart, out: Path, look: _Look) -> str:
    from mixer.store.whole import whole_file  # noqa: PLC0415 - help comes without it

    sheets = _sheets(song, look)
    content = _content(sheets, song, out)
    with whole_file(out) as stream:
        stream.write(content)
    return words.written(printable(str(out)), len(sheets))


def _sheets(song: Chart, look: _Look) -> list[Sheet]:
    from mixer.pages.engrave import engrave  # noqa: PLC0415 - help comes without it

    return engrave(song, look.paper.value, large=look.large)


def _described(song: Chart) -> str:
    sections = [(each.letter, each.name, each.first_bar) for each in song.sections]
    return words.described(song.bars, song.length, sections)


def _content(sheets: list[Sheet], song: Chart, out: Path) -> bytes:
    ending = out.suffix.lower()
    if ending == ".png":
        from mixer.pages import png  # noqa: PLC0415 - only who wants it

        content = png.as_png(sheets)
        if signs := png.missing(sheets):
            typer.echo(printable(words.not_in_png(signs)), err=True)
        return content
    if ending == ".pdf":
        from mixer.pages.pdf import as_pdf, missing  # noqa: PLC0415 - the same

        if signs := missing(sheets):
            typer.echo(printable(words.not_in_pdf(signs)), err=True)
        return as_pdf(sheets, song.title)
    from mixer.pages.svg import as_svg  # noqa: PLC0415 - the same

    return as_svg(sheets, song.title, _described(song)).encode()
