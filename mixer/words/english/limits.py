"""What a brief asks for, and what is told where a song does not do it yet. It is no mistake: the song is made all the same."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from mixer.words.speech import advice, bars, sentences, series

_NUMBERS = ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"]
_LOOPS = '"mixer loops" shows all loops by role.'
_FIRST = 8


# -- what is asked -------------------------------------------------------------------------------


def figure(number: Fraction | float) -> str:
    """Give a number in figures."""
    return f"{float(number):g}"


def count(number: Fraction | float) -> str:
    """Give a small number as a word."""
    whole = int(number)
    return _NUMBERS[whole] if whole == number and 0 < whole < len(_NUMBERS) else figure(number)


def how_many(least: Fraction | None, most: Fraction | None, *, in_figures: bool = False) -> str:
    """Give `at most three`, `one or two`, `4 to 8`."""
    say = figure if in_figures else count
    if most == 0:
        return "no"
    if least and most is not None:
        if least == most:
            return say(most)
        return f"{say(least)} {'or' if most - least == 1 and not in_figures else 'to'} {say(most)}"
    if most is not None:
        return f"at most {say(most)}"
    return f"at least {say(least)}" if least else "any number of"


def asked_length(time: str, *, at_most: bool) -> str:
    """Give what is asked of the song's length."""
    return f"{'at most' if at_most else 'at least'} {time} long"


def asked_tempo(least: Fraction | None, most: Fraction | None) -> str:
    """Give what is asked of the tempo."""
    return f"{how_many(least, most, in_figures=True)} beats a minute"


def asked_keys(keys: Sequence[str]) -> str:
    """Give what is asked of the key."""
    return f"in {series((f'a {key} key' if key in ('major', 'minor') else key for key in keys), 'or')}"


def asked_times(times: Sequence[str]) -> str:
    """Give what is asked of the time signature."""
    return f"counted in {series(times, 'or')}"


def asked_layers(role: str, least: Fraction | None, most: Fraction | None) -> str:
    """Give what is asked of the layers of a role."""
    number = most if most is not None else least
    several = "" if number is not None and number <= 1 else "s"
    if role == "all":
        return f"{how_many(least, most)} layer{several} in all"
    return f"{how_many(least, most)} {loop_of(role)}{several}"


def loop_of(role: str) -> str:
    """Give `drum loop`."""
    return f"{'drum' if role == 'drums' else role} loop"


def asked_at_once(least: Fraction | None, most: Fraction | None) -> str:
    """Give what is asked of each bar."""
    number = most if most is not None else least
    return f"{how_many(least, most)} layer{'s' if number != 1 else ''} at once"


def asked_loops(names: Sequence[str]) -> str:
    """Give which loops may be heard."""
    return f"only {'these loops' if len(names) > 1 else 'this loop'}: {series(names)}"


def asked_sets(names: Sequence[str]) -> str:
    """Give from where loops may come."""
    return f"only loops from {series((_quoted(name) for name in names), 'or')}"


def asked_sections(least: Fraction | None, most: Fraction | None) -> str:
    """Give how many sections are asked for."""
    number = most if most is not None else least
    return f"{how_many(least, most)} section{'s' if number != 1 else ''}"


def asked_names(names: Sequence[str]) -> str:
    """Give which sections are asked for."""
    return f"{'sections' if len(names) > 1 else 'a section'} called {series(_quoted(name) for name in names)}"


def asked_section_bars(lengths: Sequence[tuple[Fraction | None, Fraction | None]]) -> str:
    """Give how long sections may be."""
    ranges = [how_many(least, most, in_figures=True) for least, most in lengths]
    return f"sections of {series(ranges, 'or')} {'bar' if ranges[-1] == '1' else 'bars'}"


_NOT_USED = {
    "level": "nobody is louder or softer than usual",
    "pan": "nobody is to the left or the right",
    "fade in": "nothing fades in",
    "fade out": "nothing fades out",
}
_USES = {
    "level": "a layer that is louder or softer than usual",
    "pan": "a layer to the left or the right",
    "fade in": "a fade in",
    "fade out": "a fade out",
}


def asked_uses(words: Sequence[str]) -> str:
    """Give what must be used."""
    return series(_USES[word] for word in words)


def asked_ending(ending: str) -> str:
    """Give which ending is asked for."""
    return "a last hit at the end" if ending == "last hit" else "an end at the bar line, without a last hit"


def _quoted(name: str) -> str:
    return f'"{name}"'


def spans_told(spans: Sequence[tuple[int, int]]) -> str:
    """Give `bar 4`, `bars 1 to 4 and 9`."""
    told = [str(first) if first == last else f"{first} to {last}" for first, last in spans[:_FIRST]]
    one = len(spans) == 1 and spans[0][0] == spans[0][1]
    return f"bar{'' if one else 's'} {series([*told, 'more'] if len(spans) > _FIRST else told)}"


