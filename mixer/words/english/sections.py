"""Sentences about sections: what they are called, how long they are, and what stands before their colon."""

from __future__ import annotations

import re
from collections.abc import Sequence

from mixer.words.mend import (
    after,
    before_colon,
    dashed,
    instead,
    length_first,
    long_or_short,
    named,
    new_line,
    undashed,
)
from mixer.words.speech import Mended, advice, did_you_mean, mistake, sentences, series, some


@mistake
def too_many_sections(most: int) -> tuple[str, str]:
    return f"a song has at most {most} sections; those from here on were left out.", "Take some out."


@mistake
def sections_list() -> tuple[str, str]:
    return (
        "each section has a line of its own, and that is not what stands here.",
        'Write each on a new line, with a dash in front, how long it is and who plays: "  - intro, 4 bars: everything".',
    )


@mistake
def no_sections() -> tuple[str, str]:
    return (
        'nothing stands below "sections".',
        'Write the parts of the song there, each on a line of its own, such as "  - intro, 4 bars: everything".',
    )


@advice
def section_dash(name: str, lines: Sequence[int]) -> Mended:
    also = f"The same is true of line{'s' if len(lines) > 1 else ''} {series(lines[:8])}." if lines else ""
    what = name.split(",", maxsplit=1)[0]
    return f'there is no dash in front of the section "{what}"; it was read as if there were one.', also, dashed()


@advice
def head_comma(name: str, more: str) -> Mended:
    return (
        f'there is no comma between "{name}" and "{more}"; it was read as if there were one.',
        "",
        instead(f"{name}, {more}"),
    )


@mistake
def head_unknown(text: str, like: str, section: bool) -> tuple[str, str] | Mended:  # noqa: FBT001 - a fact, given by name
    if section:
        return (
            f'"{text}" cannot stand here: each section has a line and a dash of its own. It was left out.',
            "If it comes after this one, write it like this:",
            new_line("  - "),
        )
    if like:
        return f'"{text}" could not be read.', "To make it like another section:", instead(f"like {like}")
    return (
        f'"{text}" could not be read. Between the name and the colon stands only a length, or "like" and a name.',
        "If it is a section, give it a line of its own, with a dash in front. Who plays stands after the colon.",
    )


@advice
def extra_dash(key: str) -> Mended:
    return (
        f'a dash starts a new section, and this one has only "{key}"; it was read as a part of the section above.',
        "Only the first line of a section has a dash. Put a space there instead.",
        undashed("  "),
    )


@advice
def second_name(name: str, first: str) -> Mended:
    return (
        f'the section "{first}" has a second name, "{name}"; a new section was read from here on.',
        "A new section begins with a dash.",
        dashed(),
    )


@mistake
def section_name(text: str) -> tuple[str, str] | Mended:
    like = text.lower().startswith("like ")
    name = f"{text[5:].strip()} again" if like else "intro"
    return (
        f'this section has no name: it begins with "{text}".',
        "Write a name first, for example:",
        instead(f"{name}, {text}"),
    )


@mistake
def section_nameless() -> Mended:
    return (
        "this section has no name, so it was left out.",
        "Write a name first, for example:",
        named("chorus"),
    )


@advice
def colon_in_section(text: str) -> tuple[str, str]:
    return (
        f'"{text}" stands before the colon; it was read as one of those who play.',
        "The name and the bars stand before the colon, who plays stands after it: - verse, 8 bars: everything",
    )


@advice
def bars_place(value: str, bars: int) -> Mended:
    length = "1 bar" if bars == 1 else f"{bars} bars"
    return (
        f'"{value}" was read as {length}: here stands how long a section is.',
        "It begins where the one above it ends.",
        instead(length),
    )


@advice
def head_colon(bars: str, who: str) -> Mended:
    return (
        f'there is no colon between "{bars}" and "{who}"; it was read as if there were one.',
        "",
        instead(f", {bars}: "),
    )


@mistake
def bars_missing(name: str) -> Mended:
    return (
        f'the section "{name}" does not say how many bars it has, so it was left out.',
        "Say how long it is, for example:",
        long_or_short("bars: 8", after(", 8 bars")),
    )


@advice
def bars_after_colon(bars: str) -> Mended:
    return (
        f'"{bars}" stands after the colon; it was read as the length of the section.',
        "The length stands before the colon.",
        length_first(bars),
    )


@mistake
def plays_nobody(name: str, who: str, *, has_bars: bool) -> Mended:
    return (
        f'the section "{name}" does not say who plays, and no section of that name stands above it.',
        'Write who plays, or "nothing" for silence. For example:',
        long_or_short(f"play: {who}", before_colon(f": {who}" if has_bars else f", 8 bars: {who}")),
    )


@mistake
def unknown_section(
    name: str,
    above: Sequence[str],
    guess: str | None,
    itself: bool,  # noqa: FBT001 - a fact, given by name
) -> tuple[str, str] | Mended:
    those = (
        ""
        if not above
        else f"The sections above are {some(above)}."
        if len(above) > 1
        else f"The section above is {above[0]}."
    )
    only = "Only a section that stands above can be named here."
    if itself:
        return f'"{name}" cannot be like itself: there is no section of that name above this line.', sentences(
            those, f'{only} Or take "like {name}" away.'
        )
    message = f'there is no section called "{name}" above this line.'
    times = re.fullmatch(r"(.*\S)\s*(?:[x*×]\s*([2-4])|([2-4])\s*[x*×]|twice)", name, re.IGNORECASE)
    if times and times[1] in above:
        again = int(times[2] or times[3] or 2)
        return message, "To hear it again, write it again.", instead("\n  - ".join([times[1]] * again))
    if not above:
        return message, sentences(only, f'Take "like {name}" away and write who plays.')
    return message, sentences(those, did_you_mean(guess) or only)


@advice
def continue_first() -> tuple[str, str]:
    return "no section stands before this one, so nothing can go on here.", 'Take the line with "continue" out.'


@mistake
def hear_unknown(name: str, sections: Sequence[str], guess: str | None) -> tuple[str, str]:
    return (
        f'there is no section called "{name}" to hear first.',
        sentences(f"Your sections are {some(sections)}." if sections else "", did_you_mean(guess)),
    )
