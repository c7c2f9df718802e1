"""What several commands share: options, opening recipes, problems as text and as JSON."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from mixer.words.english import told
from mixer.words.problem import Place, Problem
from mixer.words.say import all_in_full, in_full, is_mistake, printable, say

if TYPE_CHECKING:
    from mixer.coach.energy import Energy
    from mixer.song.opened import Opened

LoopFolders = Annotated[
    list[Path],
    typer.Option(
        "--loops",
        metavar="FOLDER",
        help="A folder with loops and its loops.yaml; may be given several times.",
    ),
]
AsJson = Annotated[bool, typer.Option("--json", help="Answer in JSON, for other programs.")]
MISTAKES = 1
CALLED_WRONGLY = 2


def _named(context: typer.Context, recipes: list[Path]) -> list[Path]:
    """Give the recipes that were named; where none was, say what could have been and leave."""
    if recipes or context.resilient_parsing:
        return recipes
    from mixer.song.opened import recipes_in  # noqa: PLC0415 - help comes without it

    facts = {"command": context.info_name or "", "near": recipes_in(Path())}
    tell_one(Problem("recipe-unnamed", Place(f"mixer {context.info_name}"), facts))
    raise typer.Exit(CALLED_WRONGLY)


Recipes = Annotated[
    list[Path],
    typer.Argument(metavar="RECIPE...", help="One recipe or several.  [required]", show_default=False, callback=_named),
]


def open_or_tell(path: Path, loop_folders: Iterable[Path], rate_hz: int | None = None) -> Opened | Problem:
    """Open a recipe; where there is none, give what to tell."""
    from mixer.song.opened import NoRecipeError, open_recipe  # noqa: PLC0415 - help comes without it

    try:
        return open_recipe(path, loop_folders, *([] if rate_hz is None else [rate_hz]))
    except NoRecipeError as error:
        return error.problem


def as_data(problem: Problem) -> dict[str, Any]:
    """Give a problem for JSON."""
    said, place = say(problem), problem.place
    return {
        "file": place.file,
        "line": place.line,
        "column": place.column,
        "kind": problem.kind,
        "message": said.message,
        "hint": said.hint,
        "mended": said.mended,
    }


def problems_as_data(problems: Iterable[Problem]) -> dict[str, list[dict[str, Any]]]:
    """Give problems and advice for JSON."""
    problems = list(problems)
    return {
        "problems": [as_data(problem) for problem in problems if is_mistake(problem)],
        "advice": [as_data(problem) for problem in problems if not is_mistake(problem)],
    }


def energy_as_data(energy: Energy) -> list[dict[str, Any]]:
    """Give the energy of each bar for JSON; it is shown as numbers nowhere else."""
    return [
        {
            "energy": round(bar.energy, 6),
            "shape": round(shape, 6),
            "loudness_lufs": None if bar.loudness_lufs is None else round(bar.loudness_lufs, 2),
            "onsets": bar.onsets,
            "roles": list(bar.roles),
            "bands": bar.bands,
        }
        for bar, shape in zip(energy.detail, energy.shape, strict=True)
    ]


def print_json(answers: Sequence[object]) -> None:
    """Print one answer as it is, several as a list."""
    text = json.dumps(answers[0] if len(answers) == 1 else answers, indent=2, ensure_ascii=False)
    # JSON escapes only a part of the signs that could steer a terminal.
    shown = (sign if sign.isprintable() or sign == "\n" else json.dumps(sign)[1:-1] for sign in text)
    typer.echo("".join(shown))


def tell(problems: Iterable[Problem]) -> None:
    """Tell problems, on the stream for errors."""
    text = all_in_full(problems)
    if text:
        typer.echo(text, err=True)


def tell_shortly(problems: Iterable[Problem]) -> None:
    """Tell where problems are and what they are, a line each, on the stream for errors."""
    for problem in problems:
        where = f"line {problem.place.line}: " if problem.place.text else ""
        typer.echo(printable(f"{problem.place.file}, {where}{say(problem).message}"), err=True)


def lines_of(problems: Iterable[Problem], recipe: Path) -> list[str]:
    """Give the lines that problems are told of, as words have them; what belongs to no line is left out."""
    places = dict.fromkeys((each.place.file, each.place.line) for each in problems if each.place.text)
    return [printable(told.line_told(line, "" if file == recipe.name else file)) for file, line in places]


def tell_one(problem: Problem) -> None:
    """Tell one problem, on the stream for errors."""
    typer.echo(in_full(problem), err=True)


def tell_not_written(file: Path, error: OSError) -> None:
    """Tell that a file could not be written, and why, on the stream for errors."""
    tell_one(Problem("not-written", Place(file.name), {"song": str(file), "why": error.strerror or ""}))


class Progress:
    """Says on a terminal what is being done, when it takes longer than a moment; elsewhere it says nothing."""

    def __init__(self) -> None:
        self._shown = 0
        self._terminal = sys.stderr.isatty()

    def __call__(self, what: str, done: float) -> None:
        """Show what is being done and how much of it is done, 0 to 1."""
        if self._terminal:
            text = f"{round(100 * done):3} % {what}"[:60]
            typer.echo(f"\r{text.ljust(self._shown)}", err=True, nl=False)
            self._shown = len(text)

    def clear(self) -> None:
        """Take the line away."""
        if self._shown:
            typer.echo(f"\r{' ' * self._shown}\r", err=True, nl=False)
            self._shown = 0
