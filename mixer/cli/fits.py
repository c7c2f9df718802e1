"""`mixer fits`: which loops go with a loop or into a song, with the reasons in words."""

from __future__ import annotations

import textwrap
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from mixer.cli.brief import BriefOption, chosen_brief
from mixer.cli.common import CALLED_WRONGLY, MISTAKES, AsJson, LoopFolders, open_or_tell, print_json, tell
from mixer.cli.fit_reasons import WIDTH, Listening, reasons
from mixer.words.english import fits as words
from mixer.words.problem import Problem
from mixer.words.say import printable

if TYPE_CHECKING:
    from mixer.coach.fits import Fits, There
    from mixer.loops.library import Library

MOST, MOST_NOT = 10, 5


def fits(  # noqa: PLR0913 - each is an option of the command
    what: Annotated[
        list[str],
        typer.Argument(metavar="LOOP-or-RECIPE", help="A loop's name, or a recipe's file; with --all a folder."),
    ] = [],  # noqa: B006 - typer copies it
    loops: LoopFolders = [],  # noqa: B006 - typer copies it
    role: Annotated[str, typer.Option("--role", metavar="ROLE", help="Only loops of this role.")] = "",
    everything: Annotated[bool, typer.Option("--long", help="All loops, not only the best.")] = False,
    prove_all: Annotated[
        bool, typer.Option("--all", help="Every pair of a folder's loops, and songs by chance, before the lesson.")
    ] = False,
    brief: BriefOption = None,
    songs: Annotated[int, typer.Option(min=0, metavar="NUMBER", help="With --all: how many songs by chance.")] = 200,
    out: Annotated[
        Path, typer.Option("--out", "-o", metavar="FOLDER", help="With --all: where what was found goes.")
    ] = Path("fits"),
    as_json: AsJson = False,
) -> None:
    """Say which loops go with a loop or into a song, and why.

    Best first. Chords are compared bar by bar; then tempo, key, bass, rhythm, and which role is empty. With --all a
    whole set is looked at: every pair, and many songs by chance, the worst moments of which can be listened to.

    Examples: mixer fits slow-tide --role melody; mixer fits --all my-loops --brief "first song"
    """
    from mixer.loops.catalog import ROLES  # noqa: PLC0415 - help comes without it

    if role and role not in ROLES:
        raise typer.BadParameter(words.no_role(printable(role), ROLES), param_hint="--role")
    if prove_all:
        from mixer.cli.proof import prove  # noqa: PLC0415 - help comes without it

        prove(Path(" ".join(what)) if what else None, loops, chosen_brief(brief), songs, out)
        raise typer.Exit
    if not what:
        raise typer.BadParameter(words.NAME_ONE, param_hint="LOOP-or-RECIPE")
    _fits_one(" ".join(what), loops, role, everything=everything, as_json=as_json)


def _fits_one(what: str, loops: list[Path], role: str, *, everything: bool, as_json: bool) -> None:
    from mixer.coach.fits import fitting  # noqa: PLC0415 - help comes without it

    listening = Listening()
    name, there, library = _there(what, loops, listening)
    cards = list({card.path: card for card in library.cards.values()}.values())
    found = fitting(there, [card for card in cards if not role or card.role == role], listening)
    listening.done()
    if as_json:
        print_json([[_as_data(one, there) for one in found]])
        raise typer.Exit
    frame = there.frame
    typer.echo(words.heading(printable(name), float(frame.tempo_bpm), str(frame.key or "")))
    good = [one for one in found if not one.better_not]
    _tell(good if everything else good[:MOST], there)
    if bad := [one for one in found if one.better_not]:
        typer.echo(f"\n{words.BETTER_NOT}")
        _tell(bad if everything else bad[:MOST_NOT], there)
    typer.echo(f"\n{words.ENDING}" if found else words.NOTHING)


def _there(what: str, folders: list[Path], listening: Listening) -> tuple[str, There, Library]:
    """What is there: a recipe's layers, or a loop."""
    from mixer.coach.fits import there_of_layers, there_of_loop  # noqa: PLC0415 - help comes without it
    from mixer.loops.library import open_library  # noqa: PLC0415 - the same
    from mixer.material.fit import Frame  # noqa: PLC0415 - the same
    from mixer.text.names import nearest  # noqa: PLC0415 - the same

    path = Path(what)
    if path.is_file():
        opened = open_or_tell(path, folders)
        if isinstance(opened, Problem) or opened.recipe is None:
            tell([opened] if isinstance(opened, Problem) else opened.problems)
            raise typer.Exit(MISTAKES)
        recipe = opened.recipe
        layers = [(layer, card) for layer in recipe.layers if (card := opened.library.find(layer.source.loop))]
        frame = Frame(recipe.tempo_bpm, recipe.meter, recipe.key)
        return recipe.title or path.stem, there_of_layers(layers, frame, listening), opened.library
    library = open_library(Path.cwd(), folders)
    card = library.find(what) or library.find(what.replace(" ", "-"))
    if card is None:
        typer.echo(words.unknown(printable(what), nearest(what, library.names())), err=True)
        raise typer.Exit(CALLED_WRONGLY)
    return card.name, there_of_loop(card, listening), library


def _tell(found: list[Fits], there: There) -> None:
    for one in found:
        typer.echo(printable(f"  {one.card.name} ({one.card.role})"))
        for line in textwrap.wrap(words.reasons(reasons(one, there)), WIDTH):
            typer.echo(printable(f"    {line}"))


def _as_data(one: Fits, there: There) -> dict[str, Any]:
    return {
        "name": one.card.name,
        "role": one.card.role,
        "better_not": one.better_not,
        "reasons": reasons(one, there),
        "bars": [
            {
                "bar": bar.number,
                "there": str(bar.there),
                "new": str(bar.new),
                "agrees": bar.agrees,
                "clashes": bar.clashes,
            }
            for bar in one.bars
        ],
        "semitones": one.fit.semitones if one.fit else None,
        "stretch": round(float(one.fit.stretch), 4) if one.fit else None,
    }
