"""Who is heard in a section: `piano, drums, bass 5-8, without shaker`, or the same as lines of their own.

Both spellings end in the same thing: entries by layer. `everything` is spelt out here, `without` is taken
away here, so that the rest of the program meets neither.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from fractions import Fraction

from mixer.pattern import pattern
from mixer.recipe import values
from mixer.recipe.keywords import words_at
from mixer.recipe.meant import LONGEST_PART, SPAN_AND_SPANS, name_and_bars, tell_unknown
from mixer.recipe.model import Entry, Layer, Span
from mixer.record import record, replace
from mixer.text.names import nearest, plain_signs, same_name, same_word
from mixer.text.nodes import Items, Node, Pairs, Text
from mixer.text.values import bare_name
from mixer.words.problem import Place, Problems

_AND = pattern(r"\s+(?:and|&|\+|und|et|y|e)\s+|\s*[&+;.]\s*|\s+", re.IGNORECASE)


@record
class Context:
    """What must be known to read the entries of a section.

    Parameters
    ----------
    layers : the song's layers by the form in which their names are compared
    lost : the names of layers that could not be read, by the same form; entries of theirs were told already
    section : the section's name
    bars : its length; None if that could not be read
    song_bar : the bar of the song at which it begins
    place : where it is written
    problems : grows
    """

    layers: dict[str, Layer]
    lost: Mapping[str, str]
    section: str
    bars: int | None
    song_bar: int
    place: Place
    problems: Problems


class Wanted:
    """The entries of a section as they were written.

    Attributes
    ----------
    entries : by layer's name
    everything : the spans of `everything`; None if it was not written
    without : layers taken out, with the spans (none: whole)
    nothing : whether `nothing` was written
    """

    def __init__(self) -> None:
        self.entries: dict[str, Entry] = {}
        self.everything: Entry | None = None
        self.without: list[tuple[str, tuple[Span, ...], Place]] = []
        self.nothing = False
        self.nothing_at: Place | None = None

    def add(self, entry: Entry, place: Place, problems: Problems) -> None:
        """Take an entry; a second one of the same layer adds its bars to the first."""
        before = self.entries.get(entry.layer)
        if before is None:
            self.entries[entry.layer] = entry
            return
        problems.tell("layer-twice", place, name=entry.layer)
        spans = before.spans + entry.spans if before.spans and entry.spans else ()
        self.entries[entry.layer] = replace(before, spans=spans)


def read_play(node: Node, context: Context, wanted: Wanted) -> None:
    """Read who plays, in any of its spellings."""
    if isinstance(node, Text):
        read_list(node, context, wanted)
    elif isinstance(node, Items):
        for item in node.items:
            read_play(item, context, wanted)
    else:
        for name, value in node.pairs:
            _read_line(name, value, context, wanted)


def read_list(text: Text, context: Context, wanted: Wanted, *, taking_out: bool = False) -> None:
    """Read entries between commas; after `without` they name what is taken out."""
    last: tuple[str, bool] | None = None
    for part in text.saying(plain_signs(text.value)).split():
        if not part.value:
            continue
        if found := re.match(r"(?:and\s+|but\s+)?without(?:\s+|$)", part.value, re.IGNORECASE):
            taking_out = True
            part = part.part(found.end(), len(part.value))  # noqa: PLW2901 - the rest of the same part
            if not part.value:
                continue
        part = _without_colon(bare_name(part, context.problems), context)  # noqa: PLW2901 - the same part, mended
        if values.spans_of(part.value) and same_name(part.value) not in context.layers:
            _span_alone(part, last, context, wanted)
            continue
        if taking_out and same_name(part.value) in ("everything", "nothing"):
            context.problems.tell("without-what", part.place(), name=part.value)
            continue
        for name, spans, place in _named(part, context):
            last = (name, taking_out)
            _take(name, spans, place, wanted, context, taking_out=taking_out)


def _without_colon(part: Text, context: Context) -> Text:
    """See `bass: 5-8` among others in one line."""
    name, colon, span = part.value.partition(":")
    if not colon or _known(name, context) is None:
        return part
    at = len(name)
    context.problems.tell("colon-in-entry", part.place(at, at + 1), name=name.strip(), span=span.strip())
    return part.saying(f"{name} {span}")


def _take(
    name: str, spans: tuple[Span, ...], place: Place, wanted: Wanted, context: Context, *, taking_out: bool
) -> None:
    if taking_out:
        wanted.without.append((name, spans, place))
    elif name == "nothing":
        wanted.nothing, wanted.nothing_at = True, place
    elif name == "everything":
        wanted.everything = Entry("everything", spans, at={"layer": place})
    else:
        wanted.add(Entry(name, spans, at={"layer": place}), place, context.problems)


def _span_alone(part: Text, last: tuple[str, bool] | None, context: Context, wanted: Wanted) -> None:
    """Give a span that stands alone to the layer before it."""
    if last is None:
        who = next((layer.name for layer in context.layers.values()), "drums")
        context.problems.tell("span-alone", part.place(), span=part.value, who=who)
        return
    more = _span(part, context)
    name, taking_out = last
    if more is None or name in ("", "nothing"):
        return
    if taking_out:
        earlier = wanted.without[-1]
        wanted.without[-1] = (earlier[0], (*earlier[1], *more), earlier[2])
    elif name == "everything" and wanted.everything is not None:
        wanted.everything = replace(wanted.everything, spans=wanted.everything.spans + more)
    elif entry := wanted.entries.get(name):
        wanted.entries[name] = replace(entry, spans=entry.spans + more)


def _span(text: Text, context: Context) -> tuple[Span, ...] | None:
    found = values.span(text, context.bars, context.problems, song_bar=context.song_bar, section=context.section)
    return None if found is None else (found,)


def _known(text: str, context: Context) -> str | None:
    """The name as it was first written, `everything` or `nothing`; empty for a layer that was lost."""
    form = same_name(text)
    if form in context.layers:
        return context.layers[form].name
    if form in ("everything", "nothing"):
        return form
    return "" if form in context.lost else None


def _named(part: Text, context: Context) -> Iterable[tuple[str, tuple[Span, ...], Place]]:
    """Give the layers that a part between two commas names, the longest known name first."""
    name = _known(part.value, context)
    spans: tuple[Span, ...] = ()
    end = len(part.value)
    if name is None and (found := name_and_bars(part.value, lambda text: _known(text, context))):
        name = _known(found[1], context)
        end = len(part.value[: found.end(1)].rstrip())
        bracketed = "(" in part.value[found.end(1) :]
        start, stop = (found.end(1), len(part.value)) if bracketed else found.span(2)
        read = _span(part.part(start, stop), context) if name is not None else None
        if name is not None and read is None:
            return []
        spans = read or ()
    if name == "":
        return []
    if name is not None:
        return [(name, spans, part.place(0, end))]
    several = _without_commas(part, context) or _spans_with_and(part, context)
    if not several and context.layers:  # that there are no layers was told
        tell_unknown(part, end, context.layers, context.lost, lambda text: _known(text, context), context.problems)
    return several


def _spans_with_and(part: Text, context: Context) -> list[tuple[str, tuple[Span, ...], Place]]:
    """See `piano 1-2 and 4`: bars of one layer with no comma between them."""
    found = SPAN_AND_SPANS.fullmatch(part.value) if len(part.value) <= LONGEST_PART else None
    name = _known(found[1], context) if found else None
    if found is None or not name:
        return []
    written = part.part(found.start(2), found.end(2))
    pieces = [written.part(*each.span()) for each in re.finditer(r"\d+(?:\s*-\s*\d*)?", written.value)]
    context.problems.tell("comma-missing", written.place(), names=[each.value for each in pieces])
    spans = tuple(span for each in pieces for span in _span(each, context) or ())
    return [(name, spans, part.place(0, found.end(1)))] if spans else []


def _without_commas(part: Text, context: Context) -> list[tuple[str, tuple[Span, ...], Place]]:
    """See `piano and drums` and `piano drums`: several known names with no comma between them."""
    spans: list[tuple[int, int]] = []
    start = 0
    for found in [*_AND.finditer(part.value), None]:
        stop = found.start() if found else len(part.value)
        piece = part.part(start, stop)
        if len(piece.value) > LONGEST_PART:
            return []
        if piece.value and _known(piece.value, context) is not None:
            spans.append((start, stop))
            start = found.end() if found else stop
        elif spans and start != stop and values.spans_of(piece.value):
            spans[-1] = (spans[-1][0], stop)
            start = found.end() if found else stop
    if len(spans) < 2 or part.value[start:].strip():
        return []
    pieces = [part.part(first, last) for first, last in spans]
    names = [piece.value for piece in pieces]
    context.problems.tell("comma-missing", part.place(), names=names)
    return [each for piece in pieces for each in _named(piece, context)]


# -- entries on lines of their own -----------------------------------------------------------------


def _read_line(name: Text, value: Node, context: Context, wanted: Wanted) -> None:
    if isinstance(value, Text) and not value.value and "," in plain_signs(name.value):
        read_list(name, context, wanted)  # brackets without values: {drums 1-2, bass}
        return
    found = _named(name.saying(plain_signs(name.value)), context)
    for layer, spans, place in found:
        if isinstance(value, Text):
            more = _spans(value, context)
            if more is not None:
                _take(layer, spans + more, place, wanted, context, taking_out=False)
        elif isinstance(value, Items):
            pieces = [_spans(item, context) for item in value.items if isinstance(item, Text)]
            _take(layer, spans + sum((p for p in pieces if p), ()), place, wanted, context, taking_out=False)
        else:
            entry = _read_details(layer, spans, place, value, context)
            if layer == "everything":
                wanted.everything = entry
            elif layer != "nothing":
                wanted.add(entry, place, context.problems)


def _spans(text: Text, context: Context) -> tuple[Span, ...] | None:
    """Read the spans of an entry; none is the whole section. None (told) if something else stands there."""
    plain = text.saying(plain_signs(text.value))
    if same_name(plain.value) in ("", "yes", "all", "everything", "whole section"):
        return ()
    spans: list[Span] = []
    for part in plain.split():
        if not part.value:
            continue
        if not values.spans_of(part.value):
            context.problems.tell("span-unknown", part.place(), value=part.value)
            continue
        spans += _span(part, context) or ()
    return tuple(spans) or None


def _read_details(layer: str, spans: tuple[Span, ...], place: Place, value: Pairs, context: Context) -> Entry:
    """Read the map of one entry."""
    problems = context.problems
    entry = Entry(layer, spans, at={"layer": place})
    seen: set[str] = set()
    for key, node in value.pairs:
        word = same_word(key.value)
        if word in seen:
            problems.tell("key-twice", key.place(), key=key.value)
            continue
        seen.add(word)
        if word not in words_at("entry"):
            known = words_at("entry")
            problems.tell(
                "unknown-key",
                key.place(),
                key=key.value,
                where="entry",
                guess=nearest(word, known),
                known=known,
            )
        elif (text := values.one_text(key, node, problems)) is not None:
            entry = _with_detail(entry, word, text, context)
            entry = replace(entry, at={**entry.at, word: text.place()})
    return entry


def _with_detail(entry: Entry, word: str, text: Text, context: Context) -> Entry:
    problems = context.problems
    if word == "in bars":
        spans = _spans(text, context)
        return entry if spans is None else replace(entry, spans=entry.spans + spans)
    if word == "level":
        return replace(entry, level_db=values.level(text, problems) or 0.0)
    if word == "pan":
        return replace(entry, pan=values.pan(text, problems))
    if word == "from the top":
        return replace(entry, from_the_top=values.yes_or_no(text, problems, word) or False)
    bars = values.fade(text, problems, word) or Fraction(0)
    return replace(entry, fade_in_bars=bars) if word == "fade in" else replace(entry, fade_out_bars=bars)


# -- what it comes to ------------------------------------------------------------------------------


def resolve(wanted: Wanted, base: Iterable[Entry], context: Context) -> tuple[Entry, ...]:
    """Spell out `everything`, put new entries over those of `base`, take out what `without` names.

    Returns
    -------
    entries that sound in at least one bar, in the order of the recipe's layers
    """
    by_layer = {entry.layer: entry for entry in base}
    if wanted.everything is not None:
        by_layer |= {layer.name: replace(wanted.everything, layer=layer.name) for layer in context.layers.values()}
    by_layer |= wanted.entries
    _take_out(wanted, by_layer, context)
    if context.bars is None:
        return tuple(by_layer.values())
    for entry in base:
        if by_layer.get(entry.layer) is entry and not entry.bars(context.bars):
            context.problems.tell(
                "cut-away", context.place, layer=entry.layer, section=context.section, bars=context.bars
            )
    written = by_layer.keys() if wanted.everything is not None else wanted.entries.keys()
    # What comes from an earlier section is cut to size as `like` has it; that is nothing to tell.
    fitted = {
        name: _fitted(entry, context.bars, context.problems if name in written else Problems())
        for name, entry in by_layer.items()
    }
    order = [layer.name for layer in context.layers.values()]
    return tuple(fitted[name] for name in order if name in fitted and fitted[name].bars(context.bars))


def _take_out(wanted: Wanted, by_layer: dict[str, Entry], context: Context) -> None:
    """Take out what `without` names; tells who is not there to be taken out, and `nothing` beside something."""
    if wanted.nothing and (wanted.entries or wanted.everything) and wanted.nothing_at is not None:
        names = ["everything"] if wanted.everything else list(wanted.entries)
        context.problems.tell("nothing-and", wanted.nothing_at, names=names)
    for name, spans, place in wanted.without:
        entry = by_layer.get(name)
        if entry is None or not entry.bars(context.bars or values.SECTION_BARS[1]):
            context.problems.tell("without-absent", place, name=name, playing=list(by_layer), section=context.section)
            continue
        left = _left(entry, spans, context.bars)
        if left is None:
            del by_layer[name]
        else:
            by_layer[name] = left


def _left(entry: Entry, taken: tuple[Span, ...], section_bars: int | None) -> Entry | None:
    """Give an entry without some bars of it; None if none is left."""
    if not taken or section_bars is None:
        return None
    out = {bar for span in taken for bar in span.bars(section_bars)}
    bars = [bar for bar in entry.bars(section_bars) if bar not in out]
    open_end = not entry.spans or any(span.last is None for span in entry.spans)
    spans: list[Span] = []
    for bar in bars:
        if spans and spans[-1].last == bar - 1:
            spans[-1] = Span(spans[-1].first, bar)
        else:
            spans.append(Span(bar, bar))
    if spans and spans[-1].last == section_bars and open_end:
        spans[-1] = Span(spans[-1].first, None)
    return replace(entry, spans=tuple(spans)) if spans else None


def _fitted(entry: Entry, section_bars: int, problems: Problems) -> Entry:
    """Shorten fades that are longer than the bars in which the layer is heard."""
    heard = Fraction(len(entry.bars(section_bars)))
    for key, bars in (("fade in", entry.fade_in_bars), ("fade out", entry.fade_out_bars)):
        if bars > heard and key in entry.at:
            problems.tell("fade-too-long", entry.at[key], key=key, layer=entry.layer, bars=int(heard))
    return replace(
        entry,
        fade_in_bars=min(entry.fade_in_bars, heard),
        fade_out_bars=min(entry.fade_out_bars, heard),
    )
