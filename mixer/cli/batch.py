"""`mixer batch`: the songs of a whole class."""

from __future__ import annotations

import re
import signal
import time
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from mixer.cli.brief import BriefOption, chosen_brief
from mixer.cli.common import CALLED_WRONGLY, MISTAKES, AsJson, LoopFolders, Progress, print_json, tell
from mixer.cli.render import Format
from mixer.record import record
from mixer.words.english import classroom as said
from mixer.words.english import sharing
from mixer.words.english.told import no_folder
from mixer.words.problem import Problems
from mixer.words.say import printable

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from mixer.classroom.earlier import Week
    from mixer.classroom.gather import Gathered
    from mixer.classroom.rubric import Rubric
    from mixer.classroom.tasks import Done, Task

_SECONDS = re.compile(r"(\d{1,4}(?:\.\d+)?)\s*s?")


def batch(  # noqa: PLR0913 - each is an option of the command
    folders: Annotated[list[Path], typer.Argument(metavar="FOLDER...", help="Folders with recipes, or recipes.")],
    out: Annotated[Path, typer.Option("--out", "-o", metavar="FOLDER", help="Where the songs go.")],
    loops: LoopFolders = [],  # noqa: B006 - typer copies it
    song_format: Annotated[Format, typer.Option("--format", help="What kind of files.")] = Format.wav,
    excerpt: Annotated[
        str | None,
        typer.Option(metavar="18s", help="Also a part of each song, so long, from its hear: or its fullest section."),
    ] = None,
    recording: Annotated[
        bool, typer.Option("--recording", help="Also one WAV file with all songs (or parts) one after another.")
    ] = False,
    shuffle: Annotated[
        int | None, typer.Option(metavar="NUMBER", help="Order by this number, such as the week's, not by name.")
    ] = None,
    order: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Order by this text: one song on each line, by name or title.")
    ] = None,
    earlier: Annotated[
        list[Path],
        typer.Option(
            metavar="FOLDER",
            help="Songs or recipes of an earlier week, the oldest first; if left out, week 1 and 2 beside week 3.",
        ),
    ] = [],  # noqa: B006 - typer copies it
    jobs: Annotated[
        int | None,
        typer.Option(
            min=1, max=64, metavar="NUMBER", help="How many at a time; if left out, what the machine has room for."
        ),
    ] = None,
    all_versions: Annotated[bool, typer.Option("--all-versions", help="Older versions of a song too.")] = False,
    rubric: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="A rubric (YAML) for the teacher's page; if left out, a ready one."),
    ] = None,
    share: Annotated[
        Path | None,
        typer.Option(metavar="FOLDER", help="Also an MP3 of each song that may be taken home, into this folder."),
    ] = None,
    numbers: Annotated[
        bool,
        typer.Option(
            "--numbers", help="Numbers instead of names, on the projector's page, the sheet and with --share."
        ),
    ] = False,
    brief: BriefOption = None,
    as_json: AsJson = False,
) -> None:
    """Make the songs of a whole class, for a listening session.

    Every recipe below the folders is made, each by itself: one with mistakes gives a draft and does not hold up the
    others. Run it again and only what changed is made.

    Example: mixer batch hand-in --out songs --excerpt 18s --recording
    """
    from mixer.classroom.gather import gather  # noqa: PLC0415 - help comes without it

    seconds = _seconds(excerpt)
    for given, hint in ((folders, "FOLDER"), (earlier, "--earlier"), ([order] if order else [], "--order")):
        if missing := [path for path in given if not path.exists()]:
            raise typer.BadParameter(said.not_there(printable(str(missing[0]))), param_hint=hint)
    if out.is_file():
        raise typer.BadParameter(no_folder(printable(out.name)), param_hint="--out")
    chosen = chosen_brief(brief)
    gathered = gather(folders, out, all_versions=all_versions)
    _tell_found(gathered)
    if not gathered.recipes:
        typer.echo(said.NOTHING_FOUND, err=True)
        raise typer.Exit(CALLED_WRONGLY)
    session = _Session(seconds, recording, _rubric(rubric), numbers=numbers)
    tasks = _tasks(
        gathered, out, loops, song_format, None if chosen is None else chosen.path, _weeks(out, folders, earlier)
    )
    with _alone(out):
        songs = _make(tasks, jobs)
        if as_json:
            print_json([_as_data(done) for done in songs])
        else:
            _tell(songs, out)
        ordered = _ordered(songs, shuffle, order)
        written = _listening(ordered, out, session)
        written = (share is None or _share(ordered, tasks, share, numbers=numbers)) and written
    raise typer.Exit(MISTAKES if not written or any(done.state != "song" for done in songs) else 0)


