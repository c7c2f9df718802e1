"""`mixer check`: mistakes and advice without making a song, then the song said back."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import typer

from mixer.cli.common import (
    CALLED_WRONGLY,
    MISTAKES,
    AsJson,
    LoopFolders,
    Recipes,
    lines_of,
    open_or_tell,
    print_json,
    problems_as_data,
    tell,
)
from mixer.words.english import told
from mixer.words.problem import Problem
from mixer.words.say import printable

if TYPE_CHECKING:
    from mixer.song.opened import Opened
    from mixer.song.outline import Outline


def check(
    recipes: Recipes,
    loops: LoopFolders = [],  # noqa: B006 - typer copies it
    as_json: AsJson = False,
) -> None:
    """Tell all mistakes, then say the song back.

    No sound is made. What is said back is what would be heard.

    Example: mixer check my-song/my-song.yaml
    """
    opened = [open_or_tell(path, loops) for path in recipes]
    if as_json:
        print_json([_as_data(each) for each in opened])
    else:
        for each in opened:
            _tell(each)
    raise typer.Exit(max(_exit_code(each) for each in opened))


def _exit_code(opened: Opened | Problem) -> int:
    if isinstance(opened, Problem):
        return CALLED_WRONGLY
    return MISTAKES if opened.mistakes else 0


def _tell(opened: Opened | Problem) -> None:
    if isinstance(opened, Problem):
        tell([opened])
        return
    from mixer.song.outline import outline  # noqa: PLC0415 - help comes without it

    tell(opened.problems)
    if opened.plan is None:
        lines = lines_of(opened.mistakes, opened.path)
        typer.echo(f"\n{told.NO_SONG_YET} {told.start_with(lines[0] if lines else '', 'check')}", err=True)
        return
    if opened.problems:
        typer.echo("", err=True)
    song = outline(opened.plan)
    typer.echo(printable(_in_words(song, opened.path.stem)))
    typer.echo("")
    typer.echo(printable(_as_chart(song)))


def _in_words(song: Outline, file: str) -> str:
    length = told.minutes(song.seconds)
    head = told.song_told(song.title or file, length, song.bars, song.tempo_bpm, song.key, song.time)
    sections = [told.section_told(each.name, each.bars, each.entries) for each in song.sections]
    return "\n".join([head, "", *(f"  {line}" for line in sections)])


def _as_chart(song: Outline) -> str:
    from mixer.pages.form_text import form_as_text  # noqa: PLC0415 - help comes without it

    sections = [(each.letter, each.name, each.first_bar, each.bars) for each in song.sections]
    return form_as_text(sections, [(layer.name, layer.heard) for layer in song.layers])


def _as_data(opened: Opened | Problem) -> dict[str, Any]:
    if isinstance(opened, Problem):
        return {**problems_as_data([opened]), "plan": None}
    return {**problems_as_data(opened.problems), "plan": _plan_as_data(opened)}


def _plan_as_data(opened: Opened) -> dict[str, Any] | None:
    plan = opened.plan
    if plan is None:
        return None
    return {
        part.layer.name: [
            {
                "enter_bar": cue.enter_bar,
                "exit_bar": cue.exit_bar,
                "start_seconds": round(cue.start_frame / plan.rate_hz, 6),
                "end_seconds": round(cue.end_frame / plan.rate_hz, 6),
            }
            for cue in part.cues
        ]
        for part in plan.parts
    }
