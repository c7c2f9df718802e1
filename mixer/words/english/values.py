"""Sentences about single values: tempo, key, level, bars, spans."""

from __future__ import annotations

from collections.abc import Sequence

from mixer.words.speech import advice, did_you_mean, mistake, sentences, series


@mistake
def tempo_number(value: str) -> tuple[str, str]:
    return (
        f'the tempo has to be a number, and "{value}" is none.',
        "It counts the beats in a minute, from 40 to 240: 70 is slow, 100 is a walk, 130 is fast. Write, for example: tempo: 96",
    )


@mistake
def tempo_range(value: str, least: int, most: int) -> tuple[str, str]:
    return (
        f"a tempo goes from {least} to {most} beats in a minute; {value} does not.",
        "70 is slow, 100 is a walk, 130 is fast. Write, for example: tempo: 96",
    )


@mistake
def key_letter(tonic: str) -> tuple[str, str]:
    return (
        f"the key {tonic} could be major or minor, so it was left out.",
        f"Write: key: {tonic} major or key: {tonic} minor",
    )


@mistake
def key_two_ways(tonic: str, value: str) -> tuple[str, str]:
    return (
        f'"{value}" could be {tonic} major or {tonic} minor, so it was left out.',
        f"Write: key: {tonic} major or key: {tonic} minor",
    )


@mistake
def key_unknown(value: str) -> tuple[str, str]:
    return (
        f'"{value}" is not a key, so it was left out.',
        "A key is a letter from A to G and major or minor, such as A minor, F# major or Eb major. If you do not know the key, take this line out.",
    )


@advice
def key_sharp_apart(key: str) -> tuple[str, str]:
    return f'the "#" stands away from its letter; the key was read as {key}.', f"Write: key: {key}"


@mistake
def time_unknown(value: str, minutes: bool) -> tuple[str, str]:  # noqa: FBT001 - a fact, given by name
    how_long = "How long a song lasts follows from its bars and its tempo." if minutes else ""
    return (
        f'"time" is the time signature, such as 4/4 or 3/4; "{value}" is none, so it was left out.',
        sentences(how_long, "Take the line out if you count in four."),
    )


@mistake
def level_unknown(value: str) -> tuple[str, str]:
    return (
        f'"{value}" is not a level, so the usual level was kept.',
        "A level is a number with a sign, such as -6 or +3, or one of pp, p, mp, mf, f and ff.",
    )


@mistake
def level_range(value: str, least: int, most: int) -> tuple[str, str]:
    return (
        f"a level goes from {least} to +{most}, and {value} does not; the usual level was kept.",
        "It says how much louder or softer than usual: +3 is a little louder, -6 is clearly softer.",
    )


@mistake
def level_sign(value: str) -> tuple[str, str]:
    return (
        f"the level {value} has no + or - in front, so the usual level was kept.",
        f"For louder write +{value}, for softer write -{value}.",
    )


@advice
def level_space(value: str) -> tuple[str, str]:
    return f"there is a space after the sign; the level was read as {value}.", f"Write: level: {value}"


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
        f"Write, for example: pan: {side} 20. 100 is one ear alone.",
    )


@mistake
def pan_range(value: str) -> tuple[str, str]:
    return (
        f'a pan goes up to 100, which is one ear alone; "{value}" is more.',
        "Write, for example: pan: left 20",
    )


@mistake
def pitch_unknown(value: str) -> tuple[str, str]:
    return (
        f'"{value}" is not a pitch, so it was left out.',
        "A pitch is a number of semitones with a sign, such as +12 (an octave higher) or -5, or: as recorded",
    )


@mistake
def pitch_range(least: int, most: int) -> tuple[str, str]:
    return (
        f"a pitch goes from {least} to +{most} semitones; this one was left out.",
        "12 semitones are an octave.",
    )


@mistake
def not_one_of(key: str, value: str, known: Sequence[str], guess: str | None) -> tuple[str, str]:
    return (
        f'"{key}" cannot be "{value}"; the line was left out.',
        sentences(f"It can be {series(known, 'or')}.", did_you_mean(guess)),
    )


@advice
def bars_figures(value: str, figure: int) -> tuple[str, str]:
    return f'"{value}" was read as {figure}.', f"Write the number of bars in figures: {figure}"


@mistake
def bars_number(value: str, write: str) -> tuple[str, str]:
    return (
        f'"{value}" is not a number of bars, so this section was left out.',
        f"Write: {write}" if write else "Bars are whole and written in figures, such as 4, 8 or 16.",
    )


@mistake
def bars_range(value: str, least: int, most: int) -> tuple[str, str]:
    return (
        f"a section has {least} to {most} bars, and {value} is not; this section was left out.",
        "Most sections have 4, 8 or 16 bars. For a longer stretch, write the section's name again on a line below.",
    )


@advice
def bars_word(figure: str) -> tuple[str, str]:
    return f'"{figure}" was read as {figure} bars.', f"Write: {figure} bars"


@mistake
def fade_length(key: str, value: str) -> tuple[str, str]:
    return (
        f'a fade has to say how many bars it takes; "{value}" does not.',
        f"Write, for example: {key}: 4 bars",
    )


@advice
def fade_too_long(key: str, layer: str, bars: int) -> tuple[str, str]:
    length = "1 bar" if bars == 1 else f"{bars} bars"
    return (
        f"the fade is longer than {layer} is heard here, which is {length}; it was read as {length}.",
        f"Write: {key}: {length}",
    )


@mistake
def span_unknown(value: str) -> tuple[str, str]:
    return (
        f'"{value}" does not say in which bars, so it was left out.',
        "Bars are written so: 5-8, or 4, or 1-2, 5-6",
    )


@advice
def span_spelt(span: str) -> tuple[str, str]:
    return f"these bars were read as {span}.", f"Write: {span}"


@mistake
def span_open_start(last: int) -> tuple[str, str]:
    return (
        f'"-{last}" could mean the bars up to {last} or that many from the end, so it was left out.',
        f"For the bars up to {last} write: 1-{last}",
    )


@advice
def span_backwards(first: int, last: int) -> tuple[str, str]:
    return (
        f"bars {first} to {last} go backwards; they were read as {last} to {first}.",
        f"Write: {last}-{first}",
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
        written = f"Bar {first}" if last in (first, None) else f"Bars {first} to {last}"
        hint = f"Bars are counted from the start of each section. {written} of the song would be here: {inner}"
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
        f'"{name}" cannot be a name: it has a meaning of its own in a recipe.',
        "Choose another name, such as drums, low piano or chorus.",
    )


@mistake
def no_value(key: str) -> tuple[str, str]:
    return (
        f'nothing stands after "{key}", so it was left out.',
        "Write its value after the colon, or take the line out.",
    )


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
        "tempo": "Add a line at the edge, near the top: tempo: 96",
        "layers": 'Add a line "layers:" and below it, two spaces further in, your sounds: drums: tin-roof',
        "sections": 'Add a line "sections:" and below it the parts of the song: - intro, 4 bars: drums',
    }
    return f'there is no "{key}" in this recipe, and a song needs it.', write[key]


@mistake
def empty_recipe() -> tuple[str, str]:
    return "there is nothing in this recipe yet.", '"mixer new my-song" makes a first recipe to change.'
