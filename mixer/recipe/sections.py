"""The sections of a song, in the short and the long form, and what `like` makes of an earlier one."""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction

from mixer.pattern import pattern
from mixer.recipe import values
from mixer.recipe.entries import Context, Wanted, read_list, read_play, resolve
from mixer.recipe.keywords import SYNONYMS, words_at
from mixer.recipe.model import Layer, Section
from mixer.record import replace
from mixer.text.names import nearest, plain_signs, same_name, same_word
from mixer.text.nodes import Items, Node, Pairs, Text, place_of
from mixer.text.values import bare_name
from mixer.words.problem import Place, Problems

MOST_SECTIONS = 100
_BARS = pattern(r"(?:of\s+)?(\d{1,9})\s*-?\s*bars?|bars?\s+(\d{1,9})", re.IGNORECASE)
_BARE_FIGURE = pattern(r"\d{1,3}")
# Where in the song it stands: `bars 5-12`.
_PLACE = pattern(r"(?:bars?\s+)?(\d{1,4})\s*(?:--?|to)\s*(\d{1,4})(?:\s*bars?)?", re.IGNORECASE)
# A length that is no whole number of bars: `4.5 bars`, `eight bars`, `20 seconds`.
_LENGTH = pattern(r"[\w.,]+\s+bars?|\d[\w.]*\s+\w+", re.IGNORECASE)
_LENGTH_FIRST = pattern(r"(\d{1,3}\s*bars?)\s*[,:;]\s*(?=\S)", re.IGNORECASE)
_LIKE = pattern(r"like\s+(.+)", re.IGNORECASE)
# `verse 8 bars` and `verse 2 like verse`: a name and what belongs after its comma.
_NO_COMMA = pattern(r"(.*\S)\s+(\d{1,3}\s*bars?|like\s+.+)", re.IGNORECASE)
_IN_BRACKETS = pattern(r"(.*[^\s(\[])\s*[(\[]\s*(\d{1,3}\s*bars?)\s*[)\]]", re.IGNORECASE)
# `verse 8 bars piano` with no colon anywhere; what stands after the length is looked at before that is believed.
_NO_COLON = pattern(r"([^,]*[^,\s])(?:\s*,)?\s+(\d{1,3}\s*bars?)\s+(?:[-=>\u2013\u2014]+\s*)?(\S.*)", re.IGNORECASE)
_SECTION_WORDS = frozenset(words_at("section"))


