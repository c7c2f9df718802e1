"""What a brief asks for, in words, before any song is looked at; and one such thing beside a song."""

from __future__ import annotations

from typing import Any

from mixer.recipe.brief import Brief
from mixer.record import record
from mixer.song.plan import Part, Plan
from mixer.words.english import limits as words
from mixer.words.english.told import minutes
from mixer.words.problem import Place, Problem

Spans = tuple[tuple[int, int], ...]
Outcome = tuple[Problem | None, Spans]
"""What is told where a song does not do what is asked (None where it does), and the bars that it is about."""

KEPT: Outcome = (None, ())


def asked_by(brief: Brief) -> dict[str, str]:
    """Give each thing that a brief asks for in words, by its key word (for layers with the role: `layers, drums`)."""
    said = {
        "longest": brief.longest_seconds and words.asked_length(minutes(float(brief.longest_seconds)), at_most=True),
        "shortest": brief.shortest_seconds
        and words.asked_length(minutes(float(brief.shortest_seconds)), at_most=False),
        "tempo": brief.tempo_bpm and words.asked_tempo(brief.tempo_bpm.least, brief.tempo_bpm.most),
        "key": brief.keys and words.asked_keys([str(key) for key in brief.keys]),
        "time": brief.meters and words.asked_times([str(meter) for meter in brief.meters]),
        **{
            f"layers, {role}": not limit.is_open and words.asked_layers(role, limit.least, limit.most)
            for role, limit in brief.layers.items()
        },
        "at once": brief.at_once and words.asked_at_once(brief.at_once.least, brief.at_once.most),
        "loops": brief.loops and words.asked_loops(brief.loops),
        "loops from": brief.loops_from and words.asked_sets(brief.loops_from),
        "sections": brief.sections and words.asked_sections(brief.sections.least, brief.sections.most),
        "must have": brief.must_have and words.asked_names(brief.must_have),
        "section bars": brief.section_bars
        and words.asked_section_bars([(limit.least, limit.most) for limit in brief.section_bars]),
        "must use": brief.must_use and words.asked_uses(brief.must_use),
        "ending": brief.ending and words.asked_ending(brief.ending),
    }
    return {key: str(asked) for key, asked in said.items() if asked}


@record
class Asked:
    """One thing that is asked, beside the song that is looked at.

    Parameters
    ----------
    brief, plan : what is asked, and the song
    words : this one thing in words
    role : for layers, the role that it is about
    """

    brief: Brief
    plan: Plan
    words: str
    role: str = ""

    def told(self, kind: str, place: Place, **facts: Any) -> Problem:  # noqa: ANN401 - facts are names and numbers of any kind
        """Give what is told where it is not so."""
        return Problem(kind, place, {"asked": self.words, **facts})

    def at(self, key: str) -> Place:
        """Where a key stands at the top of the recipe."""
        return self.plan.recipe.at.get(key, Place(self.plan.recipe.file))

    def at_section(self, number: int) -> Place:
        """Where a section stands, counted from 0; -1 for the last."""
        return self.plan.recipe.sections[number].at.get("name", Place(self.plan.recipe.file))

    def at_layer(self, part: Part, key: str = "name") -> Place:
        """Where a layer stands."""
        return part.layer.at.get(key) or part.layer.at.get("name", Place(self.plan.recipe.file))

    def bars_of_section(self, number: int) -> tuple[int, int]:
        """Give the first and the last bar of a section, counted in the song."""
        mark = self.plan.marks[number]
        return mark.first_bar, mark.first_bar + mark.bars - 1

    def section_at(self, bar: int) -> int:
        """Which section a bar of the song belongs to, counted from 0."""
        return max(number for number, mark in enumerate(self.plan.marks) if mark.first_bar <= bar)


def heard_parts(plan: Plan) -> list[Part]:
    """Give the layers that sound somewhere in the song."""
    return [part for part in plan.parts if part.cues]


def bars_of(*parts: Part) -> set[int]:
    """Give the bars of the song in which any of the layers is heard."""
    return {bar for part in parts for cue in part.cues for bar in range(cue.enter_bar, cue.exit_bar + 1)}


def spans_of(bars: set[int]) -> Spans:
    """Give bars as first and last ones."""
    spans: list[tuple[int, int]] = []
    for bar in sorted(bars):
        if spans and spans[-1][1] == bar - 1:
            spans[-1] = (spans[-1][0], bar)
        else:
            spans.append((bar, bar))
    return tuple(spans)
