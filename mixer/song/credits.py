"""Who made what is heard in a song: its loops, their makers and their licences."""

from __future__ import annotations

from mixer.song.plan import Plan
from mixer.words.english import told


def credits_of(plan: Plan) -> list[str]:
    """Give the credits as lines: the song and its maker, then one line for each loop that is heard."""
    recipe = plan.recipe
    cards = {part.fit.card.name: part.fit.card for part in plan.parts if part.cues}
    title = recipe.title or recipe.file.rpartition(".")[0]
    return [
        told.song_credit(title, recipe.by),
        *(told.loop_credit(card.name, card.maker, card.licence) for card in cards.values()),
    ]
