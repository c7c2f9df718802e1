"""All that is told of a song to its maker: shape of its energy, sections in words, what stands out, questions."""

from __future__ import annotations

from collections.abc import Mapping

from mixer.coach.energy import Energy, Known, energy, shares
from mixer.coach.habits import NOT_ASKED, habits
from mixer.coach.own import Own
from mixer.coach.questions import MOST, Question, bars_of, choose, mark_at
from mixer.coach.sections import Layers, Step, layers_of, steps
from mixer.coach.stands_out import StandsOut, stands_out
from mixer.material.fit import Material
from mixer.record import record, replace
from mixer.song.opened import Opened
from mixer.song.plan import Plan
from mixer.words.english import coach as words


@record
class Seen:
    """What is told of a song.

    Parameters
    ----------
    energy : bar by bar; numbers for other programs only
    section_words : for each section its sentences
    stands_out : sentences
    questions : the most useful first
    """

    energy: Energy
    section_words: tuple[tuple[str, ...], ...]
    stands_out: tuple[str, ...]
    questions: tuple[Question, ...]

    @property
    def energy_shape(self) -> tuple[float, ...]:
        """For each bar 0 (this song's quietest) to 1 (its fullest)."""
        return self.energy.shape


def see(
    opened: Opened,
    materials: Mapping[str, Material],
    *,
    style: str | None = None,
    most: int | None = None,
    known: Known | None = None,
) -> Seen | None:
    """Look at a song that was opened.

    Parameters
    ----------
    opened : the song
    materials : by layer's name
    style : the habits to compare with; None takes the brief's, or else the recipe's
    most : how many questions there may be; None takes what the brief says, or else three
    known : what was heard in loops of other songs; grows

    Returns
    -------
    None where there is no song
    """
    if opened.plan is None:
        return None
    brief = None if opened.brief is None else opened.brief.brief
    if brief is not None:
        style = style or brief.habits or None
        most = brief.questions if most is None else most
    return see_plan(opened.plan, materials, style=style, most=most, known=known)


def see_plan(
    plan: Plan,
    materials: Mapping[str, Material],
    *,
    style: str | None = None,
    most: int | None = None,
    known: Known | None = None,
) -> Seen:
    """Look at a song that is laid out; see `see`. Layers without material are not spoken of."""
    plan = replace(plan, parts=tuple(part for part in plan.parts if part.layer.name in materials and part.cues))
    known = {} if known is None else known
    whole = energy(plan, materials, known)
    layers = layers_of(plan)
    own = Own(plan, layers, whole, shares(plan, materials, known))
    named = plan.recipe.habits if style is None else style
    candidates = [each for each in own.candidates() if each.kind not in NOT_ASKED.get(named, ())]
    candidates += habits(own, named)
    meant = [section.meant for section in plan.recipe.sections]
    told = [_section(step, text, layers) for step, text in zip(steps(plan, layers, whole), meant, strict=True)]
    return Seen(
        energy=whole,
        section_words=tuple(told),
        stands_out=_noticed(stands_out(plan, layers, whole), plan, layers),
        questions=choose(candidates, plan, MOST if most is None else most),
    )


def _section(step: Step, meant: str, layers: Layers) -> tuple[str, ...]:
    told = [words.section_meant(meant)] if meant else []
    first_bar = step.mark.first_bar
    at_once = [name for name, bar in step.joins if bar == first_bar]
    later = sorted(((name, bar) for name, bar in step.joins if bar > first_bar), key=lambda each: each[1])
    if step.same_as is not None:
        told.append(words.section_same(step.same_as.name, bars_of(step.same_as)))
    if step.before is None:
        told.append(words.section_first(at_once, later))
    else:
        if step.joins:
            told.append(words.section_joins(at_once, later))
        if not layers.within(step.mark):
            told.append(words.section_silent())
        elif step.leaves:
            told.append(words.section_leaves(step.leaves))
        if layers.within(step.mark) and layers.within(step.before):
            told.append(words.section_differs(step.before.name, step.fuller, step.brighter, step.busier))
    if step.inside:
        told.append(words.section_inside(step.inside))
    return tuple(told)


def _noticed(found: StandsOut, plan: Plan, layers: Layers) -> tuple[str, ...]:
    if found.fullest is None:
        return (words.NOTHING,)
    told = []
    if found.largest is None:
        told.append(words.STEADY)
    else:
        change = found.largest
        told.append(words.largest(change.bar, change.joins, change.leaves, found.returns))
        section = mark_at(plan, found.fullest[0]).name
        told.append(words.fullest(found.fullest, section, layers.in_order(layers.at(found.fullest[0]))))
    told += [words.silent(bars) for bars in found.silent]
    if found.always and found.largest is not None:
        told.append(words.always(found.always))
    return tuple(told)
