"""Sentences about single values: tempo, key, level, bars, spans."""

from __future__ import annotations

import re
from collections.abc import Sequence

from mixer.words.mend import Edit, instead, new_line_before
from mixer.words.problem import Place
from mixer.words.speech import Mended, advice, did_you_mean, mistake, sentences, series

_TEMPO = "It counts the beats in a minute: 70 is slow, 100 is a walk, 130 is fast."


def _joined(place: Place) -> Edit:
    """Bring `F #minor` together."""
    start, end = place.column - 1, place.column - 1 + place.width
    rest = place.text[start + 1 : end].strip()
    return Edit(len(place.text[:start].rstrip()), end, f"# {rest}")


@mistake
def tempo_number(value: str, near: str) -> tuple[str, str] | Mended:
    message = f'the tempo has to be a number, and "{value}" is none.'
    if other := re.search(r"\d[\s,;]+((?:[a-z]+ )*[a-z]+)\s*:", value, re.IGNORECASE):
        return message, f'"{other[1]}" needs a line of its own.', new_line_before(other[1])
    return message, f"{_TEMPO} Write, for example: tempo: {near or 96}"


@mistake
def tempo_range(value: str, least: int, most: int) -> tuple[str, str]:
    return (
        f"a tempo goes from {least} to {most} beats in a minute; {value} does not.",
        f"{_TEMPO} Write, for example: tempo: 96",
    )


@mistake
def key_letter(tonic: str) -> tuple[str, str]:
    return (
        f"the key {tonic} could be major or minor, so it was left out.",
        f'Write one of the two: "key: {tonic} major" or "key: {tonic} minor".',
    )


@mistake
def key_two_ways(tonic: str, value: str) -> tuple[str, str]:
    return (
        f'"{value}" could be {tonic} major or {tonic} minor, so it was left out.',
        f'Write one of the two: "key: {tonic} major" or "key: {tonic} minor".',
    )


@mistake
def key_unknown(value: str, guess: str | None) -> tuple[str, str]:
    message = f'"{value}" is not a key, so it was left out.'
    if guess:
        return message, did_you_mean(guess)
    return (
        message,
        "A key is a letter from A to G and major or minor, such as A minor, F# major or Eb major. "
        "If you do not know the key, take this line out.",
    )


@advice
def key_sharp_apart(key: str) -> Mended:
    return f'the "#" stands away from its letter; the key was read as {key}.', "", _joined


@mistake
def time_unknown(value: str, minutes: bool) -> tuple[str, str]:  # noqa: FBT001 - a fact, given by name
    message = f'"time" says how the beats are counted, such as 4/4 or 3/4; "{value}" does not, so it was left out.'
    if minutes:
        return message, "How long a song lasts follows from its bars and its tempo. Take this line out."
    count = value if re.fullmatch("[2-9]", value) else "3"
    return message, f"If you count in four, take this line out. Or write, for example: time: {count}/4"


@mistake
def level_unknown(value: str) -> tuple[str, str]:
    return (
        f'"{value}" is not a level, so the usual level was kept.',
        "A level is a number with + or - in front: level: +3 is a little louder, level: -6 is clearly softer. "
        "The letters of sheet music are read too: pp, p, mp, mf, f and ff.",
    )


@mistake
def level_range(value: str, least: int, most: int) -> tuple[str, str]:
    return (
        f"a level goes from {least} to +{most}, and {value} does not; the usual level was kept.",
        "It says how much louder or softer than usual: level: +3 is a little louder, level: -6 is clearly softer.",
    )


@mistake
def level_sign(value: str) -> tuple[str, str]:
    return (
        f"the level {value} has no + or - in front, so the usual level was kept.",
        f'For louder write "level: +{value}", for softer write "level: -{value}".',
    )


@advice
def level_space(value: str) -> Mended:
    return f"there is a space after the sign; the level was read as {value}.", "", instead(value)


@mistake
def pan_unknown(value: str) -> tuple[str, str]:
    return (
        f'a pan says left, right or centre; "{value}" does not, so it stays where it was.',
        "Write, for example: pan: left 20",
    )


