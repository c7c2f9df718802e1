"""`mixer compare`: what changed from one version of a song to another."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from mixer.cli.common import CALLED_WRONGLY, MISTAKES, AsJson, LoopFolders, Progress, print_json, tell, tell_one
from mixer.words.english import because as because_words
from mixer.words.english import changes as change_words
from mixer.words.english import compared as words
from mixer.words.say import printable

if TYPE_CHECKING:
    from mixer.material.fit import Material
    from mixer.versions.change import Both, Change
    from mixer.versions.changes import Compared
    from mixer.versions.did import Did
    from mixer.versions.sides import Side


def compare(  # noqa: PLR0913 - each is an option of the command
    old: Annotated[Path, typer.Argument(metavar="OLD", help="A recipe, or a song that this program made.")],
    new: Annotated[
        Path | None,
        typer.Argument(metavar="[NEW]", help="The other one; if left out, OLD is compared with the version before it."),
    ] = None,
    versions: Annotated[bool, typer.Option("--versions", help="List the earlier versions that are kept.")] = False,
    because: Annotated[
        Path | None,
        typer.Option(
            "--because", metavar="FILE", help='Write the changes there, each with a "because ..." to fill in.'
        ),
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", metavar="FILE", help="A WAV file with each changed place, first old, then new."),
    ] = None,
    page: Annotated[
        Path | None,
        typer.Option(
            "--page", metavar="FILE", help="A page (.html) to hear both versions in step and change between them."
        ),
    ] = None,
    loops: LoopFolders = [],  # noqa: B006 - typer copies it
    as_json: AsJson = False,
) -> None:
    """Tell what changed from one version of a song to another.

    Each side is a recipe or a finished song. Every song that is rendered without mistakes keeps its recipe as a
    version; with one side alone, the version before is the other.

    Example: mixer compare my-song/my-song.yaml
    """
    if versions:
        _list_versions(old)
        return
    if out is not None and out.suffix.lower() != ".wav":
        raise typer.BadParameter(words.wrong_ending(printable(out.name), ".wav"), param_hint="--out")
    if page is not None and page.suffix.lower() != ".html":
        raise typer.BadParameter(words.wrong_ending(printable(page.name), ".html"), param_hint="--page")
    _leave_if_there(because, page)
    from mixer.versions.change import Both  # noqa: PLC0415 - help comes without it

    before, after = _sides(old, new, loops)
    mistakes = [*before.opened.mistakes, *after.opened.mistakes]
    tell(mistakes)
    found = _found(before, after)
    if because is not None:
        _write_because(found, before, after, because)
    materials = _materials(found) if any(change.heard for change in found.changes) else None
    did = _did(found, materials, after) if materials else None
    if as_json:
        print_json([_as_data(found, did)])
    else:
        _show(found, did, because)
    if out is not None:
        _write_sound(found, materials, out, quiet=as_json)
    if page is not None:
        _write_page(found, Both(before, after), did, page, quiet=as_json)
    raise typer.Exit(MISTAKES if mistakes else 0)


def _leave_if_there(because: Path | None, page: Path | None) -> None:
    """Leave where something would be written over: a list with reasons, or what is no page of ours."""
    from mixer.pages.document import is_another  # noqa: PLC0415 - help comes without it

    for place, there in ((because, because and because.exists()), (page, page and is_another(page))):
        if place and there:
            typer.echo(words.is_there(printable(place.name)), err=True)
            raise typer.Exit(CALLED_WRONGLY)


def _found(before: Side, after: Side) -> Compared:
    from mixer.versions.changes import compare as compared  # noqa: PLC0415 - help comes without it
    from mixer.versions.sides import replaced  # noqa: PLC0415 - the same

    if before.opened.plan is None or after.opened.plan is None:
        raise typer.Exit(MISTAKES)
    for side in (before, after):
        if gone := side.gone:
            typer.echo(printable(words.another_recording(side.path.name, gone)), err=True)
    return compared(before.opened.plan, after.opened.plan, replaced(before, after))


def _materials(found: Compared) -> Both[dict[str, Material]]:
    """Prepare the sound of both; what cannot be used is told."""
    from mixer.song.render import prepare  # noqa: PLC0415 - loads numpy
    from mixer.versions.change import Both  # noqa: PLC0415 - the same

    progress = Progress()
    old, old_unusable = prepare(found.old, progress)
    new, new_unusable = prepare(found.new, progress)
    progress.clear()
    tell([*old_unusable, *new_unusable])
    return Both(old, new)


def _did(found: Compared, materials: Both[dict[str, Material]], after: Side) -> Did:
    from mixer.versions.did import what_it_did  # noqa: PLC0415 - loads numpy

    brief = after.opened.brief and after.opened.brief.brief
    return what_it_did(found, materials, brief.find_out if brief else ())


def _list_versions(path: Path) -> None:
    from mixer.versions.sides import versions_of  # noqa: PLC0415 - help comes without it

    kept = versions_of(path)
    for each in kept:
        typer.echo(printable(str(each)))
    if not kept:
        typer.echo(words.NO_VERSIONS)


def _sides(old: Path, new: Path | None, loops: list[Path]) -> tuple[Side, Side]:
    """Open both sides; with one alone, the other is the version before it."""
    from mixer.song.opened import NoRecipeError  # noqa: PLC0415 - help comes without it
    from mixer.versions.sides import open_side, version_before  # noqa: PLC0415 - the same

    try:
        if new is not None:
            return open_side(old, loops), open_side(new, loops)
        after = open_side(old, loops)
        earlier = version_before(after.opened, old)
        if earlier is None:
            typer.echo(words.ONLY_ONE, err=True)
            raise typer.Exit(CALLED_WRONGLY)
        return open_side(earlier, loops), after
    except NoRecipeError as error:
        tell_one(error.problem)
        raise typer.Exit(CALLED_WRONGLY) from error


def _show(found: Compared, did: Did | None, because: Path | None) -> None:
    for change in found.changes:
        typer.echo(printable(f"- {change_words.sentence(change)}"))
    if not found.changes:
        typer.echo(change_words.NO_CHANGE)
    else:
        if found.counted_otherwise:
            typer.echo(words.HOW_COUNTED)
        typer.echo(words.WHAT_IT_DID)
        lasts = words.lengths(found.old.seconds, found.new.seconds)
        for line in [lasts, *(did.told() if did else ())]:
            typer.echo(printable(f"- {line}"))
    if because is not None:
        typer.echo(because_words.because_written(printable(str(because))))


def _write_because(found: Compared, before: Side, after: Side, place: Path) -> None:
    from mixer.store.whole import write_text  # noqa: PLC0415 - help comes without it
    from mixer.versions.sides import names_of  # noqa: PLC0415 - the same

    told = [change_words.sentence(change) for change in found.changes]
    text = because_words.revision(*names_of(before, after), told)
    try:
        write_text(place, text)
    except OSError as error:
        typer.echo(words.not_written(printable(str(place)), error.strerror or ""), err=True)
        raise typer.Exit(CALLED_WRONGLY) from error


def _write_sound(found: Compared, materials: Both[dict[str, Material]] | None, out: Path, *, quiet: bool) -> None:
    from mixer.versions.beside import write_side_by_side  # noqa: PLC0415 - loads numpy
    from mixer.versions.change import Both  # noqa: PLC0415 - the same
    from mixer.versions.passages import MOST_BARS, heard_passages  # noqa: PLC0415 - the same

    heard, more = heard_passages(found)
    if materials is None or not heard:
        typer.echo(words.NOTHING_TO_HEAR, err=True)
        return
    try:
        write_side_by_side(Both(found.old, found.new), materials, heard, Both(words.OLD, words.NEW), out)
    except OSError as error:
        typer.echo(words.not_written(printable(str(out)), error.strerror or ""), err=True)
        raise typer.Exit(CALLED_WRONGLY) from error
    if not quiet:
        cut_at = MOST_BARS if any(each.cut for each in heard) else 0
        again = [(each.name, each.again) for each in heard if each.again]
        for line in words.sound_written(str(out), len(heard), more, cut_at, again):
            typer.echo(printable(line))


def _write_page(found: Compared, sides: Both[Side], did: Did | None, place: Path, *, quiet: bool) -> None:
    """Write the page with both songs inside; where one of them is none, that is told."""
    from mixer.cli.song_page import made_sound  # noqa: PLC0415 - loads numpy
    from mixer.store.whole import write_text  # noqa: PLC0415 - the same
    from mixer.versions.change import Both  # noqa: PLC0415 - the same
    from mixer.versions.page import compare_page, heard_version  # noqa: PLC0415 - the same
    from mixer.versions.sides import names_of  # noqa: PLC0415 - the same

    versions = []
    names = names_of(sides.old, sides.new)
    for name, side, plan in zip(names, (sides.old, sides.new), (found.old, found.new), strict=True):
        made, sound = made_sound(side.opened)
        if made.report is None or sound is None:
            tell(problem for problem in made.problems if problem.kind in ("no-encoder", "not-written"))
            typer.echo(words.NO_PAGE, err=True)
            raise typer.Exit(CALLED_WRONGLY)
        versions.append(heard_version(name, plan, made, sound))
    try:
        write_text(place, compare_page(found, Both(*versions), did.told() if did else ()))
    except OSError as error:
        typer.echo(words.not_written(printable(str(place)), error.strerror or ""), err=True)
        raise typer.Exit(CALLED_WRONGLY) from error
    if not quiet:
        typer.echo(words.page_written(printable(str(place))))


def _as_data(found: Compared, did: Did | None) -> dict[str, Any]:
    return {
        "seconds": [round(found.old.seconds, 6), round(found.new.seconds, 6)],
        "changes": [_change_as_data(change) for change in found.changes],
        "sections": [
            {"section": each.section, "first_bar": each.song_bar, "fuller": each.fuller, "busier": each.busier}
            for each in (did.effects if did else ())
        ],
        "meant": [
            {"section": each.section, "first_bar": each.bars[0], "meant": each.meant, "nearer": each.nearer}
            for each in (did.toward if did else ())
        ],
    }


def _change_as_data(change: Change) -> dict[str, Any]:
    return {
        "kind": change.kind,
        "old": _plain(change.value.old),
        "new": _plain(change.value.new),
        "layer": (change.layer.new or change.layer.old) if change.layer else None,
        "throughout": change.throughout,
        "places": [
            {
                side: {"section": stretch.name, "first_bar": stretch.song_first_bar, "last_bar": stretch.song_last_bar}
                for side, stretch in (("old", passage.old), ("new", passage.new))
                if stretch
            }
            for passage in change.passages
        ],
        "message": change_words.sentence(change),
    }


def _plain(value: object) -> object:
    return float(value) if isinstance(value, Fraction) else value
