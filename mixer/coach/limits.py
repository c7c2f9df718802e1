"""A brief's limits held against the song as it was laid out: its length, tempo, key, sections and ending.

The plan is looked at and not the text, so that no spelling can dodge a limit. `mixer.coach.heard` looks at the layers.
"""

from __future__ import annotations

from mixer.coach.asked import KEPT, Asked, Outcome, bars_of, heard_parts, spans_of
from mixer.music.keys import Key
from mixer.song.plan import Part
from mixer.text.names import same_name
from mixer.words.english.limits import figure
from mixer.words.english.told import minutes

# Modes by their third (common practice, no source).
_OF_MODE = {
    "major": ("major", "ionian", "lydian", "mixolydian"),
    "minor": ("minor", "aeolian", "dorian", "phrygian"),
}
_SAME_MODE = {"ionian": "major", "aeolian": "minor"}
_TONICS = ("C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")


def longest(asked: Asked) -> Outcome:
    """Whether the song is short enough, in whole seconds as its length is told."""
    plan, most = asked.plan, asked.brief.longest_seconds
    if most is None or round(plan.seconds) <= most:
        return KEPT
    bar = min(int(most / plan.frame.bar_seconds) + 1, plan.recipe.bars)
    number = asked.section_at(bar)
    facts = {"time": minutes(float(most)), "length": minutes(plan.seconds), "bar": bar}
    place = asked.at_section(number)
    return asked.told("limit-longest", place, **facts, section=plan.marks[number].name), ((bar, plan.recipe.bars),)


def shortest(asked: Asked) -> Outcome:
    """Whether the song is long enough, in whole seconds as its length is told."""
    seconds, least = asked.plan.seconds, asked.brief.shortest_seconds
    if least is None or round(seconds) >= least:
        return KEPT
    return asked.told("limit-shortest", asked.at_section(-1), length=minutes(seconds)), ()


def tempo(asked: Asked) -> Outcome:
    """Whether the song has the tempo."""
    limit, own = asked.brief.tempo_bpm, asked.plan.frame.tempo_bpm
    if limit is None or own in limit:
        return KEPT
    nearest = limit.least if limit.least is not None and own < limit.least else limit.most
    return asked.told("limit-tempo", asked.at("tempo"), tempo=figure(own), nearest=figure(nearest or own)), ()


def key(asked: Asked) -> Outcome:
    """Whether the song is in the key, and all layers that have one with it."""
    frame, wanted = asked.plan.frame, asked.brief.keys
    sounding = {part.layer.name: key for part in heard_parts(asked.plan) if (key := _sounding_key(part)) is not None}
    own = [frame.key] if frame.key is not None else list(dict.fromkeys(sounding.values()))
    if not own or not all(_is_allowed(each, wanted) for each in own):
        facts = {"own": [str(each) for each in own], "write": _to_write(wanted[0], own)}
        return asked.told("limit-key", asked.at("key"), **facts), ()
    scales = {each.scale_root for each in own}
    strays = {name: str(each) for name, each in sounding.items() if each.scale_root not in scales}
    first = next((part for part in asked.plan.parts if part.layer.name in strays), None)
    if first is None:
        return KEPT
    return asked.told("limit-other-keys", asked.at_layer(first, "pitch"), strays=strays), spans_of(bars_of(first))


def _sounding_key(part: Part) -> Key | None:
    """Give the key in which a layer is heard."""
    own = part.fit.card.key
    if own is None or part.fit.semitones % 12 == 0:
        return own
    return Key(_TONICS[(own.tonic_semitones + part.fit.semitones) % 12], own.mode)


def _is_allowed(own: Key, allowed: tuple[Key | str, ...]) -> bool:
    return any(own.mode in _OF_MODE[each] if isinstance(each, str) else _same(own, each) for each in allowed)


def _same(one: Key, other: Key) -> bool:
    modes = [_SAME_MODE.get(each.mode, each.mode) for each in (one, other)]
    return one.tonic_semitones == other.tonic_semitones and modes[0] == modes[1]


def _to_write(wanted: Key | str, own: list[Key]) -> str:
    if isinstance(wanted, Key):
        return str(wanted)
    return f"{own[0].tonic if own else 'D'} {wanted}"


def time(asked: Asked) -> Outcome:
    """Whether the song is counted so."""
    own, wanted = asked.plan.frame.meter, asked.brief.meters
    if own in wanted:
        return KEPT
    return asked.told("limit-time", asked.at("time"), own=str(own), write=str(wanted[0])), ()


def sections(asked: Asked) -> Outcome:
    """Whether there are so many sections."""
    plan, limit = asked.plan, asked.brief.sections
    number = len(plan.marks)
    if limit is None or number in limit:
        return KEPT
    if limit.is_over(number):
        first = int(limit.most or 0)
        bars = ((plan.marks[first].first_bar, plan.recipe.bars),)
        return asked.told("limit-many-sections", asked.at_section(first), number=number), bars
    return asked.told("limit-few-sections", asked.at_section(-1), number=number), ()


def must_have(asked: Asked) -> Outcome:
    """Whether the sections are there, and somebody plays in each."""
    sounding = bars_of(*asked.plan.parts)
    missing: list[str] = []
    silent: dict[str, int] = {}
    for wanted in asked.brief.must_have:
        form = same_name(wanted)
        numbers = [n for n, mark in enumerate(asked.plan.marks) if same_name(mark.name).startswith(form)]
        spans = [asked.bars_of_section(number) for number in numbers]
        if not numbers:
            missing.append(wanted)
        elif all(sounding.isdisjoint(range(first, last + 1)) for first, last in spans):
            silent[wanted] = numbers[0]
    if not missing and not silent:
        return KEPT
    place = asked.at("sections") if missing else asked.at_section(next(iter(silent.values())))
    bars = tuple(asked.bars_of_section(number) for number in silent.values())
    return asked.told("limit-must-have", place, missing=missing, silent=list(silent)), bars


def section_bars(asked: Asked) -> Outcome:
    """Whether each section has one of the lengths."""
    lengths = asked.brief.section_bars
    other = [n for n, mark in enumerate(asked.plan.marks) if not any(mark.bars in limit for limit in lengths)]
    if not other:
        return KEPT
    marks = [asked.plan.marks[number] for number in other]
    told = list(dict.fromkeys((mark.name, mark.bars) for mark in marks))
    lines = list(dict.fromkeys(asked.at_section(number).line for number in other[1:]))
    bars = tuple(asked.bars_of_section(number) for number in other)
    return asked.told("limit-section-bars", asked.at_section(other[0]), sections=told, lines=lines), bars


def ending(asked: Asked) -> Outcome:
    """Whether the song ends so. A last hit needs somebody who plays in the last bar."""
    recipe, wanted = asked.plan.recipe, asked.brief.ending
    same = recipe.ending == wanted
    nobody = recipe.bars not in bars_of(*asked.plan.parts)
    if same and not (nobody and wanted == "last hit"):
        return KEPT
    place = asked.at_section(-1) if same else asked.at("ending")
    return asked.told("limit-ending", place, ending=wanted, nobody=same), ((recipe.bars, recipe.bars),)