class _Draft:
    """A section while it is read: what was written, key by key."""

    def __init__(self, place: Place, name: Text | None = None) -> None:
        self.place = place
        self.name = name
        self.bars: Text | None = None
        self.like: Text | None = None
        self.without: Text | None = None
        self.play: Node | None = None
        self.head_entries: list[Text] = []
        self.strange: list[Text] = []  # what stands before the colon and could not be read
        self.spoilt = False  # something of it could not be read, and was told
        self.other: dict[str, tuple[Text, Node]] = {}


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
        self._lost_sections: set[str] = set()
        self._song_bar = 1

    def read(self, node: Node) -> tuple[Section, ...]:
        """Read the list of sections; what cannot be read is left out and told."""
        items = self._items(node)
        if len(items) > MOST_SECTIONS:
            self.problems.tell("too-many-sections", place_of(items[MOST_SECTIONS]), most=MOST_SECTIONS)
            items = items[:MOST_SECTIONS]
        for draft in self._drafts(items):
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
        drafts = self._drafts(self._items(node))
        if len(drafts) != 1:
            return None
        drafts[0].like = drafts[0].name
        self._add(drafts[0])
        return replace(self.sections[-1], at=base.at) if len(self.sections) > 1 else None

    def _items(self, node: Node) -> tuple[Node, ...]:
        if isinstance(node, Items):
            return node.items
        if isinstance(node, Pairs):
            if not node.pairs:
                return ()
            first = node.pairs[0][0]
            starts = [key for key, _ in node.pairs if same_word(key.value) not in _SECTION_WORDS]
            lines = tuple(key.place().line for key in starts[1:])
            self.problems.tell("section-dash", first.place(), name=first.value, lines=lines)
            if same_word(first.value) in _SECTION_WORDS:
                return (node,)
            return tuple(Pairs(key.place(), ((key, value),)) for key, value in node.pairs)
        place = node.place()
        if place.text[: place.column - 1].strip():  # on the line of the key itself
            self.problems.tell("sections-list", place)
            return ()
        if node.value:
            self.problems.tell("section-dash", node.place(), name=node.value, lines=())
            return (node,)
        return ()

    # -- what is written -------------------------------------------------------------------------

    def _drafts(self, items: tuple[Node, ...]) -> list[_Draft]:
        drafts: list[_Draft] = []
        for item in items:
            if isinstance(item, Text):
                if item.value:
                    drafts.append(self._short(item, None))
                else:
                    self.problems.tell("empty-item", item.place())
            elif isinstance(item, Items) or not item.pairs:
                self.problems.tell("empty-item", item.place)
            else:
                self._from_pairs(item, drafts)
        return drafts

    def _from_pairs(self, item: Pairs, drafts: list[_Draft]) -> None:
        first, value = item.pairs[0]
        if same_word(first.value) not in _SECTION_WORDS:
            draft = self._short(first, value)
            rest = item.pairs[1:]
        else:
            words = {same_word(key.value) for key, _ in item.pairs}
            if not words & {"name", "like"} and drafts and not self._has(drafts[-1], words):
                self.problems.tell("extra-dash", first.place(), key=first.value)
                self._take_keys(drafts[-1], item.pairs, drafts)
                return
            draft, rest = _Draft(first.place()), item.pairs
        drafts.append(draft)
        self._take_keys(draft, rest, drafts)

    @staticmethod
    def _has(draft: _Draft, words: set[str]) -> bool:
        there = {word for word in ("bars", "like", "without", "play") if getattr(draft, word) is not None}
        return bool(words & (there | draft.other.keys()))

    def _short(self, head: Text, value: Node | None) -> _Draft:
        """Read `NAME, 8 bars, like NAME` and what follows the colon."""
        plain = plain_signs(head.value)
        found = _NO_COLON.fullmatch(plain) if value is None and len(plain) <= values.LONGEST_TEXT else None
        if found and self._names_someone(found[3]):
            self.problems.tell("head-colon", head.place(), name=found[1], bars=found[2], who=found[3])
            first, *others, value = (head.part(*found.span(group)) for group in (1, 2, 3))
        else:
            first, *others = head.saying(plain).split()
            first = head.part(0, len(first.value))
        name = bare_name(first, self.problems)
        short = len(name.value) <= values.LONGEST_TEXT  # in what is longer, looking would take long
        if short and (found := _NO_COMMA.fullmatch(name.value) or _IN_BRACKETS.fullmatch(name.value)):
            self.problems.tell("head-comma", name.place(), name=found[1], more=found[2])
            others.insert(0, name.part(found.start(2), found.end(2)))
            name = name.part(0, found.end(1))
        draft = _Draft(name.place(), name=name)
        if _BARS.fullmatch(name.value) or (_LIKE.fullmatch(name.value) and not others):
            self.problems.tell("section-name", name.place(), text=name.value)
            draft.spoilt = True
        for part in others:
            if part.value:
                self._head_part(draft, part)
        if isinstance(value, Pairs) and all(self._is_section_key(key) for key, _ in value.pairs):
            self._take_keys(draft, value.pairs, [])
        elif value is not None and (not isinstance(value, Text) or value.value):
            draft.play = self._after_length(draft, value) if isinstance(value, Text) else value
        return draft

    def _after_length(self, draft: _Draft, value: Text) -> Text:
        """See `- verse: 8 bars, piano`, where the length stands after the colon."""
        found = _LENGTH_FIRST.match(plain_signs(value.value))
        if found is None or draft.bars is not None or draft.like is not None:
            return value
        draft.bars = value.part(found.start(1), found.end(1))
        self.problems.tell("bars-after-colon", draft.bars.place(), bars=draft.bars.value)
        return value.part(found.end(), len(value.value))

    def _head_part(self, draft: _Draft, part: Text) -> None:
        """Read what stands between two commas before the colon, after the name."""
        if (found := _BARS.fullmatch(part.value)) and draft.bars is None:
            group = 1 if found[1] else 2
            draft.bars = part.part(found.start(group), found.end(group))
        elif _BARE_FIGURE.fullmatch(part.value) and draft.bars is None:
            self.problems.tell("bars-word", part.place(), figure=part.value)
            draft.bars = part
        elif (found := _PLACE.fullmatch(part.value)) and draft.bars is None and (length := _length(found)) > 0:
            self.problems.tell("bars-place", part.place(), value=part.value, bars=length)
            draft.bars = Text(str(length), ((0, part.place()),))
        elif found := _LIKE.fullmatch(part.value):
            draft.like = part.part(found.start(1), found.end(1))
        elif self._names_someone(part.value):
            draft.head_entries.append(part)
        elif _LENGTH.fullmatch(part.value) and draft.bars is None:
            draft.bars = part
        else:
            draft.strange.append(part)
            draft.spoilt = True

    def _names_someone(self, text: str) -> bool:
        """Whether a text begins with who plays: of what belongs after the colon, `- verse, 8 bars, piano 1-4`."""
        form = f"{same_name(text)} ".replace(",", " ")
        names = (*self.layers, *self.lost, "everything", "nothing", "without")
        return any(form.startswith(f"{name} ") for name in names)

    def _is_section_key(self, key: Text) -> bool:
        return same_word(key.value) in _SECTION_WORDS and same_name(key.value) not in self.layers

    def _take_keys(self, draft: _Draft, pairs: tuple[tuple[Text, Node], ...], drafts: list[_Draft]) -> None:
        for key, node in pairs:
            word = same_word(key.value)
            if word == "name" and draft.name is not None and drafts and isinstance(node, Text):
                self.problems.tell("second-name", key.place(), name=node.value, first=draft.name.value)
                draft = _Draft(key.place(), name=node)
                drafts.append(draft)
            elif word not in _SECTION_WORDS and drafts and _starts_section(key, node):
                self.problems.tell("section-dash", key.place(), name=key.value, lines=())
                draft = self._short(key, node)
                drafts.append(draft)
            elif word not in _SECTION_WORDS:
                self._unknown_key(key, draft)
            elif self._has(draft, {word}) or (word == "name" and draft.name is not None):
                self.problems.tell("key-twice", key.place(), key=key.value)
            elif word == "play":
                draft.play = node
            elif word in ("name", "bars", "like"):
                if self._is_text(key, node):
                    setattr(draft, word, node)
            elif word == "without" and isinstance(node, Text) and node.value:
                draft.without = node
            else:
                draft.other[word] = (key, node)

    def _unknown_key(self, key: Text, draft: _Draft) -> None:
        known = words_at("section")
        word = same_word(key.value)
        guess = SYNONYMS.get(("section", word)) or nearest(word, known)
        if same_name(key.value) in self.layers:
            self.problems.tell("layer-as-key", key.place(), name=key.value)
            return
        self.problems.tell("unknown-key", key.place(), key=key.value, where="section", guess=guess, known=known)
        draft.spoilt = draft.spoilt or guess in ("bars", "like", "play")

    def _is_text(self, key: Text, node: Node) -> bool:
        if not isinstance(node, Text):
            self.problems.tell("one-value", place_of(node), key=key.value)
            return False
        if not node.value:
            self.problems.tell("no-value", key.place(), key=key.value)
        return bool(node.value)

    # -- what it means ---------------------------------------------------------------------------

    def _tell_strange(self, part: Text) -> None:
        same = re.fullmatch(r"(?:the )?(?:same )?as (.+)", part.value, re.IGNORECASE)
        section = self._above(part.value) is not None
        self.problems.tell("head-unknown", part.place(), text=part.value, like=same[1] if same else "", section=section)

    def _add(self, draft: _Draft) -> None:
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

    def _wanted(self, draft: _Draft, context: Context) -> Wanted:
        wanted = Wanted()
        for part in draft.head_entries:
            self.problems.tell("colon-in-section", part.place(), text=part.value)
            read_list(part, context, wanted)
        if draft.play is not None:
            read_play(draft.play, context, wanted)
        if draft.without is not None:
            read_list(draft.without, context, wanted, taking_out=True)
        return wanted

    def _base(self, draft: _Draft, name: str) -> Section | None:
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

    def _incomplete(self, draft: _Draft, wanted: Wanted, base: Section | None, name: str, bars: int | None) -> bool:
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
        if said and base is None and not (wanted.entries or wanted.nothing or wanted.everything):
            if isinstance(draft.play, Text) and not draft.play.value:
                self.problems.tell("plays-nobody", draft.place, name=name, who=self._someone())
            return False
        return False

    def _not_said(self, draft: _Draft, name: str) -> None:
        assert draft.name is not None  # noqa: S101 - `_add` looked
        above = list(dict.fromkeys(section.name for section in self.sections))
        guess = nearest(name, above)
        if draft.bars is None and guess is not None:
            self.problems.tell("unknown-section", draft.name.place(), name=name, above=above, guess=guess, itself=False)
        else:
            self.problems.tell("plays-nobody", draft.name.place(), name=name, who=self._someone())

    def _someone(self) -> str:
        """Give a layer of the song for an example."""
        return next((layer.name for layer in self.layers.values()), "drums")

    def _with_rest(self, section: Section, draft: _Draft, context: Context) -> Section:
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
            elif not self._is_text(key, node) or not isinstance(node, Text):
                continue
            elif word == "meant":
                section = replace(section, meant=values.free(node, self.problems, "meant"))
            elif word == "fade in":
                section = replace(section, fade_in_bars=self._section_fade(section, word, node))
            elif word == "fade out":
                section = replace(section, fade_out_bars=self._section_fade(section, word, node))
        return section

    def _section_fade(self, section: Section, word: str, node: Text) -> Fraction:
        bars = values.fade(node, self.problems, word) or Fraction(0)
        if bars > section.bars:
            self.problems.tell("fade-too-long", node.place(), key=word, layer=section.name, bars=section.bars)
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


def _length(place: re.Match[str]) -> int:
    """How many bars there are from one to another."""
    return int(place[2]) - int(place[1]) + 1


def _starts_section(key: Text, node: Node) -> bool:
    """Whether a line among a section's keys is plainly a section whose dash is missing."""
    parts = plain_signs(key.value).split(",")
    return (
        len(parts) > 1
        and isinstance(node, Text)
        and any(_BARS.fullmatch(p.strip()) or _LIKE.fullmatch(p.strip()) for p in parts[1:])
    )