@contextmanager
def _alone(out: Path) -> Iterator[None]:
    """Have the folder alone; whatever ends the run (Ctrl-C, or the system), say what stays."""
    from mixer.classroom.songs import DETAILS  # noqa: PLC0415 - help comes without it
    from mixer.store.lock import InUseError, only_one  # noqa: PLC0415 - the same

    for name in ("SIGTERM", "SIGHUP"):
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), signal.default_int_handler)
    try:
        with only_one(out / DETAILS):
            yield
    except InUseError as error:
        typer.echo(said.in_use(printable(str(out)), error.holder), err=True)
        raise typer.Exit(CALLED_WRONGLY) from None
    except OSError as error:
        typer.echo(said.not_written(printable(str(out)), _why(error)), err=True)
        raise typer.Exit(MISTAKES) from None
    except KeyboardInterrupt:
        typer.echo(said.STOPPED, err=True)
        raise typer.Exit(MISTAKES) from None


def _why(error: Exception) -> str:
    return printable(getattr(error, "strerror", None) or str(error))


@record
class _Session:
    """How a class listens."""

    seconds: float | None
    recording: bool
    rubric: Rubric
    numbers: bool


def _rubric(path: Path | None) -> Rubric:
    from mixer.classroom.rubric import read_rubric  # noqa: PLC0415 - help comes without it
    from mixer.loops.library import shipped  # noqa: PLC0415 - the same

    problems = Problems()
    rubric = read_rubric(path or shipped("shared") / "rubrics" / "listening.yaml", problems)
    tell(problems)
    return rubric


def _seconds(excerpt: str | None) -> float | None:
    if excerpt is None:
        return None
    found = _SECONDS.fullmatch(excerpt.strip())
    if found is None or float(found[1]) < 1:
        raise typer.BadParameter(said.SECONDS, param_hint="--excerpt")
    return float(found[1])


def _tell_found(gathered: Gathered) -> None:
    for old, newer in gathered.older:
        typer.echo(said.older(printable(str(old)), printable(newer.name)), err=True)
    for by, paths in gathered.several:
        typer.echo(said.several(printable(by), [printable(str(path)) for path in paths]), err=True)
    if gathered.cut:
        typer.echo(said.CUT, err=True)


def _weeks(out: Path, folders: Sequence[Path], earlier: Sequence[Path]) -> list[Week]:
    from mixer.classroom.earlier import weeks_before  # noqa: PLC0415 - help comes without it

    weeks = weeks_before(out, folders, earlier)
    if weeks:
        typer.echo(said.weeks([printable(week.called) for week in weeks]), err=True)
    return weeks


def _tasks(
    gathered: Gathered,
    out: Path,
    loops: Sequence[Path],
    song_format: Format,
    brief: Path | None,
    weeks: Sequence[Week],
) -> list[Task]:
    from mixer.classroom.earlier import earlier_of  # noqa: PLC0415 - help comes without it
    from mixer.classroom.tasks import Task  # noqa: PLC0415 - the same

    folders = tuple(folder.resolve() for folder in loops)
    look = brief and brief.resolve()
    return [
        Task(
            found.path.resolve(), found.name, out.resolve(), song_format.value, folders, look, earlier_of(found, weeks)
        )
        for found in gathered.recipes
    ]


def _ordered(songs: Sequence[Done], shuffle: int | None, order: Path | None) -> list[Done]:
    from mixer.classroom.order import in_order, read_order, unknown  # noqa: PLC0415 - help comes without it

    try:
        lines = read_order(order) if order else []
    except OSError as error:
        typer.echo(said.not_read(printable(str(order)), printable(error.strerror or "")), err=True)
        lines = []
    for line in unknown(lines, songs):
        typer.echo(said.no_such_song(printable(line)), err=True)
    return in_order(songs, shuffle, lines)


