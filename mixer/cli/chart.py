"""`mixer chart`: the song's form as printed music, in the terminal or as a file."""

from __future__ import annotations

from enum import Enum
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Annotated

import typer

from mixer.cli.common import CALLED_WRONGLY, MISTAKES, LoopFolders, Progress, open_or_tell, tell
from mixer.words.english import chart as words
from mixer.words.problem import Problem
from mixer.words.say import printable

if TYPE_CHECKING:
    from mixer.coach.seen import Seen
    from mixer.material.fit import Material
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
    from mixer.coach.seen import see_plan  # noqa: PLC0415 - loads numpy
    from mixer.pages.engrave import engrave  # noqa: PLC0415 - help comes without it
    from mixer.pages.png import NoPillowError  # noqa: PLC0415 - the same
    from mixer.signal.coded import NoEncoderError  # noqa: PLC0415 - the same
    from mixer.song.charted import chart_of  # noqa: PLC0415 - the same
    from mixer.store.whole import whole_file  # noqa: PLC0415 - the same

    materials = _materials(plan)
    seen = see_plan(plan, materials)
    song = chart_of(plan, seen.energy_shape)
    sheets = engrave(song, paper.value, large=large)
    try:
        if out.suffix.lower() == ".html":
            content = _page(opened, seen, materials, sheets, large=large)
        else:
            content = _content(sheets, song.title, out)
        with whole_file(out) as stream:
            stream.write(content)
    except NoPillowError:
        typer.echo(words.NO_PNG, err=True)
        return False
    except NoEncoderError:
        typer.echo(words.NO_MP3, err=True)
        return False
    except OSError as error:
        typer.echo(words.not_written(printable(str(out)), error.strerror or ""), err=True)
        return False
    typer.echo(words.written(printable(str(out)), len(sheets)))
    return True


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


def _page(opened: Opened, seen: Seen, materials: dict[str, Material], sheets: list[Sheet], *, large: bool) -> bytes:
    """The page with the chart, the song and all that is said of it."""
    from mixer.pages.song_page import PageTexts, song_page  # noqa: PLC0415 - only who wants it
    from mixer.song.charted import chart_of  # noqa: PLC0415 - the same
    from mixer.song.credits import credits_of  # noqa: PLC0415 - the same
    from mixer.song.render import render_prepared  # noqa: PLC0415 - the same

    plan = opened.plan
    if plan is None:
        return b""
    with TemporaryDirectory() as room:
        report = render_prepared(plan, materials, Path(room) / "song.mp3", song_format="mp3")
        sound = report.song.read_bytes()
    texts = PageTexts(
        sections=seen.section_words,
        stands_out=seen.stands_out,
        questions=tuple(each.text for each in seen.questions),
        credits=tuple(credits_of(plan)),
    )
    return song_page(chart_of(plan, seen.energy_shape), sheets, sound, texts, large=large).encode()


def _materials(plan: Plan) -> dict[str, Material]:
    from mixer.song.render import prepare  # noqa: PLC0415 - loads numpy

    progress = Progress()
    try:
        materials, problems = prepare(plan, progress)
    finally:
        progress.clear()
    tell(problems)
    return materials
