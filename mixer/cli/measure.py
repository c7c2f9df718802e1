"""`mixer measure`: what can be heard of loops, with honest doubt."""

from __future__ import annotations

import signal
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from mixer.cli.common import CALLED_WRONGLY, MISTAKES, AsJson, Progress, print_json
from mixer.words.english import measured as words
from mixer.words.say import printable

if TYPE_CHECKING:
    from mixer.loops.measure.facts import Measured

_ANSWERS = ("tempo_bpm", "bars", "time", "first_downbeat_seconds", "key", "chords", "role")


def measure(
    paths: Annotated[list[Path], typer.Argument(metavar="PATH...", help="Sound files, or folders of them.")],
    write: Annotated[bool, typer.Option("--write", help="Add what was measured to each folder's loops.yaml.")] = False,
    as_json: AsJson = False,
) -> None:
    """Measure loops: tempo, bars, key, chords, role, faults.

    Each answer is sure, or says what else it could be. With --write the folder's list of loops gets what it lacks, also
    how much slower, faster, lower and higher each loop may be played before it suffers; what a person wrote stays.

    Example: mixer measure my-loops --write
    """
    there = _files(paths, quiet=as_json)
    files = there
    if write:
        from mixer.loops.measure.keep import without_complete  # noqa: PLC0415 - help comes without it

        files = without_complete(there)
    found = _measure(files, quiet=as_json, with_limits=write)
    stopped = len(found) < len(files)
    if as_json:
        print_json([[_as_data(one) for one in found]])
    else:
        _sum_up(found, complete=len(there) - len(files))
    if stopped:
        typer.echo(words.stopped(len(found), len(files)), err=True)
    if write:
        _write(paths, found, quiet=as_json)
    elif not as_json and any(one.is_loop for one in found):
        typer.echo(words.next_step(printable(str(paths[0] if paths[0].is_dir() else paths[0].parent))))
    raise typer.Exit(MISTAKES if stopped or any(not one.is_loop for one in found) else 0)


def _files(paths: list[Path], *, quiet: bool) -> list[Path]:
    """Find the sound files; ends the command where something is not there, or nothing is."""
    from mixer.loops.measure.many import inner_folders, sound_files  # noqa: PLC0415 - help comes without it

    missing = [path for path in paths if not path.exists()]
    for path in missing:
        typer.echo(words.not_there(printable(str(path))), err=True)
    if missing:
        raise typer.Exit(CALLED_WRONGLY)
    inside = [] if quiet else [folder for path in paths for folder in inner_folders(path)]
    if inside:
        typer.echo(words.not_looked_into([printable(str(folder)) for folder in inside]), err=True)
    files = list({file.resolve(): file for path in paths for file in sound_files(path)}.values())
    if not files:
        typer.echo(words.NOTHING, err=True)
        raise typer.Exit(MISTAKES)
    return files


def _measure(files: list[Path], *, quiet: bool, with_limits: bool) -> list[Measured]:
    """Measure files and tell of each as soon as it is measured; Ctrl-C ends that, and what is there stays."""
    from mixer.loops.measure.keep import Cards  # noqa: PLC0415 - help comes without it
    from mixer.loops.measure.many import measure_all  # noqa: PLC0415 - the same

    progress, cards = Progress(), Cards()
    found: list[Measured] = []
    measuring = measure_all(files, with_limits=with_limits)
    try:
        progress(words.MEASURING, 0.0)
        for one in map(cards.held_against, measuring):
            found.append(one)
            progress.clear()
            if not quiet:
                _tell(one)
            progress(f"{words.MEASURING}, {len(found)} of {len(files)}", len(found) / len(files))
    except KeyboardInterrupt:
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # once is enough: what there is, is now written
        measuring.close()
    progress.clear()
    return found


def _tell(one: Measured) -> None:
    typer.echo(printable(one.path.name))
    for line in _lines(one):
        typer.echo(printable(f"  {line}"))
    typer.echo("")


def _sum_up(found: list[Measured], complete: int) -> None:
    if found:
        unsure = sum(one.is_loop and not set(_ANSWERS) <= set(one.sure) for one in found)
        typer.echo(words.summary(len(found), sum(one.is_loop for one in found), unsure))
    if complete:
        typer.echo(words.complete(complete))


def _lines(one: Measured) -> list[str]:
    from mixer.loops.measure.keep import origin_of  # noqa: PLC0415 - help comes without it

    lines = []
    if one.is_loop:
        lines.append(words.facts(one))
        lines += [words.chords(one.chords)] if one.chords else []
    if one.loudness_lufs is not None and one.true_peak_dbtp is not None:
        lines.append(words.level(one.loudness_lufs, one.true_peak_dbtp))
    lines += [words.problem(kind, facts) for kind, facts in one.problems]
    if one.is_loop:
        origin = origin_of(one.path)
        lines += words.origin(origin.maker, origin.licence, origin.other)
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
    from mixer.loops.writing import UnclearCatalogError  # noqa: PLC0415 - the same

    folders = dict.fromkeys(path if path.is_dir() else path.parent for path in paths)
    for folder in folders:
        catalog = printable(str(folder / "loops.yaml"))
        try:
            kept = keep(folder, [one for one in found if one.path.parent == folder])
        except (CatalogNotUtf8Error, UnclearCatalogError, OSError) as error:
            why = {CatalogNotUtf8Error: words.not_utf8, UnclearCatalogError: words.unclear}
            typer.echo(why.get(type(error), words.not_writable)(catalog), err=True)
            raise typer.Exit(MISTAKES) from None
        if not quiet:
            typer.echo(words.written(catalog, kept.new, kept.filled))
            if kept.guesses:
                typer.echo(words.CHECK)
        if kept.in_braces:
            typer.echo(words.in_braces([printable(name) for name in kept.in_braces]), err=True)
        if kept.gone:
            typer.echo(words.gone([printable(name) for name in kept.gone]), err=True)
