"""What a song does of all that a brief asks for, as plain data for commands, pages and the table of a class.

What is not so yet is told like advice: the song is made all the same, and it is no mistake of the recipe. There is no
count and no mark; people look at the places that are named.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from mixer.coach import heard, limits
from mixer.coach.asked import Asked, Outcome, Spans, asked_by, spans_of
from mixer.coach.found_out import FindOut, find_out
from mixer.recipe.brief import Brief
from mixer.record import record
from mixer.song.plan import Plan
from mixer.words.english import limits as words
from mixer.words.problem import Problem
from mixer.words.say import say

if TYPE_CHECKING:
    from mixer.coach.energy import Energy

_LOOKS: dict[str, Callable[[Asked], Outcome]] = {
    "longest": limits.longest,
    "shortest": limits.shortest,
    "tempo": limits.tempo,
    "key": limits.key,
    "time": limits.time,
    "layers": heard.layers,
    "at once": heard.at_once,
    "loops": heard.loops,
    "loops from": heard.loops_from,
    "sections": limits.sections,
    "must have": limits.must_have,
    "section bars": limits.section_bars,
    "must use": heard.must_use,
    "ending": limits.ending,
}


@record
class Limit:
    """One thing that a brief asks for, and whether the song does it.

    Parameters
    ----------
    key : the brief's key word, for layers with the role (`layers, drums`)
    asked : what is asked, in words
    problem : what is told where it is not so yet; None where it is
    bars : the bars of the song that this is about, first and last
    """

    key: str
    asked: str
    problem: Problem | None = None
    bars: Spans = ()

    @property
    def kept(self) -> bool:
        """Whether the song does it."""
        return self.problem is None

    @property
    def line(self) -> int | None:
        """The line of the recipe that it is about, if there is one."""
        return self.problem.place.line if self.problem is not None and self.problem.place.text else None

    @property
    def words(self) -> str:
        """What is asked, or what is told where it is not so yet."""
        return self.asked if self.problem is None else say(self.problem).message

    @property
    def where(self) -> str:
        """The line and the bars that it is about, as far as its words do not say them already."""
        if not self.bars or words.spans_told(self.bars) in self.words:
            return words.place_told(self.line, "")
        together = spans_of({bar for first, last in self.bars for bar in range(first, last + 1)})
        return words.place_told(self.line, words.spans_told(together))

    @property
    def hint(self) -> str:
        """A question, or what could be written, where it is not so yet."""
        return "" if self.problem is None else say(self.problem).hint


@record
class BriefLook:
    """A song seen with a brief.

    Parameters
    ----------
    name, goal : the brief's
    limits : all that it asks for, in the order of its key words; empty where there is no song
    find_out : things to look at
    has_song : whether there is a song to look at
    """

    name: str
    goal: str
    limits: tuple[Limit, ...]
    find_out: tuple[FindOut, ...]
    has_song: bool

    @property
    def lines(self) -> list[str]:
        """All of it in words, the head first; what belongs below a line is indented by two."""
        told = [words.brief_head(self.name, self.goal)]
        if not self.has_song:
            told.append(words.NO_SONG_TO_LOOK_AT)
        elif not self.limits:
            told.append(words.ALL_FREE)
        if self.kept:
            told.append(words.kept([limit.asked for limit in self.kept]))
        if self.not_kept:
            told.append(words.NOT_YET)
            told += [f"  {words.limit_line(limit.where, limit.words, limit.hint)}" for limit in self.not_kept]
        if self.find_out:
            told.append(words.FIND_OUT)
            told += [f"  {words.item(each.question, each.answer)}" for each in self.find_out]
        return told

    @property
    def short_lines(self) -> list[str]:
        """Whether it is kept, and what is not, in words."""
        if not self.limits:
            return [words.brief_head(self.name, self.goal)]
        if not self.not_kept:
            return [words.all_kept(self.name)]
        told = [words.limit_line(limit.where, limit.words, limit.hint) for limit in self.not_kept]
        return [words.not_all_kept(self.name), *(f"  {line}" for line in told)]

    @property
    def in_a_word(self) -> str:
        """For a table: whether it is kept, or what is not; empty where nothing is asked."""
        if not self.limits:
            return ""
        return words.not_yet_short([limit.asked for limit in self.not_kept]) if self.not_kept else words.KEPT_SHORT

    @property
    def kept(self) -> tuple[Limit, ...]:
        """What the song does."""
        return tuple(limit for limit in self.limits if limit.kept)

    @property
    def not_kept(self) -> tuple[Limit, ...]:
        """What it does not do yet."""
        return tuple(limit for limit in self.limits if not limit.kept)


def look(brief: Brief, plan: Plan | None, energy: Energy | None = None) -> BriefLook:
    """Look at a song with a brief.

    Parameters
    ----------
    brief : what is asked
    plan : the song; None where there is none yet
    energy : bar by bar, for what is to be found out; None where the sound was not looked at
    """
    return BriefLook(
        name=brief.name,
        goal=brief.goal,
        limits=() if plan is None else limits_of(brief, plan),
        find_out=tuple(
            FindOut(question) if plan is None else find_out(question, plan, energy) for question in brief.find_out
        ),
        has_song=plan is not None,
    )


def limits_of(brief: Brief, plan: Plan) -> tuple[Limit, ...]:
    """Give all that a brief asks for, and whether a song does it, in the order of the key words."""
    found = []
    for key, asked in asked_by(brief).items():
        word, _, role = key.partition(", ")
        found.append(Limit(key, asked, *_LOOKS[word](Asked(brief, plan, asked, role))))
    return tuple(found)
