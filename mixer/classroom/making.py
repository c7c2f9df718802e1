"""What came of a song that was just made, as plain data: how long it lasts, what happens in it, what pages show of it.

What is heard in a loop is kept in mind: thirty songs of one class share a dozen loops.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from mixer.classroom.growth import since_before
from mixer.classroom.tasks import Done, Task, first_told
from mixer.coach.brief import look
from mixer.coach.seen import Seen, see
from mixer.loops.permission import to_ask
from mixer.pages.engrave import engrave
from mixer.pages.form_text import form_as_text
from mixer.pages.svg import as_svg
from mixer.record import replace
from mixer.song.charted import chart_of
from mixer.song.credits import heard_cards
from mixer.song.make import Made, Order, make
from mixer.song.opened import Opened
from mixer.song.outline import outline
from mixer.song.plan import Plan
from mixer.text.names import same_name, visible
from mixer.words.english.coach import to_try
from mixer.words.english.told import loop_credit, section_told
from mixer.words.say import all_in_full, printable

if TYPE_CHECKING:
    from mixer.coach.energy import Energy, Known

MOST_HEARD = 64
_heard: Known = {}


def make_and_tell(task: Task, opened: Opened, key: str) -> tuple[Done, bool]:
    """Make a song.

    Parameters
    ----------
    task : what is wanted
    opened : its recipe
    key : tells what it is made of

    Returns
    -------
    what came of it, and whether it could be written
    """
    made = make(opened, Order(task.out / task.name, song_format=task.song_format))
    done = _done(task, opened, made, key)
    while len(_heard) > MOST_HEARD:
        del _heard[next(iter(_heard))]
    return done, made.written


def _done(task: Task, opened: Opened, made: Made, key: str) -> Done:
    recipe = opened.recipe
    done = Done(
        task.name,
        "none" if made.report is None else "draft" if made.draft else "song",
        title=opened.plan.title if opened.plan else visible(opened.path.stem),
        by=recipe.by if recipe else "",
        words=all_in_full(made.problems),
        # A file that could not be written is told last, and no slip of the recipe is the reason then.
        why=first_told(made.mistakes if made.written else made.problems[-1:]),
        key=key,
    )
    if made.report is None or opened.plan is None:
        return done
    seen = see(opened, made.materials, known=_heard)
    assert seen is not None  # noqa: S101 - there is a song
    return replace(
        done,
        file=made.report.song.name,
        size_bytes=made.report.song.stat().st_size,
        seconds=made.report.seconds,
        hear=_hear(opened.plan, seen),
        leaves=_leaves(opened.plan),
        shown={**_shown(opened.plan, seen), **_brief(opened, seen.energy), "since": since_before(task, opened.plan)},
    )


def _leaves(plan: Plan) -> dict[str, Any]:
    return {
        "heard": plan.recipe.may_be_heard,
        "ask": to_ask(heard_cards(plan), "home"),
        "loops": [loop_credit(card.name, card.maker, card.licence) for card in heard_cards(plan)],
        "makers": sorted({card.maker for card in heard_cards(plan) if card.maker}),
    }


def _shown(plan: Plan, seen: Seen) -> dict[str, Any]:
    song = outline(plan)
    chart = replace(chart_of(plan, seen.energy_shape), title="", by="")  # the page says whose it is
    sections = [(each.letter, each.name, each.first_bar, each.bars) for each in song.sections]
    return {
        "bars": song.bars,
        "barSeconds": float(plan.frame.bar_seconds),
        "sections": [{**each.for_pages(), "meant": each.meant} for each in song.sections],
        "chart": form_as_text(sections, [(layer.name, layer.heard) for layer in song.layers]),
        "words": [
            f"{section_told(each.name, each.bars, each.entries)}. {' '.join(words)}"
            for each, words in zip(song.sections, seen.section_words, strict=True)
        ],
        "standsOut": list(seen.stands_out),
        "questions": [
            [each.text, to_try(printable(plan.recipe.file), each.try_text), *each.bars] for each in seen.questions
        ],
        "svg": as_svg(engrave(chart, "wall")[:1], plan.title, places=True),
        "about": plan.recipe.about,
    }


def _brief(opened: Opened, energy: Energy) -> dict[str, Any]:
    """What a song does of what its brief asks."""
    if opened.brief is None or opened.brief.brief is None:
        return {"brief": [], "briefInAWord": ""}
    found = look(opened.brief.brief, opened.plan, energy)
    return {"brief": found.lines, "briefInAWord": found.in_a_word}


def _hear(plan: Plan, seen: Seen) -> tuple[str, float, float]:
    """The section that a class hears first: the one that its maker names, or else the fullest."""
    bars = seen.energy.bars
    named = [mark for mark in plan.marks if plan.recipe.hear and same_name(mark.name) == same_name(plan.recipe.hear)]

    def fullness(first_bar: int, length: int) -> float:
        return sum(bars[first_bar - 1 : first_bar - 1 + length]) / length

    mark = named[0] if named else max(plan.marks, key=lambda each: fullness(each.first_bar, each.bars))
    bar_seconds = float(plan.bar_frames / plan.rate_hz)
    return mark.name, mark.start_frame / plan.rate_hz, mark.bars * bar_seconds
