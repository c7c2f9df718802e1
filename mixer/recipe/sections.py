"""The sections of a song: what was written of each made whole, and what `like` makes of an earlier one."""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction

from mixer.recipe import values
from mixer.recipe.drafts import Draft, DraftReader
from mixer.recipe.entries import Context, Wanted, read_list, read_play, resolve
from mixer.recipe.model import Layer, Section
from mixer.record import replace
from mixer.text.names import nearest, plain_signs, same_name
from mixer.text.nodes import Node, Text, place_of
from mixer.words.problem import Place, Problems


class SectionReader:
    """Reads the sections one after the other; each knows those above it.

    Parameters
    ----------
    layers, lost : as in `mixer.recipe.entries.Context`
    problems : grows
    """

    def __init__(self, layers: dict[str, Layer], lost: Mapping[str, str], problems: Problems) -> None:
        self.layers = layers
        self.lost = lost
        self.problems = problems
        self.sections: list[Section] = []
        self._drafts = DraftReader(layers, lost, problems)
        self._lost_sections: set[str] = set()
        self._song_bar = 1

    def read(self, node: Node) -> tuple[Section, ...]:
        """Read the list of sections; what cannot be read is left out and told."""
        for draft in self._drafts.read(node):
            self._add(draft)
        return tuple(self.sections)

    def change(self, node: Node, base: Section, song_bar: int) -> Section | None:
        """Read what a section would be if its own line went on so; None if that cannot be read.

        Parameters
        ----------
        node : one item in the short form, with the section's name
        base : the section as it is
        song_bar : the bar of the song at which it begins
        """
        self.sections = [base]
        self._song_bar = song_bar
        drafts = self._drafts.read(node)
        if len(drafts) != 1:
            return None
        drafts[0].like = drafts[0].name
        self._add(drafts[0])
        return replace(self.sections[-1], at=base.at) if len(self.sections) > 1 else None

    def _tell_strange(self, part: Text) -> None:
        same = re.fullmatch(r"(?:the )?(?:same )?as (.+)", part.value, re.IGNORECASE)
        section = self._above(part.value) is not None
        self.problems.tell("head-unknown", part.place(), text=part.value, like=same[1] if same else "", section=section)

    def _add(self, draft: Draft) -> None:
        for part in draft.strange:
            self._tell_strange(part)
        if draft.name is None:
            if draft.like is None:
                self.problems.tell("section-nameless", draft.place)
                return
            draft.name = draft.like
        name = values.name(draft.name, self.problems, reserved=False)
        if name is None:
            if not draft.name.value:
                self.problems.tell("section-nameless", draft.place)
            self._lost_sections.add(same_name(plain_signs(draft.name.value).split(",")[0]))
            return
        known_bars = values.whole_bars(draft.bars, self.problems) if draft.bars is not None else None
        base = self._base(draft, name)
        bars = known_bars if draft.bars is not None else base.bars if base else None
        context = Context(self.layers, self.lost, name, bars, self._song_bar, draft.place, self.problems)
        wanted = self._wanted(draft, context)
        if self._incomplete(draft, wanted, base, name, bars):
            self._lost_sections.add(same_name(name))
            return
        entries = resolve(wanted, base.entries if base else (), context)
        assert bars is not None  # noqa: S101 - `_incomplete` looked
        section = replace(base, name=name, bars=bars, entries=entries) if base else Section(name, bars, entries)
        section = self._with_rest(section, draft, context)
        self.sections.append(section)
        self._song_bar += bars

    def _wanted(self, draft: Draft, context: Context) -> Wanted:
        wanted = Wanted()
        for part in draft.head_entries:
            self.problems.tell("colon-in-section", part.place(), text=part.value)
            read_list(part, context, wanted)
        if draft.play is not None:
            read_play(draft.play, context, wanted)
        if draft.without is not None:
            read_list(draft.without, context, wanted, taking_out=True)
        return wanted

    def _base(self, draft: Draft, name: str) -> Section | None:
        """Find the earlier section that this one is like, or that it repeats."""
        if draft.like is not None:
            found = self._above(draft.like.value)
            if found is None and same_name(draft.like.value) not in self._lost_sections:
                above = list(dict.fromkeys(section.name for section in self.sections))
                guess = nearest(draft.like.value, above)
                itself = same_name(draft.like.value) == same_name(name)
                self.problems.tell(
                    "unknown-section",
                    draft.like.place(),
                    name=draft.like.value,
                    above=above,
                    guess=guess,
                    itself=itself,
                )
            return found
        return self._above(name) if draft.play is None and not draft.head_entries else None

    def _above(self, name: str) -> Section | None:
        form = same_name(name)
        return next((each for each in reversed(self.sections) if same_name(each.name) == form), None)

    def _incomplete(self, draft: Draft, wanted: Wanted, base: Section | None, name: str, bars: int | None) -> bool:
        """Whether so much is missing that the section must be left out; tells what was not told yet."""
        assert draft.name is not None  # noqa: S101 - `_add` looked
        if draft.like is not None and base is None:
            return True
        if draft.spoilt and (bars is None or not (draft.play or base)):
            return True
        said = draft.play is not None or draft.head_entries
        if not said and base is None:
            if same_name(name) not in self._lost_sections and not draft.spoilt:
                self._not_said(draft, name)
            return True
        if bars is None:
            if draft.bars is None:
                self.problems.tell("bars-missing", draft.name.place(), name=name)
            return True
        nobody = said and base is None and not (wanted.entries or wanted.nothing or wanted.everything)
        if nobody and isinstance(draft.play, Text) and not draft.play.value:
            self._nobody_plays(draft.place, draft, name)
        return False

    def _not_said(self, draft: Draft, name: str) -> None:
        assert draft.name is not None  # noqa: S101 - `_add` looked
        above = list(dict.fromkeys(section.name for section in self.sections))
        guess = nearest(name, above)
        if draft.bars is None and guess is not None:
            self.problems.tell("unknown-section", draft.name.place(), name=name, above=above, guess=guess, itself=False)
        else:
            self._nobody_plays(draft.name.place(), draft, name)

    def _nobody_plays(self, place: Place, draft: Draft, name: str) -> None:
        has_bars = draft.bars is not None
        self.problems.tell("plays-nobody", place, name=name, who=self._someone(), has_bars=has_bars)

    def _someone(self) -> str:
        """Give a layer of the song for an example."""
        return next((layer.name for layer in self.layers.values()), "drums")

    def _with_rest(self, section: Section, draft: Draft, context: Context) -> Section:
        """Add what else is written of a section."""
        assert draft.name is not None  # noqa: S101 - `_add` looked
        at = {"name": draft.name.place(), **{word: key.place() for word, (key, _) in draft.other.items()}}
        if draft.bars is not None:
            at["bars"] = draft.bars.place()
        most = Fraction(section.bars)  # of an earlier section, what lies outside is cut
        fades = min(section.fade_in_bars, most), min(section.fade_out_bars, most)
        section = replace(section, at=at, fade_in_bars=fades[0], fade_out_bars=fades[1])
        for word, (key, node) in draft.other.items():
            if word == "continue":
                section = replace(section, continues=self._continues(node, context))
            elif (text := values.one_text(key, node, self.problems)) is None:
                continue
            elif word == "meant":
                section = replace(section, meant=values.free(text, self.problems, "meant"))
            elif word == "fade in":
                section = replace(section, fade_in_bars=self._section_fade(section, word, text))
            elif word == "fade out":
                section = replace(section, fade_out_bars=self._section_fade(section, word, text))
        return section

    def _section_fade(self, section: Section, word: str, text: Text) -> Fraction:
        bars = values.fade(text, self.problems, word) or Fraction(0)
        if bars > section.bars:
            self.problems.tell("fade-too-long", text.place(), key=word, layer=section.name, bars=section.bars)
        return min(bars, Fraction(section.bars))

    def _continues(self, node: Node, context: Context) -> frozenset[str]:
        wanted = Wanted()
        read_play(node, context, wanted)
        if not self.sections:
            self.problems.tell("continue-first", place_of(node))
            return frozenset()
        if wanted.everything is not None:
            return frozenset(layer.name for layer in self.layers.values())
        return frozenset(wanted.entries)
