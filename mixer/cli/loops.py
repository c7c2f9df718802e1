"""`mixer loops`: the names that a recipe can use, as a list or as a page to listen to."""

from __future__ import annotations

from enum import Enum
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from mixer.cli.common import (
    CALLED_WRONGLY,
    MISTAKES,
    AsJson,
    LoopFolders,
    Progress,
    open_or_tell,
    print_json,
    tell,
    tell_not_written,
    tell_one,
)
from mixer.words.columns import columns
from mixer.words.english import loop_page as page_words
from mixer.words.english import told
from mixer.words.problem import Problem
from mixer.words.say import printable

if TYPE_CHECKING:
    from collections.abc import Sequence

    from mixer.classroom.loop_page import Wish
    from mixer.loops.card import Card
    from mixer.song.plan import Plan


class By(str, Enum):
    """What loops are listed by."""

    role = "role"
    set = "set"


Page = Annotated[
    Path | None, typer.Option("--page", metavar="FILE.html", help="Write a page to listen to them; needs no network.")
]
Tempo = Annotated[
    float | None, typer.Option("--tempo", metavar="BEATS", min=40, max=240, help="On the page: all at this tempo.")
]
InKey = Annotated[
    str | None, typer.Option("--key", metavar="KEY", help='On the page: all in this key, such as "A minor".')
]
ForRecipe = Annotated[
    Path | None,
    typer.Option(
        "--for", metavar="RECIPE", help="On the page: all at this song's tempo and in its key, and with its chorus."
    ),
]
Find = Annotated[list[str], typer.Argument(metavar="[WORD]...", help="Only loops that have all these words.")]


def loops(  # noqa: PLR0913 - each is an option of the command
    find: Find = [],  # noqa: B006 - typer copies it
    loops: LoopFolders = [],  # noqa: B006 - the same
    by: Annotated[By, typer.Option("--by", help="List them by role, or by the set they were made for.")] = By.role,
    page: Page = None,
    tempo: Tempo = None,
    key: InKey = None,
    for_recipe: ForRecipe = None,
    as_json: AsJson = False,
) -> None:
    """List the loops by role or set, or make a page to listen to them.

    Loops of one set go together as they are. Others are brought to your song's tempo and key.

    Example: mixer loops bass "ferry town"
    """
    from mixer.loops.catalog import ROLES  # noqa: PLC0415 - help comes without it
    from mixer.loops.library import open_library  # noqa: PLC0415 - the same

    if page is None and (tempo is not None or key is not None or for_recipe is not None):
        asked = "--tempo" if tempo is not None else "--key" if key is not None else "--for"
        raise typer.BadParameter(page_words.ONLY_ON_A_PAGE, param_hint=asked)
    wish, song = _wish(tempo, key, for_recipe, loops)
    folder = for_recipe.parent if for_recipe else Path.cwd()
    library = open_library(folder, loops)
    cards = sorted(
        (card for card in {id(card): card for card in library.cards.values()}.values() if _has(card, find)),
        key=lambda card: (ROLES.index(card.role), card.set, card.name),
    )
    if as_json:
        print_json([{"loops": [_as_data(card) for card in cards]}])
    else:
        tell(library.problems)
        if page is None:
            _list(cards, by)
    if not cards and not as_json:
        typer.echo(told.NO_LOOPS, err=True)
    elif page is not None:
        _write(page, cards, wish, song)
    raise typer.Exit(MISTAKES if library.problems or not cards else 0)


def _wish(tempo: float | None, key: str | None, recipe: Path | None, folders: list[Path]) -> tuple[Wish, Plan | None]:
    from mixer.classroom.loop_page import Wish  # noqa: PLC0415 - help comes without it
    from mixer.music.keys import parse_key  # noqa: PLC0415 - the same

    wished = parse_key(key) if key is not None else None
    if key is not None and wished is None:
        raise typer.BadParameter(told.no_key(printable(key)))
    tempo_bpm = Fraction(str(tempo)) if tempo is not None else None
    if recipe is None:
        return Wish(tempo_bpm, wished), None
    opened = open_or_tell(recipe, folders)
    if isinstance(opened, Problem):
        tell_one(opened)
        raise typer.Exit(CALLED_WRONGLY)
    if opened.recipe is None:
        tell(opened.problems)
        raise typer.Exit(MISTAKES)
    same = tempo_bpm in (None, opened.recipe.tempo_bpm) and wished in (None, opened.recipe.key)
    return Wish(tempo_bpm or opened.recipe.tempo_bpm, wished or opened.recipe.key), opened.plan if same else None


def _has(card: Card, find: Sequence[str]) -> bool:
    text = " ".join([card.name, card.role, card.set, str(card.key or ""), str(card.meter), card.maker]).casefold()
    return all(word.casefold() in text for word in find)


def _list(cards: Sequence[Card], by: By) -> None:
    heading = ""
    width = min(30, max([18, *(columns(card.name) for card in cards)]))
    if by is By.set:
        cards = sorted(cards, key=lambda card: (not card.set, card.set.casefold()))  # those of no set come last
    for card in cards:
        group, other = (card.role, card.set) if by is By.role else (card.set or told.NO_SET, card.role)
        if group != heading:
            heading = group
            typer.echo(printable(f"\n{heading}" if card is not cards[0] else heading))
        facts = told.loop_told(float(card.tempo_bpm), str(card.key or ""), card.bars, str(card.meter), other)
        typer.echo(printable(f"  {card.name}{' ' * (width - columns(card.name))} {facts}"))


def _write(page: Path, cards: Sequence[Card], wish: Wish, song: Plan | None) -> None:
    from mixer.classroom.chorus import chorus_of  # noqa: PLC0415 - help comes without it
    from mixer.classroom.loop_page import write_loop_page  # noqa: PLC0415 - help comes without it

    progress = Progress()
    try:
        made = write_loop_page(
            page,
            cards,
            wish,
            lambda name, done: progress(f"{page_words.MAKING} {printable(name)}", done),
            None if song is None else chorus_of(song),
        )
    except OSError as error:
        progress.clear()
        tell_not_written(page, error)
        raise typer.Exit(CALLED_WRONGLY) from None
    progress.clear()
    for name in made.left_out:
        typer.echo(page_words.left_out(printable(name)), err=True)
    typer.echo(page_words.written(printable(str(page)), made.loops, made.size_bytes / 1e6))


def _as_data(card: Card) -> dict[str, Any]:
    from mixer.loops.permission import QUESTIONS, permission_of  # noqa: PLC0415 - help comes without it

    return {
        "name": card.name,
        "role": card.role,
        "set": card.set,
        "tempo_bpm": float(card.tempo_bpm),
        "key": str(card.key) if card.key else None,
        "bars": card.bars,
        "time": str(card.meter),
        "maker": card.maker,
        "licence": card.licence,
        "ask": [question for question in QUESTIONS if question not in permission_of(card).yes],
    }
