"""What commands share about briefs: the option, finding the file, and telling what a song does of what is asked.

A limit that is not kept is no mistake: the song is made all the same, and the exit code stays what it was.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from textwrap import fill
from typing import TYPE_CHECKING, Annotated, Any

import typer

from mixer.cli.common import CALLED_WRONGLY, MISTAKES, print_json, problems_as_data, tell
from mixer.words.problem import Place, Problem
from mixer.words.say import is_mistake, printable

if TYPE_CHECKING:
    from mixer.coach.brief import BriefLook, Limit
    from mixer.coach.energy import Energy
    from mixer.song.briefs import BriefFile
    from mixer.song.opened import Opened

BriefOption = Annotated[
    str | None,
    typer.Option(
        "--brief",
        metavar="FILE",
        help="A brief (or the name of one that comes with the program) in place of those that recipes name.",
    ),
]


def chosen_brief(given: str | None) -> BriefFile | None:
    """Read the brief that the command names, and tell what is wrong with it; leave where there is none."""
    if given is None:
        return None
    from mixer.song.briefs import Shelf, read_brief_file  # noqa: PLC0415 - help comes without it
    from mixer.text.names import nearest  # noqa: PLC0415 - the same

    path, shelf = Path(given), Shelf()
    found = read_brief_file(path) if _is_there(path) else shelf.find(given)
    if found is None:
        names = list(shelf)
        tell([Problem("brief-missing", Place(given), {"name": given, "briefs": names, "guess": nearest(given, names)})])
        raise typer.Exit(CALLED_WRONGLY)
    _tell_problems(found.reading.problems)
    if found.brief is None:
        raise typer.Exit(CALLED_WRONGLY)
    return found


def brief_itself(path: Path) -> BriefFile | None:
    """Read a brief where a recipe was expected; None where it is none."""
    from mixer.song.briefs import read_brief_file  # noqa: PLC0415 - help comes without it

    found = read_brief_file(path)
    return found if found.brief is not None and found.reading.certain else None


def tell_itself(found: BriefFile, loops: Iterable[Path], *, as_json: bool) -> int:
    """Say a brief back, with what is wrong with it; give the exit code."""
    from mixer.coach.asked import asked_by  # noqa: PLC0415 - only where there is a brief
    from mixer.coach.heard import strangers  # noqa: PLC0415 - the same
    from mixer.loops.library import open_library  # noqa: PLC0415 - the same
    from mixer.words.english import limits as words  # noqa: PLC0415 - the same

    brief, problems = found.brief, found.reading.problems
    if brief is None:
        return CALLED_WRONGLY
    if brief.loops or brief.loops_from:
        problems = (*problems, *strangers(brief, open_library(found.path.parent, loops).cards.values()))
    asked = asked_by(brief)
    if as_json:
        data = {"name": brief.name, "goal": brief.goal, "asks": asked, "find_out": list(brief.find_out)}
        print_json([{"brief": {**data, **problems_as_data(problems)}}])
    else:
        _tell_problems(problems)
        lines = words.said_back(brief.name, brief.goal, list(asked.values()), brief.find_out)
        # What may be copied into a terminal stays in one line.
        for line in (*_folded(lines), words.to_look(str(found.path))):
            typer.echo(printable(line))
    return MISTAKES if any(is_mistake(problem) for problem in problems) else 0


def _is_there(path: Path) -> bool:
    try:
        return path.exists()
    except (OSError, ValueError):  # a name that no file can have
        return False


def with_brief(opened: Opened | Problem, chosen: BriefFile | None) -> Opened | Problem:
    """Give a song the brief that the command names, if it names one."""
    return opened if isinstance(opened, Problem) or chosen is None else opened.with_brief(chosen)


def look_of(opened: Opened, energy: Energy | None = None) -> BriefLook | None:
    """Look at a song with its brief; None where it has none."""
    if opened.brief is None or opened.brief.brief is None:
        return None
    from mixer.coach.brief import look  # noqa: PLC0415 - only where there is a brief

    return look(opened.brief.brief, opened.plan, energy)


def tell_brief(opened: Opened, energy: Energy | None = None, *, chosen: bool = False, shortly: bool = False) -> None:
    """Tell what a song does of what its brief asks; nothing where it has none.

    Parameters
    ----------
    opened : the song
    energy : bar by bar; None where the sound was not looked at
    chosen : whether the command named the brief, so that what is wrong with it is told already
    shortly : whether to tell only whether it is kept, and what is not
    """
    seen = look_of(opened, energy)
    if seen is None or opened.brief is None:
        return
    if not chosen:
        _tell_problems(opened.brief.reading.problems)
    typer.echo("")
    for line in _folded(seen.short_lines if shortly else seen.lines):
        typer.echo(printable(line))


def _tell_problems(problems: Sequence[Problem]) -> None:
    if problems:
        tell(problems)
        typer.echo("", err=True)


def _folded(lines: Iterable[str]) -> Iterable[str]:
    """Break lines so that they fit a page of 80 columns."""
    for line in lines:
        text = line.lstrip()
        before = " " * (len(line) - len(text))
        yield fill(text, 80, initial_indent=before, subsequent_indent=before + "  ")


def brief_as_data(opened: Opened, energy: Energy | None = None) -> dict[str, Any]:
    """Give it for JSON; nothing where a song has no brief."""
    seen = look_of(opened, energy)
    if seen is None or opened.brief is None:
        return {}
    data = {
        "name": seen.name,
        "goal": seen.goal,
        "limits": [_limit_as_data(limit) for limit in seen.limits],
        "find_out": [
            {"question": each.question, "answer": each.answer, "bars": [list(span) for span in each.bars]}
            for each in seen.find_out
        ],
        **problems_as_data(opened.brief.reading.problems),
    }
    return {"brief": data}


def _limit_as_data(limit: Limit) -> dict[str, Any]:
    return {
        "key": limit.key,
        "asked": limit.asked,
        "kept": limit.kept,
        "line": limit.line,
        "bars": [list(span) for span in limit.bars],
        "message": limit.words,
        "hint": limit.hint,
    }