@mistake
def pan_amount(side: str) -> tuple[str, str]:
    return (
        f'"{side}" does not say how far, so it stays where it was.',
        f"20 is a little, 100 is one ear alone. Write, for example: pan: {side} 20",
    )


@mistake
def pan_range(value: str) -> tuple[str, str]:
    return (
        f'a pan goes up to 100, which is one ear alone; "{value}" is more, so it stays where it was.',
        f"Write, for example: pan: {'right' if 'right' in value.lower() else 'left'} 20",
    )


@mistake
def pitch_unknown(value: str) -> tuple[str, str]:
    return (
        f'"{value}" is not a pitch, so it was left out.',
        "A pitch is a number with + or - in front. It counts the keys of a piano, black and white: "
        "+12 sounds the same, but higher. Write, for example: pitch: +12",
    )


@mistake
def pitch_range(least: int, most: int) -> tuple[str, str]:
    return (
        f"a pitch goes from {least} to +{most}; this one was left out.",
        "It counts the keys of a piano, black and white. Write, for example: pitch: +12",
    )


@mistake
def not_one_of(key: str, value: str, known: Sequence[str], guess: str | None) -> tuple[str, str]:
    more = {
        "role": "Chords are harmony, a tune is melody.",
        "speed": 'To change how fast the song is, change "tempo".',
    }.get(key, "")
    if key == "ending" and "fade" in value.lower():
        more = 'For a fade, put a line below the last section, four spaces in: "fade out: 2 bars".'
    return (
        f'"{key}" cannot be "{value}"; the line was left out.',
        sentences(f"It can be {series(known, 'or')}.", did_you_mean(guess) or more),
    )


@advice
def bars_figures(value: str, figure: int) -> Mended:
    figures = f"{figure} bars" if value.lower().endswith(("bar", "bars")) else str(figure)
    return f'"{value}" was read as {figure}.', "Bars are written in figures.", instead(figures)


@mistake
def bars_number(value: str, write: str) -> tuple[str, str] | Mended:
    message = f'"{value}" is not a number of bars, so this section was left out.'
    if write:
        letter = re.match(r"\d*[lio]\d*\b", value, re.IGNORECASE)
        return message, "A letter stands there where a figure should be." if letter else "", instead(write)
    if "second" in value.lower() or "minute" in value.lower():
        return message, "How long a section is, is counted in bars. Write, for example: 8 bars"
    return message, "Bars are whole and written in figures. Write, for example: 8 bars"


@mistake
def bars_range(value: str, least: int, most: int) -> tuple[str, str]:
    more = value.lower().strip("0 bars") != ""
    return (
        f"a section has {least} to {most} bars, and {value} is too {'many' if more else 'few'}, "
        "so this section was left out.",
        sentences(
            "Write, for example: 8 bars.",
            "For a longer stretch, write the section's name again on a line below." if more else "",
        ),
    )


@advice
def bars_word(figure: str) -> Mended:
    return f'"{figure}" was read as {figure} bars.', "", instead(f"{figure} bars")


@mistake
def fade_length(key: str, value: str) -> tuple[str, str]:
    return (
        f'a fade has to say how many bars it takes; "{value}" does not.',
        f"Write, for example: {key}: 4 bars",
    )


@advice
def fade_too_long(key: str, layer: str, bars: int) -> Mended:
    length = "1 bar" if bars == 1 else f"{bars} bars"
    return (
        f'the "{key}" is longer than {layer} is heard here, which is {length}; it was read as {length}.',
        "",
        instead(length),
    )


@mistake
def span_unknown(value: str, name: str = "") -> tuple[str, str]:
    who = f'"{name}" was left out here' if name else "it was left out"
    before = f"{name} " if name else ""
    return (
        f'"{value}" does not say in which bars, so {who}.',
        f"Bars are written so: {before}5-8, or {before}4, or {before}1-2, 5-6",
    )


@advice
def span_spelt(span: str) -> Mended:
    return f"these bars were read as {span}.", "", instead(span)


@mistake
def span_open_start(last: int) -> tuple[str, str]:
    return (
        f'"-{last}" could mean the bars up to {last}, {last} bars from the end, or a level, so it was left out.',
        f"For the bars up to {last} write: 1-{last}",
    )


