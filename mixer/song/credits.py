"""Who made what is heard in a song, and what they have said may be done with it."""

from __future__ import annotations

from mixer.loops.card import Card
from mixer.loops.permission import QUESTIONS, strictest, to_ask
from mixer.song.plan import Plan
from mixer.words.english import told


def heard_cards(plan: Plan) -> list[Card]:
    """Give the cards of the loops that are heard, each once."""
    return list({part.fit.card.name: part.fit.card for part in plan.parts if part.cues}.values())


def credits_of(plan: Plan) -> list[str]:
    """Give the credits as lines: the song and its maker, then one line for each loop that is heard."""
    loops = [told.loop_credit(card.name, card.maker, card.licence) for card in heard_cards(plan)]
    return [told.song_credit(plan.title, plan.recipe.by), *loops]


def permissions_of(plan: Plan) -> list[str]:
    """Say what makers have said yes to, and what to ask; the strictest loop counts."""
    cards = heard_cards(plan)
    known = strictest(cards)
    ask: dict[str, list[str]] = {
        question: to_ask(cards, question) for question in QUESTIONS if question not in known.yes
    }
    yes = [question for question in QUESTIONS if question in known.yes]
    return told.permissions(yes, ask, share_alike=known.share_alike, non_commercial=known.non_commercial)
