"""`mixer check`: mistakes and advice without making a song, then the song said back."""

from __future__ import annotations

from collections.abc import Iterable
from textwrap import fill
from typing import TYPE_CHECKING, Annotated, Any

import typer

from mixer.cli.brief import BriefOption, brief_as_data, brief_itself, chosen_brief, tell_brief, tell_itself, with_brief
from mixer.cli.common import (
    CALLED_WRONGLY,
    MISTAKES,
    AsJson,
    LoopFolders,
    Progress,
    Recipes,
    energy_as_data,
    lines_of,
    open_or_tell,
    print_json,
    problems_as_data,
    tell,
)
from mixer.record import replace
from mixer.words.english import told
from mixer.words.problem import Problem, Problems
from mixer.words.say import printable

if TYPE_CHECKING:
    from mixer.coach.seen import Seen
    from mixer.song.opened import Opened
    from mixer.song.outline import Outline


def check(
    recipes: Recipes = [],  # noqa: B006 - typer copies it
    loops: LoopFolders = [],  # noqa: B006 - typer copies it
    questions: Annotated[
        bool, typer.Option("--questions", help="Also what the sections do, what stands out, and questions.")
    ] = False,
    mood: Annotated[
        bool, typer.Option("--mood", help="Also how tempo, key and the like are often heard, beside your own words.")
    ] = False,
    words: Annotated[
        bool, typer.Option("--words", help="Say the whole song in sentences, without a chart: for listening to it.")
    ] = False,
    brief: BriefOption = None,
    as_json: AsJson = False,
) -> None:
    """Tell all mistakes, then say the song back.

    No song is made. What is said back is what would be heard. A brief (an assignment) is said back too.

    Example: mixer check my-song/my-song.yaml
    """
    if len(recipes) == 1 and (itself := brief_itself(recipes[0])) is not None:
        raise typer.Exit(tell_itself(itself, loops, as_json=as_json))
    chosen = chosen_brief(brief)
    opened = [_doubted(with_brief(open_or_tell(path, loops), chosen)) for path in recipes]
    seen = [_see(each) if questions or mood else None for each in opened]
    if as_json:
        print_json([_as_data(each, look) for each, look in zip(opened, seen, strict=True)])
    else:
        for each, look in zip(opened, seen, strict=True):
            _tell(each, words=words)
            if look is not None and not isinstance(each, Problem):
                _tell_seen(each, look, questions=questions, mood=mood)
            if not isinstance(each, Problem):
                tell_brief(each, None if look is None else look.energy, chosen=chosen is not None)
    raise typer.Exit(max(_exit_code(each) for each in opened))


def _doubted(opened: Opened | Problem) -> Opened | Problem:
    """Add what is told where a loop of one's own sounds otherwise than its card says."""
    if isinstance(opened, Problem) or opened.plan is None:
        return opened
    from mixer.song.doubts import doubt_cards  # noqa: PLC0415 - help comes without it

    problems = Problems(opened.problems)
    doubt_cards(opened.plan, problems)
    return replace(opened, problems=tuple(problems.in_order()))


def _exit_code(opened: Opened | Problem) -> int:
    if isinstance(opened, Problem):
        return CALLED_WRONGLY
    return MISTAKES if opened.mistakes else 0


def _tell(opened: Opened | Problem, *, words: bool) -> None:
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
    if words:
        from mixer.song.spoken import spoken  # noqa: PLC0415 - help comes without it

        typer.echo(printable("\n".join(spoken(opened.plan))))
        return
    typer.echo(printable(_in_words(song, opened.path.stem)))
    typer.echo("")
    typer.echo(printable(_as_chart(song)))


def _see(opened: Opened | Problem) -> Seen | None:
    """Look at what the song does, which needs its loops' sound."""
    if isinstance(opened, Problem) or opened.plan is None:
        return None
    from mixer.coach.seen import see  # noqa: PLC0415 - loads numpy
    from mixer.song.render import prepare  # noqa: PLC0415 - the same

    progress = Progress()
    try:
        materials, _ = prepare(opened.plan, progress)  # what cannot be used is told when the song is made
    finally:
        progress.clear()
    return see(opened, materials)


def _tell_seen(opened: Opened, seen: Seen, *, questions: bool, mood: bool) -> None:
    from mixer.words.english import coach  # noqa: PLC0415 - help comes without it

    plan = opened.plan
    if plan is None:
        return
    lines: list[str] = []
    if questions:
        lines += ["", coach.SECTIONS, ""]
        for mark, told_of in zip(plan.marks, seen.section_words, strict=True):
            lines += [f"  [{mark.letter}] {coach.section_head(mark.name, mark.first_bar)}"]
            lines += _folded(told_of, "      ")
        lines += ["", coach.STANDS_OUT, "", *_folded(seen.stands_out, "  "), "", coach.QUESTIONS, ""]
        for number, question in enumerate(seen.questions, start=1):
            lines += _folded([coach.numbered(number, question.text)], "  ", hanging=3)
            lines += [f"     {coach.to_try(str(opened.path), question.try_text)}"]
        if not seen.questions:
            lines += [f"  {coach.NO_QUESTIONS}"]
    if mood:
        from mixer.coach.mood import mood as mood_of  # noqa: PLC0415 - the same
        from mixer.words.english import mood as mood_words  # noqa: PLC0415 - the same

        lines += ["", mood_words.TITLE, "", *_folded(mood_of(plan, seen.energy), "  ")]
    typer.echo(printable("\n".join(lines)))


def _folded(texts: Iterable[str], indent: str, hanging: int = 2) -> list[str]:
    """Break texts into lines that fit a page of 80 columns."""
    broken = (fill(text, 80, initial_indent=indent, subsequent_indent=indent + " " * hanging) for text in texts)
    return [line for text in broken for line in text.split("\n")]


def _in_words(song: Outline, file: str) -> str:
    length = told.minutes(song.seconds)
    head = told.song_told(song.title or file, length, song.bars, song.tempo_bpm, song.key, song.time)
    sections = [told.section_told(each.name, each.bars, each.entries) for each in song.sections]
    return "\n".join([head, "", *(f"  {line}" for line in sections)])


def _as_chart(song: Outline) -> str:
    from mixer.pages.form_text import form_as_text  # noqa: PLC0415 - help comes without it

    sections = [(each.letter, each.name, each.first_bar, each.bars) for each in song.sections]
    return form_as_text(sections, [(layer.name, layer.heard) for layer in song.layers])


def _as_data(opened: Opened | Problem, seen: Seen | None) -> dict[str, Any]:
    if isinstance(opened, Problem):
        return {**problems_as_data([opened]), "plan": None}
    data = {**problems_as_data(opened.problems), "plan": _plan_as_data(opened)}
    data |= brief_as_data(opened, None if seen is None else seen.energy)
    return data if seen is None else {**data, **_seen_as_data(seen)}


def _seen_as_data(seen: Seen) -> dict[str, Any]:
    return {
        "bars": energy_as_data(seen.energy),
        "fullest_bar": seen.energy.fullest_bar,
        "sections": [list(told_of) for told_of in seen.section_words],
        "stands_out": list(seen.stands_out),
        "questions": [{"text": each.text, "try": each.try_text, "bars": list(each.bars)} for each in seen.questions],
    }


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
