"""What each layer does in each section of a song, with everything that a listener could notice.

Taken from the plan, so two ways of writing the same give the same here.
"""

from __future__ import annotations

from fractions import Fraction

from mixer.recipe.model import Section
from mixer.record import record
from mixer.song.outline import spans_of
from mixer.song.plan import Part, Plan, entry_of
from mixer.versions.change import Spans, Stretch


@record
class Playing:
    """A layer in a section.

    Parameters
    ----------
    bars : those in which it is heard, counted in the section from 1, in order; never empty
    level_db : layer and entry together, rounded to 0.001
    pan : -1 (left) to 1 (right)
    fade_in_bars, fade_out_bars : of the entry
    begins : "in step", "from the top" or "runs on": where in its loop it enters, as the recipe says it
    offsets : for each bar heard, how far the loop is from being in step with the section, in bars
    """

    bars: tuple[int, ...]
    level_db: float
    pan: float
    fade_in_bars: Fraction
    fade_out_bars: Fraction
    begins: str
    offsets: tuple[Fraction, ...]

    @property
    def spans(self) -> Spans:
        """The bars as first and last bars."""
        return spans_of(list(self.bars), -1)


@record
class Scene:
    """A section of a plan with all that is heard in it, by the layers' numbers."""

    number: int
    section: Section
    bars_before: int
    playing: dict[int, Playing]

    def stretch(self, first_bar: int = 1, last_bar: int | None = None) -> Stretch:
        """Give some bars of it, or all."""
        last = self.section.bars if last_bar is None else last_bar
        return Stretch(self.number, self.section.name, self.bars_before, first_bar, last)

    def heard_stretch(self, layer: int) -> Stretch:
        """Give the bars from a layer's first to its last."""
        bars = self.playing[layer].bars
        return self.stretch(bars[0], bars[-1])


def scenes(plan: Plan, numbers: dict[str, int]) -> list[Scene]:
    """Give the sections of a plan; `numbers` says by which number each layer's name goes."""
    parts = [(numbers[part.layer.name], part) for part in plan.parts if part.layer.name in numbers]
    found = []
    for number, (section, mark) in enumerate(zip(plan.recipe.sections, plan.marks, strict=True)):
        before = mark.first_bar - 1
        playing = {layer: _playing(section, before, part) for layer, part in parts}
        found.append(Scene(number, section, before, {layer: each for layer, each in playing.items() if each}))
    return found


def _playing(section: Section, bars_before: int, part: Part) -> Playing | None:
    entry = entry_of(section, part.layer.name)
    bars = entry.bars(section.bars) if entry else []
    if entry is None or not bars:
        return None
    runs_on = part.layer.name in section.continues
    return Playing(
        bars=tuple(bars),
        level_db=round(part.layer.level_db + entry.level_db, 3),
        pan=part.layer.pan if entry.pan is None else entry.pan,
        fade_in_bars=entry.fade_in_bars,
        fade_out_bars=entry.fade_out_bars,
        begins="from the top" if entry.from_the_top else "runs on" if runs_on else "in step",
        offsets=tuple(_offset(part, bars_before + bar, bar) for bar in bars),
    )


def _offset(part: Part, song_bar: int, section_bar: int) -> Fraction:
    cue = next(cue for cue in part.cues if cue.enter_bar <= song_bar <= cue.exit_bar)
    return (cue.phase_bars + song_bar - cue.enter_bar - (section_bar - 1)) % part.fit.bars