def _make(tasks: Sequence[Task], jobs: int | None) -> list[Done]:
    from mixer.classroom.batch import make_all  # noqa: PLC0415 - help comes without it
    from mixer.classroom.room import processes_for  # noqa: PLC0415 - the same

    processes = jobs or processes_for(len(tasks))
    typer.echo(said.found(len(tasks), processes), err=True)
    progress = Progress()
    began = time.monotonic()
    finished = 0

    def tell(_done: Done, done: int, of: int) -> None:
        nonlocal finished
        finished = done
        left = (time.monotonic() - began) / done * (of - done) if done >= min(of, 2 * processes) else None
        progress(said.progress(done, of, left), done / of)

    try:
        return make_all(tasks, processes, tell)
    except KeyboardInterrupt:
        progress.clear()
        typer.echo(said.stopped(finished, len(tasks)), err=True)
        raise
    finally:
        progress.clear()


def _tell(songs: Sequence[Done], out: Path) -> None:
    rows = [
        (
            printable(done.name),
            done.state,
            done.seconds,
            printable(done.why),
            done.fresh,
            printable(done.shown.get("briefInAWord", "")),
        )
        for done in songs
    ]
    for line in said.table(rows):
        typer.echo(line)
    count = {state: sum(done.state == state for done in songs) for state in ("song", "draft", "earlier", "none")}
    typer.echo(said.summed(count["song"], count["draft"], count["earlier"], count["none"], printable(str(out))))


def _listening(ordered: Sequence[Done], out: Path, options: _Session) -> bool:
    """Write what a class listens to and with; False where something could not be written."""
    from mixer.classroom import pages, session  # noqa: PLC0415 - loads numpy

    made = [done for done in ordered if done.file]
    parts: dict[str, tuple[Path, float]] = {}
    try:
        files = [(done.name, out / done.file) for done in made]
        if (seconds := options.seconds) is not None:
            files = session.write_excerpts(made, out, seconds)
            parts = {
                done.name: (path, session.part_start(done, out, seconds))
                for done, (_, path) in zip(made, files, strict=True)
            }
            typer.echo(said.excerpts(len(files), printable(str(out / session.EXCERPTS))), err=True)
        if options.recording and files:
            place = out / session.RECORDING
            length = session.write_recording(files, place)
            typer.echo(said.recording(printable(str(place)), length), err=True)
        if not (out / pages.LEVEL_CHECK).is_file():
            session.write_level_check(out / pages.LEVEL_CHECK)
        written = pages.write_pages(ordered, out, parts, options.rubric, numbers=options.numbers)
        for line in said.pages(*(printable(str(page)) for page in written)):
            typer.echo(line, err=True)
    except (OSError, ValueError) as error:
        typer.echo(said.not_written(printable(str(out)), _why(error)), err=True)
        return False
    return True


def _share(songs: Sequence[Done], tasks: Sequence[Task], place: Path, *, numbers: bool) -> bool:
    """Write what may go home; False where something could not be written."""
    from mixer.classroom.share import share  # noqa: PLC0415 - loads numpy
    from mixer.signal.coded import NoEncoderError  # noqa: PLC0415 - the same

    try:
        shared = share(songs, {task.name: task for task in tasks}, place, numbers=numbers)
    except (NoEncoderError, OSError) as error:
        typer.echo(said.not_written(printable(str(place)), _why(error)), err=True)
        return False
    typer.echo(sharing.went(len(shared.files), printable(str(place))), err=True)
    alike: dict[str, list[str]] = {}
    for name, why in shared.stays:
        alike.setdefault(printable(why), []).append(printable(name))
    for why, names in alike.items():
        typer.echo(sharing.stays(names, why), err=True)
    return True


def _as_data(done: Done) -> dict[str, Any]:
    name, start, length = done.hear
    return {
        "name": done.name,
        "state": done.state,
        "file": done.file or None,
        "title": done.title,
        "by": done.by,
        "seconds": round(done.seconds, 6),
        "why": done.why,
        "hear": {"section": name, "start_seconds": round(start, 6), "seconds": round(length, 6)} if name else None,
        "words": done.words,
        "brief": done.shown.get("brief", []),
        "fresh": done.fresh,
    }
