"""`mixer loops`: the names that a recipe can use."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from mixer.cli.common import MISTAKES, AsJson, LoopFolders, print_json, tell
from mixer.words.english import told
from mixer.words.say import columns, printable

if TYPE_CHECKING:
    from mixer.loops.card import Card


def loops(
    loops: LoopFolders = [],  # noqa: B006 - typer copies it
    as_json: AsJson = False,
) -> None:
    """List the loops by role.

    Loops of one set go together as they are. Others are brought to your song's tempo and key.
    """
    from mixer.loops.catalog import ROLES  # noqa: PLC0415 - help comes without it
    from mixer.loops.library import open_library  # noqa: PLC0415 - the same

    library = open_library(Path.cwd(), loops)
    cards = sorted(
        {id(card): card for card in library.cards.values()}.values(),
        key=lambda card: (ROLES.index(card.role), card.set, card.name),
    )
    if as_json:
        print_json([{"loops": [_as_data(card) for card in cards]}])
    else:
        tell(library.problems)
        role = ""
        for card in cards:
            if card.role != role:
                role = card.role
                typer.echo(f"\n{role}" if card is not cards[0] else role)
            facts = told.loop_told(float(card.tempo_bpm), str(card.key or ""), card.bars, str(card.meter), card.set)
            typer.echo(printable(f"  {card.name}{' ' * (18 - columns(card.name))} {facts}"))
    raise typer.Exit(MISTAKES if library.problems else 0)


def _as_data(card: Card) -> dict[str, Any]:
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
    }
