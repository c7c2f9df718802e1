"""The questions that are asked about a song: one function for each, which gives its sentences. They judge nothing."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from mixer.words.english.names import is_are, layer, layers, many, quoted, span, starting

Bars = tuple[int, int]

_NUMBERS = {2: "two", 3: "three", 4: "four", 5: "five", 6: "six", 7: "seven", 8: "eight", 9: "nine", 10: "ten"}


def _name(section: str) -> str:
    return f'"{section}"'


def _count(number: int) -> str:
    return _NUMBERS.get(number, str(number))


def meant(bars: Bars, meant: str, layers: Sequence[str], most: str) -> str:
    if len(layers) == 2:
        return f"About {span(bars)} you wrote {quoted(meant)}. {starting(*layers)} sound there. Which of the two says it more?"
    return f"About {span(bars)} you wrote {quoted(meant)}. What if {layer(most)} left the others alone there: does it say that more, or less?"


def meant_alike(first: Bars, meant: str, second: Bars, other: str) -> str:
    return f"You wrote {quoted(meant)} about {span(first)} and {quoted(other)} about {span(second)}, and the same layers sound in both. What could make a listener hear the difference?"


def hear(hear: str, bars: Bars, fullest: str, there: Bars, new: str) -> str:
    return f"You chose {_name(hear)} ({span(bars)}) to be heard first; the fullest bars are in {_name(fullest)} ({span(there)}). Would {layer(new)} make {_name(hear)} more like what you want to show?"


def about(about: str, barest: Bars, fullest: Bars) -> str:
    return f"About the whole song you wrote {quoted(about)}. Where does one hear that: where most happens ({span(fullest)}) or where least does ({span(barest)})? What if {span(barest)} had even less?"


def alike(first: str, bars: Bars, second: str, there: Bars) -> str:
    return f"{_name(first)} ({span(bars)}) and {_name(second)} ({span(there)}) have different names and the same layers in the same bars. Is one the other's echo, or should something tell them apart?"


def repeats(name: str, places: Sequence[Bars]) -> str:
    last = span(places[-1])
    often = "twice" if len(places) == 2 else f"{_count(len(places))} times"
    return f"{_name(name)} comes {often}, each time the same (the last time in {last}). Should a listener find something new the last time?"


def one_after_other(first: str, names: Sequence[str]) -> str:
    return f"Everybody is there at once. What would the beginning be like with {layer(first)} alone, and then {layers(names)} one after the other?"


def order(names: Sequence[str], second: str, last: str, bar: int) -> str:
    return f"The layers come in one by one: {layers(names)}. Does the order matter to you? What if {layer(last)} came at bar {bar}, before {layer(second)}?"


def always(name: str, last: int, there: Bars) -> str:
    return f"{starting(name)} {is_are(name)} heard in every bar from 1 to {last}. What happens if {'they rest' if many(name) else 'it rests'} in {span(there)}?"


def once(name: str, bars: Bars, there: Bars, section: str) -> str:
    return f"{starting(name)} {is_are(name)} heard in {span(bars)} and nowhere else. A surprise that stays alone, or something for {_name(section)} ({span(there)}) too?"


def long(bars: Bars, whole: bool) -> str:  # noqa: FBT001 - a fact, given by name
    if whole:
        return f"From the first bar to the last ({span(bars)}) the same layers play. Where could a listener be made to wait for one of them?"
    return f"In {span(bars)} nobody comes and nobody goes; nowhere in the song does that last longer. Is it there to rest, or does something want to happen towards its end?"


def together(bar: int, joins: Sequence[str], late: str) -> str:
    return f"At bar {bar} {_count(len(joins))} layers come in at once: {layers(joins)}. Would you notice {layer(late)} more if {'they' if many(late) else 'it'} came a little later?"


def gap(name: str, stop: int, again: int) -> str:
    return f"{starting(name)} {'stop' if many(name) else 'stops'} after bar {stop} and {'return' if many(name) else 'returns'} at bar {again}. Should the return come as it does, or be heard coming two bars before?"


def hidden(name: str, bars: Bars, count: int) -> str:
    return f"Of the {_count(count)} layers in {span(bars)}, {layer(name)} {'change' if many(name) else 'changes'} the sound least. Listen with and without: would you miss {'them' if many(name) else 'it'}?"


def companions(name: str, companions: Sequence[str], bar: int) -> str:
    return f"{starting(name)} {is_are(name)} never heard without {layers(companions)}. What if {'they were' if many(name) else 'it was'} left alone for a moment, when {'they come' if many(name) else 'it comes'} in at bar {bar}?"


def pair(first: str, second: str, role: str, bars: Bars) -> str:
    return f"{starting(first, second)} are both {role} and always play at the same time. In {span(bars)}, what does each of them do that the other does not?"


def apart(first: str, second: str, bars: Bars) -> str:
    return f"{starting(first, second)} are never heard at the same time. What would they be together in {span(bars)}?"


def silence(bars: Bars, name: str) -> str:
    return f"In {span(bars)} nobody plays. What does a listener expect there? Compare it with {layer(name)} alone."


def midway(name: str, bar: int, section: str, first: int) -> str:
    return f"{starting(name)} first {'come' if many(name) else 'comes'} in at bar {bar}, when {_name(section)} is under way. What would be lost, and what gained, if {'they were' if many(name) else 'it was'} there from bar {first}?"


def leave(bar: int, names: Sequence[str], stays: str) -> str:
    return f"At bar {bar} {layers(names)} stop at once and are not heard again. What if {layer(stays)} stayed a little longer than the others?"


def leap(bar: int, name: str, joins: Sequence[str]) -> str:
    who = f"{layers(joins)} {'come' if many(*joins) else 'comes'} in"
    waits = f"{layer(name)} {'come' if many(name) else 'comes'}" if len(joins) > 1 else "that happens"
    return f"At bar {bar} {who}, the largest step up in the song. What if a listener had to wait two bars longer until {waits}?"


def alone(name: str, other: str, bars: Bars) -> str:
    return f"In {span(bars)} {layer(name)} {is_are(name)} alone; {layer(other)} never {is_are(other)}. Which song would it be with {layer(other)} there instead?"


# -- habits, only where a style is named ---------------------------------------------------------------

_STYLES = {"verse and chorus": "songs with verse and chorus", "dance": "dance music"}


def habit_chorus(verse: Bars, chorus: Bars, name: str, comes: bool) -> str:  # noqa: FBT001 - a fact, given by name
    what = (
        f"{layer(name)} {'come' if many(name) else 'comes'} in with the chorus"
        if comes
        else f"{layer(name)} {'wait' if many(name) else 'waits'} for the chorus"
    )
    return f"In many songs with verse and chorus, more happens in the chorus. Here the chorus ({span(chorus)}) is not fuller than the verse ({span(verse)}). What changes when {what}?"


def habit_begins(bars: Bars, style: str, most: str) -> str:
    return f"Many {_STYLES[style]} begin with less than they come to. Yours begins as full as it gets ({span(bars)}). What if {layer(most)} came later?"


def habit_ends(bars: Bars, style: str) -> str:
    return f"Many {_STYLES[style]} get thinner before they end. Yours ends as full as it gets ({span(bars)}), and stops. Is the stop what you want to be remembered?"


def habit_length(name: str, bars: Bars, unit: int, style: str, over: int) -> str:
    what = "bar" if over == 1 else f"{_count(over)} bars"
    return f"In {'much' if style == 'dance' else 'many'} {_STYLES[style]}, sections are {unit} bars long or a multiple of that; {_name(name)} ({span(bars)}) has {bars[1] - bars[0] + 1}. Do the last {what} want to be heard as something extra?"


def habit_new(bars: Bars, bar: int, style: str) -> str:
    return f"In {'much' if style == 'dance' else 'many'} {_STYLES[style]}, something changes every eight bars. In {span(bars)} the same layers go on. What could happen at bar {bar}?"


def habit_breakdown(drums: Sequence[str], bars: Bars) -> str:
    return f"Much dance music has a place in the middle where {layers(drums)} {is_are(*drums)} away, and then the return. What would {span(bars)} be as that place?"


def habit_one_by_one(bar: int, names: Sequence[str], late: str) -> str:
    return f"In a round one voice enters after the other. At bar {bar} {layers(names)} enter together. What if {layer(late)} followed a little later?"


SENTENCES: dict[str, Callable[..., str]] = {
    each.__name__: each
    for each in (
        meant,
        meant_alike,
        hear,
        about,
        alike,
        repeats,
        always,
        once,
        one_after_other,
        order,
        long,
        together,
        gap,
        hidden,
        companions,
        pair,
        apart,
        silence,
        midway,
        leave,
        leap,
        alone,
        habit_chorus,
        habit_begins,
        habit_ends,
        habit_length,
        habit_new,
        habit_breakdown,
        habit_one_by_one,
    )
}
