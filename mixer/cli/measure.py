"""`mixer measure`: what can be heard of loops, with honest doubt."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from mixer.cli.common import CALLED_WRONGLY, MISTAKES, AsJson, Progress, print_json
from mixer.words.english import measured as words
from mixer.words.say import printable

if TYPE_CHECKING:
    from mixer.loops.measure.measured import Measured

_ANSWERS = ("tempo_bpm", "bars", "time", "first_downbeat_seconds", "key", "chords", "role")


def measure(
    paths: Annotated[list[Path], typer.Argument(metavar="PATH...", help="Sound files, or folders of them.")],
    write: Annotated[bool, typer.Option("--write", help="Add what was measured to each folder's loops.yaml.")] = False,
    as_json: AsJson = False,
) -> None:
    """Measure loops: tempo, bars, key, chords, role, faults.

    Each answer is sure, or says what else it could be. With --write the folder's list of loops gets what it lacks; what
    a person wrote in it stays as it is.

    Example: mixer measure my-loops --write
    """
    from mixer.loops.measure.many import measure_all, sound_files  # noqa: PLC0415 - help comes without it

    missing = [path for path in paths if not path.exists()]
    for path in missing:
        typer.echo(words.not_there(printable(str(path))), err=True)
    if missing:
        raise typer.Exit(CALLED_WRONGLY)
    files = list({file.resolve(): file for path in paths for file in sound_files(path)}.values())
    if not files:
        typer.echo(words.NOTHING, err=True)
        raise typer.Exit(MISTAKES)
    if write:
        from mixer.loops.measure.keep import without_complete  # noqa: PLC0415 - the same

        files = without_complete(files)
    progress, found = Progress(), []
    for number, one in enumerate(measure_all(files), 1):
        progress(f"{words.MEASURING} {printable(one.path.name)}", number / len(files))
        found.append(one)
    progress.clear()
    if as_json:
        print_json([[_as_data(one) for one in found]])
    else:
        _tell(found)
    if write:
        _write(paths, found, quiet=as_json)
    elif not as_json:
        typer.echo(words.next_step(printable(str(paths[0] if paths[0].is_dir() else paths[0].parent))))
    raise typer.Exit(MISTAKES if any(not one.is_loop for one in found) else 0)


def _tell(found: list[Measured]) -> None:
    for one in found:
        typer.echo(printable(one.path.name))
        for line in _lines(one):
            typer.echo(printable(f"  {line}"))
        typer.echo("")
    if found:
        unsure = sum(one.is_loop and not set(_ANSWERS) <= set(one.sure) for one in found)
        typer.echo(words.summary(len(found), sum(one.is_loop for one in found), unsure))


def _lines(one: Measured) -> list[str]:
    lines = []
    if one.is_loop:
        lines.append(words.facts(one))
        lines += [words.chords(one.chords)] if one.chords else []
    if one.loudness_lufs is not None and one.true_peak_dbtp is not None:
        lines.append(words.level(one.loudness_lufs, one.true_peak_dbtp))
    lines += [words.problem(kind, facts) for kind, facts in one.problems]
    if one.is_loop:
        lines += words.doubts([name for name in _ANSWERS if name not in one.sure], one.others)
    return lines


def _as_data(one: Measured) -> dict[str, Any]:
    return {
        "file": str(one.path),
        "tempo_bpm": one.tempo_bpm,
        "bars": one.bars,
        "time": one.time,
        "first_downbeat_seconds": one.first_downbeat_seconds,
        "key": str(one.key) if one.key else None,
        "chords": list(one.chords),
        "role": one.role,
        "loudness_lufs": one.loudness_lufs,
        "true_peak_dbtp": one.true_peak_dbtp,
        "sure": list(one.sure),
        "or": {name: list(values) for name, values in one.others.items()},
        "problems": [{"kind": kind, "message": words.problem(kind, facts)} for kind, facts in one.problems],
    }


def _write(paths: list[Path], found: list[Measured], *, quiet: bool) -> None:
    from mixer.loops.measure.keep import CatalogNotUtf8Error, keep  # noqa: PLC0415 - help comes without it

    folders = dict.fromkeys(path if path.is_dir() else path.parent for path in paths)
    for folder in folders:
        catalog = printable(str(folder / "loops.yaml"))
        try:
            kept = keep(folder, [one for one in found if one.path.parent == folder])
        except CatalogNotUtf8Error:
            typer.echo(words.not_utf8(catalog), err=True)
            raise typer.Exit(MISTAKES) from None
        except OSError:
            typer.echo(words.not_writable(catalog), err=True)
            raise typer.Exit(MISTAKES) from None
        if not quiet:
            typer.echo(words.written(catalog, kept.new, kept.filled))
            if kept.guesses:
                typer.echo(words.CHECK)
        if kept.gone:
            typer.echo(words.gone([printable(name) for name in kept.gone]), err=True)