# -- what is not so yet --------------------------------------------------------------------------


@advice
def limit_longest(asked: str, time: str, length: str, bar: int, section: str) -> tuple[str, str]:
    return (
        f"the brief asks for a song {asked}, and this one lasts {length}.",
        f'{time} is over in bar {bar} ("{section}"). Which part could be shorter, or be left out?',
    )


@advice
def limit_shortest(asked: str, length: str) -> tuple[str, str]:
    return (
        f"the brief asks for a song {asked}, and this one lasts {length}.",
        "Which part would you like to hear again, or for longer?",
    )


@advice
def limit_tempo(asked: str, tempo: str, nearest: str) -> tuple[str, str]:
    return f"the brief asks for {asked}, and this song has {tempo}.", f"The nearest is: tempo: {nearest}"


@advice
def limit_key(asked: str, own: Sequence[str], write: str) -> tuple[str, str]:
    this = f"this one is in {series(own)}" if own else "this one names no key"
    return (
        f"the brief asks for a song {asked}, and {this}.",
        f"Write, for example: key: {write}. Loops that have a key are brought there.",
    )


@advice
def limit_other_keys(asked: str, strays: Mapping[str, str]) -> tuple[str, str]:
    told = series(f'"{name}" is heard in {key}' for name, key in strays.items())
    return f"the brief asks for a song {asked}, and {told}.", "Listen: does it belong there?"


@advice
def limit_time(asked: str, own: str, write: str) -> tuple[str, str]:
    return (
        f"the brief asks for a song {asked}, and this one is counted in {own}.",
        f'Write: time: {write}. It needs loops that are counted so; "mixer loops" shows them.',
    )


_CHOOSE = {
    "drums": "Which one carries the song?",
    "bass": "Which one holds the song up?",
    "melody": "Which one would you sing?",
}


@advice
def limit_many_layers(asked: str, role: str, names: Sequence[str]) -> tuple[str, str]:
    heard = f"{count(len(names))} {'is' if len(names) == 1 else 'are'} heard: {series(names)}"
    if asked.startswith("no "):
        return (
            f"the brief asks for {asked}, and {heard}.",
            f"What is the song like without {'it' if len(names) == 1 else 'them'}?",
        )
    return f"the brief asks for {asked}, and {heard}.", _CHOOSE.get(role, "Which could the song do without?")


@advice
def limit_few_layers(asked: str, names: Sequence[str]) -> tuple[str, str]:
    if not names:
        heard = "none is heard yet"
    else:
        heard = f"{count(len(names))} {'is' if len(names) == 1 else 'are'} heard: {series(names)}"
    return f"the brief asks for {asked}, and {heard}.", f"A layer counts when it plays in a section. {_LOOPS}"


@advice
def limit_many_at_once(asked: str, spans: Sequence[tuple[int, int]], names: Sequence[str]) -> tuple[str, str]:
    return (
        f"the brief asks for {asked}, and {count(len(names))} are heard in {spans_told(spans)}.",
        f"Who of {series(names, 'or')} could wait?",
    )


@advice
def limit_few_at_once(asked: str, spans: Sequence[tuple[int, int]], names: Sequence[str]) -> tuple[str, str]:
    who = "nobody is heard" if not names else f"only {series(names)} {'is' if len(names) == 1 else 'are'} heard"
    return f"the brief asks for {asked}, and in {spans_told(spans)} {who}.", "Who could play there?"


@advice
def limit_loops(asked: str, names: Sequence[str]) -> tuple[str, str]:
    return (
        f"the brief asks for {asked}; {series(names)} {'is' if len(names) == 1 else 'are'} heard too.",
        "Choose from those that the brief names.",
    )


@advice
def limit_loops_from(asked: str, names: Sequence[str]) -> tuple[str, str]:
    return (
        f"the brief asks for {asked}, and {series(names)} {'comes' if len(names) == 1 else 'come'} from elsewhere.",
        '"mixer loops" shows which loops belong together, at the end of each line.',
    )


@advice
def limit_many_sections(asked: str, number: int) -> tuple[str, str]:
    return (
        f"the brief asks for {asked}, and this song has {count(number)}.",
        "Which could be left out, or two of them become one?",
    )


@advice
def limit_few_sections(asked: str, number: int) -> tuple[str, str]:
    return (
        f"the brief asks for {asked}, and this song has {count(number)}.",
        "What could come before, after or between?",
    )


