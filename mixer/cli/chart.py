"""`mixer chart`: the song's form as printed music, in the terminal or as a file."""

from __future__ import annotations

from enum import Enum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from mixer.cli.common import CALLED_WRONGLY, MISTAKES, LoopFolders, Progress, open_or_tell, tell
from mixer.words.english import chart as words
from mixer.words.english.told import NO_SONG
from mixer.words.problem import Problem
from mixer.words.say import printable

if TYPE_CHECKING:
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


def chart(
    recipe: Annotated[Path, typer.Argument(metavar="RECIPE", help="A recipe.")],
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", metavar="FILE", help="A file that ends in .svg, .png, .pdf or .html."),
    ] = None,
    loops: LoopFolders = [],  # noqa: B006 - typer copies it
    paper: Annotated[Paper, typer.Option(help="What it is to be printed on.")] = Paper.a4,
    large: Annotated[bool, typer.Option("--large", help="In large print, on as many sheets as that takes.")] = False,
    text: Annotated[bool, typer.Option("--text", help="Show it as text too when there is a file.")] = False,
) -> None:
    """Show the form of a song as printed music.

    Without --out it is shown as text. A file that ends in .html is a page with the chart and the song to listen to.

    Example: mixer chart my-song/my-song.yaml --out my-song.svg
    """
    if out is not None and out.suffix.lower() not in ENDINGS:
        name = printable(out.name)
        raise typer.BadParameter(words.wrong_ending(name), param_hint="--out")
    opened = open_or_tell(recipe, loops)
    if isinstance(opened, Problem):
        tell([opened])
        raise typer.Exit(CALLED_WRONGLY)
    tell(opened.mistakes)
    if opened.plan is None:
        raise typer.Exit(MISTAKES)
    if out is None or text:
        typer.echo(printable(_as_text(opened.plan)))
    if out is not None and not _write(opened, opened.plan, out, paper, large=large):
        raise typer.Exit(CALLED_WRONGLY)
    raise typer.Exit(MISTAKES if opened.mistakes else 0)


def _as_text(plan: Plan) -> str:
    from mixer.pages.form_text import form_as_text  # noqa: PLC0415 - help comes without it
    from mixer.song.charted import chart_of  # noqa: PLC0415 - the same

    song = chart_of(plan)
    facts = words.text_head(song.title, song.by, song.tempo, song.key, song.time, song.length)
    sections = [(each.letter, each.name, each.first_bar, each.bars) for each in song.sections]
    return f"{facts}\n\n{form_as_text(sections, [(layer.name, layer.heard) for layer in song.in_score_order])}"


def _write(opened: Opened, plan: Plan, out: Path, paper: Paper, *, large: bool) -> bool:
    """Write the chart; False where it could not be written, which is told."""
    from mixer.pages.png import NoPillowError  # noqa: PLC0415 - help comes without it

    try:
        if out.suffix.lower() == ".html":
            return _write_page(opened, out, paper, large=large)
        _write_picture(plan, out, paper, large=large)
    except NoPillowError:
        typer.echo(words.NO_PNG, err=True)
        return False
    except OSError as error:
        typer.echo(words.not_written(printable(str(out)), error.strerror or ""), err=True)
        return False
    return True


def _write_page(opened: Opened, out: Path, paper: Paper, *, large: bool) -> bool:
    from mixer.cli.song_page import write_page  # noqa: PLC0415 - help comes without it
    from mixer.pages.svg import as_svg  # noqa: PLC0415 - the same
    from mixer.song.charted import chart_of  # noqa: PLC0415 - the same
    from mixer.words.english.page import written as page_written  # noqa: PLC0415 - the same

    def draw(plan: Plan, seen: Seen) -> str:
        song = chart_of(plan, seen.energy_shape)
        return as_svg(_sheets(song, paper, large=large), song.title, places=True)

    made = write_page(opened, out, draw)
    if made is None:
        typer.echo(NO_SONG, err=True)
        return False
    typer.echo(page_written(printable(str(out)), song=True))
    return True


def _write_picture(plan: Plan, out: Path, paper: Paper, *, large: bool) -> None:
    from mixer.coach.energy import energy  # noqa: PLC0415 - loads numpy
    from mixer.song.charted import chart_of  # noqa: PLC0415 - the same
    from mixer.song.render import prepare  # noqa: PLC0415 - the same
    from mixer.store.whole import whole_file  # noqa: PLC0415 - the same

    progress = Progress()
    try:
        materials, problems = prepare(plan, progress)
    finally:
        progress.clear()
    tell(problems)
    song = chart_of(plan, energy(plan, materials).shape)
    sheets = _sheets(song, paper, large=large)
    content = _content(sheets, song.title, out)
    with whole_file(out) as stream:
        stream.write(content)
    typer.echo(words.written(printable(str(out)), len(sheets)))


def _sheets(song: Chart, paper: Paper, *, large: bool) -> list[Sheet]:
    from mixer.pages.engrave import engrave  # noqa: PLC0415 - help comes without it

    return engrave(song, paper.value, large=large)


def _content(sheets: list[Sheet], title: str, out: Path) -> bytes:
    ending = out.suffix.lower()
    if ending == ".png":
        from mixer.pages.png import as_png  # noqa: PLC0415 - only who wants it

        return as_png(sheets)
    if ending == ".pdf":
        from mixer.pages.pdf import as_pdf, missing  # noqa: PLC0415 - the same

        if signs := missing(sheets):
            typer.echo(printable(words.not_in_pdf(signs)), err=True)
        return as_pdf(sheets, title)
    from mixer.pages.svg import as_svg  # noqa: PLC0415 - the same

    return as_svg(sheets, title).encode()