@advice
def span_backwards(first: int, last: int) -> Mended:
    return (
        f"bars {first} to {last} go backwards; they were read as {last} to {first}.",
        "",
        instead(f"{last}-{first}"),
    )


@mistake
def span_alone(span: str, who: str) -> tuple[str, str]:
    return (
        f'"{span}" says in which bars, but not who plays in them; it was left out.',
        f"Put the name of a layer in front of it, such as: {who} {span}",
    )


@mistake
def span_outside(
    bars: int, section: str, first: int, last: int | None, here: int | None, there: int | None
) -> tuple[str, str]:
    length = "1 bar" if bars == 1 else f"{bars} bars"
    wrong = last if last is not None and last > bars else first
    if here is not None and there is not None:
        inner = f"{here}" if here == there else f"{here}-{there}"
        written = f"bar {first}" if last in (first, None) else f"bars {first} to {last}"
        until = f" To go to its end: {first}-{bars}." if first <= bars else ""
        hint = f"Bars are counted from the start of each section.{until} If {written} of the whole song were meant: {inner}."
    elif first < 1:
        hint = "Bars are counted from 1."
    else:
        hint = f"Bars are counted from the start of each section: 1 to {bars} here."
    return f"the section {section} has {length}, so there is no bar {wrong} in it.", hint


@advice
def text_long(key: str, most: int) -> tuple[str, str]:
    return f'"{key}" is very long; its first {most} signs were kept.', "Make it shorter."


@mistake
def name_long(most: int) -> tuple[str, str]:
    return (
        f"a name has at most {most} signs, and this one has more; it was left out.",
        "Choose a shorter name.",
    )


@mistake
def name_sign(name: str, sign: str, of: str) -> tuple[str, str]:
    what = {",": "comma", ":": "colon"}.get(sign, "quote mark")
    if of == "section" and sign == ",":
        hint = "Write only the name there; the rest has its own line, such as: bars: 8"
    else:
        hint = f"Choose a name without it, such as: {' '.join(name.replace(sign, ' ').split())}"
    return f'a name cannot have a {what} in it; "{name}" was left out.', hint


@mistake
def name_taken(name: str) -> tuple[str, str]:
    return (
        f'"{name}" cannot be a name: it means something else in a recipe.',
        'Choose another name, such as "more drums". Change it here and where it plays.',
    )


@mistake
def no_value(key: str) -> tuple[str, str]:
    examples = {
        "tempo": "tempo: 96",
        "bars": "bars: 8",
        "play": "play: everything",
        "level": "level: -3",
        "in bars": "in bars: 1-4",
    }
    example = examples.get(key.lower())
    hint = (
        f"Write, for example: {example}"
        if example
        else "Write what it should be after the colon, or take the line out."
    )
    return f'nothing stands after "{key}".', hint


@mistake
def one_value(key: str) -> tuple[str, str]:
    return (
        f'"{key}" takes one value, and a list stands here; it was left out.',
        f"Write one value after {key}:",
    )


@mistake
def gap(name: str) -> tuple[str, str]:
    return (
        f'here is a gap for you to fill: the loop of the layer "{name}".',
        'Put the name of a loop there. "mixer loops" shows them.',
    )


@mistake
def song_long(minutes: int, most: int) -> tuple[str, str]:
    return (
        f"this song lasts {minutes} minutes; a song has at most {most}.",
        "Take some sections out, or give them fewer bars.",
    )


@mistake
def missing_key(key: str) -> tuple[str, str]:
    write = {
        "tempo": "Add this line near the top: tempo: 96",
        "layers": 'Add a line "layers:". Below it write each of your sounds on a line of its own, '
        'with two spaces in front, such as "  drums: tin-roof". In the sections write those names.',
        "sections": 'Add a line "sections:". Below it write the parts of the song, each on a line of its own, '
        'such as "  - intro, 4 bars: everything".',
    }
    return f'there is no "{key}" in this recipe, and a song needs it.', write[key]


@mistake
def empty_recipe() -> tuple[str, str]:
    return (
        "there is nothing in this recipe yet.",
        'Lines that begin with "#" are only notes. "mixer new my-song" makes a first recipe to change.',
    )