@advice
def limit_must_have(asked: str, missing: Sequence[str], silent: Sequence[str]) -> tuple[str, str]:
    told = []
    if missing:
        told.append(f"no section's name begins with {series((_quoted(name) for name in missing), 'or')}")
    if silent:
        told.append(f"nobody plays in {series(_quoted(name) for name in silent)}")
    hint = f"Write, for example: - {missing[0]}, 4 bars: and who plays." if missing else "Who could play there?"
    return f"the brief asks for {asked}, and {series(told)}.", hint


@advice
def limit_section_bars(asked: str, sections: Sequence[tuple[str, int]], lines: Sequence[int]) -> tuple[str, str]:
    told = [f'"{name}" has {bars(length)}' for name, length in sections[:_FIRST]]
    where = f"Look at line{'s' if len(lines) > 1 else ''} {series(lines[:_FIRST])} too." if lines else ""
    return (
        f"the brief asks for {asked}, and {series([*told, 'others too'] if len(sections) > _FIRST else told)}.",
        sentences(where, "How long does the idea need?"),
    )


@advice
def limit_must_use(asked: str, words: Sequence[str]) -> tuple[str, str]:
    examples = {
        "level": "level: -4",
        "pan": "pan: left 30",
        "fade in": "fade in: 2 bars",
        "fade out": "fade out: 2 bars",
    }
    below = 'the line "loop:" of a layer' if words[0] in ("level", "pan") else "a section, a little further in"
    return (
        f"the brief asks for {asked}, and {series(_NOT_USED[word] for word in words)} yet.",
        f"Below {below}, write: {examples[words[0]]}",
    )


@advice
def limit_ending(asked: str, ending: str, nobody: bool) -> tuple[str, str]:  # noqa: FBT001 - a fact, given by name
    if nobody:
        return (
            f"the brief asks for {asked}, and nobody plays in the last bar, so there is none.",
            "Let somebody play up to the end.",
        )
    return f"the brief asks for {asked}.", f"Write at the top, on a line of its own: ending: {ending}"


# -- the whole brief -----------------------------------------------------------------------------


def brief_head(name: str, goal: str) -> str:
    """Give the line above what is told of a brief."""
    return f"Brief {_quoted(name)}: {goal}" if goal else f"Brief {_quoted(name)}"


ASKS = "It asks for a song that is, or has:"
ALL_FREE = "It sets no limits."
NOT_YET = "Not yet as the brief asks (the song is made all the same):"
FIND_OUT = "To find out:"
NO_SONG_TO_LOOK_AT = "There is no song yet to look at."
KEPT_SHORT = "brief kept"


def all_kept(name: str) -> str:
    """Say that all is kept."""
    return f"The song does all that the brief {_quoted(name)} asks for."


def not_all_kept(name: str) -> str:
    """Give the line above what is not so yet."""
    return f"Not yet as the brief {_quoted(name)} asks:"


def kept(asked: Sequence[str]) -> str:
    """Give which limits are kept."""
    return f"Kept: {'; '.join(asked)}."


def place_told(line: int | None, spans: str) -> str:
    """Give `line 12, bars 5 to 8`."""
    return ", ".join(part for part in (f"line {line}" if line else "", spans) if part)


def limit_line(where: str, message: str, hint: str) -> str:
    """Give what is not so yet as one line."""
    return sentences(f"{where}: {message}" if where else f"{message[:1].upper()}{message[1:]}", hint)


def item(question: str, answer: str) -> str:
    """Give one thing to find out, and what can be seen of it."""
    return f"- {question}{f' ({answer})' if answer else ''}"


def not_yet_short(asked: Sequence[str]) -> str:
    """Give what is not kept yet, for a table."""
    return f"not yet: {'; '.join(asked)}"


def no_such_section(name: str) -> str:
    """Say that the song has no section of a name."""
    return f"no section's name begins with {_quoted(name)}"


def energy_goes(before: str, then: tuple[int, int], after: str, now: tuple[int, int], way: int) -> str:
    """Say whether more (1), less (-1) or as much goes on in one section as in another."""
    what = {1: "more goes on", -1: "less goes on", 0: "about as much goes on"}[way]
    join = "as" if way == 0 else "than"
    return f"{what} in {_quoted(after)}, {spans_told([now])}, {join} in {_quoted(before)}, {spans_told([then])}"


def said_back(name: str, goal: str, asked: Sequence[str], find_out: Sequence[str]) -> list[str]:
    """Say a brief back, with nothing but itself to go by."""
    told = [brief_head(name, goal), *([ASKS, *(f"  {each}" for each in asked)] if asked else [ALL_FREE])]
    return [*told, *([FIND_OUT, *(f"  {item(each, '')}" for each in find_out)] if find_out else [])]


def to_look(brief: str) -> str:
    """Say how to look at a song with a brief."""
    typed = f'"{brief}"' if " " in brief else brief
    return f"To look at a song with it: mixer check SONG.yaml --brief {typed}"
