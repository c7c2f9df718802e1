"""Sentences about layers, sections and who plays in them."""

from __future__ import annotations

from collections.abc import Sequence

from mixer.words.speech import advice, did_you_mean, mistake, sentences, series

_FIRST = 12


def _some(names: Sequence[str]) -> str:
    if len(names) > _FIRST:
        return f"{', '.join(names[:_FIRST])} and others"
    return series(names)


def _yours(what: str, names: Sequence[str]) -> str:
    if not names:
        return ""
    return f"Your {what}s are {_some(names)}." if len(names) > 1 else f"Your only {what} is {names[0]}."


@mistake
def unknown_layer(name: str, layers: Sequence[str], guess: str | None, instead: str = "") -> tuple[str, str]:
    hint = f"Write: {instead}" if instead else sentences(_yours("layer", layers), did_you_mean(guess))
    return f'there is no layer called "{name}".', hint


@advice
def comma_missing(names: Sequence[str]) -> tuple[str, str]:
    return (
        f"there is no comma between {series(names)}; they were read one by one.",
        f"Write: {', '.join(names)}",
    )


@advice
def layer_twice(name: str) -> tuple[str, str]:
    return (
        f'"{name}" stands here twice; it is heard in the bars of both.',
        f"For several places write them after one name: {name} 1-2, 5-6",
    )


@mistake
def layer_repeated(name: str, line: int) -> tuple[str, str]:
    return (
        f'there are two layers called "{name}"; the one in line {line} counts.',
        f'Give this one another name, such as "more {name}".',
    )


@mistake
def two_readings(name: str, other: str, bar: int) -> tuple[str, str]:
    return (
        f'"{name}" could also mean the layer "{other}" in bar {bar}.',
        f'Give this layer a name that does not end in a number, such as "more {other}", here and where it plays.',
    )


@mistake
def unknown_loop(name: str, guess: str | None) -> tuple[str, str]:
    if name.lower().startswith("loop:"):
        hint = f"Put curly brackets round it: {{{name}}}"
    elif ":" in name and "," in name:
        hint = "Put each layer on a line of its own."
    elif guess is None and any(sign in name for sign in "/\\:"):
        hint = 'A loop is written by its name alone, such as tin-roof. "mixer loops" shows the names of all loops.'
    else:
        hint = did_you_mean(guess) or '"mixer loops" shows the names of all loops.'
    return f'there is no loop called "{name}", so this layer was left out.', hint


@mistake
def no_loop(name: str) -> tuple[str, str]:
    return f'the layer "{name}" has no loop, so it was left out.', f"Write: {name}: and the name of a loop."


@mistake
def no_layers() -> tuple[str, str]:
    return (
        'nothing stands below "layers".',
        "Put your sounds there, each on a line of its own and two spaces further in: drums: tin-roof",
    )


@mistake
def layers_list() -> tuple[str, str]:
    return (
        "a layer has a name, a colon and a loop, and that is not what stands here.",
        "Write each on a line of its own and two spaces further in: drums: tin-roof",
    )


@advice
def layers_dashes(lines: Sequence[int]) -> tuple[str, str]:
    also = f"The same is true of line{'s' if len(lines) > 1 else ''} {series(lines[:8])}." if lines else ""
    return "layers need no dashes; they were left out.", sentences(also, "Write each without a dash: drums: tin-roof")


@mistake
def too_many_layers(most: int) -> tuple[str, str]:
    return f"a song has at most {most} layers; those from here on were left out.", "Take some out."


@mistake
def too_many_sections(most: int) -> tuple[str, str]:
    return f"a song has at most {most} sections; those from here on were left out.", "Take some out."


@mistake
def no_sections() -> tuple[str, str]:
    return (
        'nothing stands below "sections".',
        "Put the parts of the song there, from start to end: - intro, 4 bars: drums",
    )


@advice
def section_dash(name: str, lines: Sequence[int]) -> tuple[str, str]:
    also = f"The same is true of line{'s' if len(lines) > 1 else ''} {series(lines[:8])}." if lines else ""
    return (
        "there is no dash in front of this section; it was read as if there were one.",
        sentences(also, f"Write: - {name}:"),
    )


@advice
def head_comma(name: str, more: str) -> tuple[str, str]:
    return (
        f'there is no comma between "{name}" and "{more}"; it was read as if there were one.',
        f"Write: - {name}, {more}:",
    )


@mistake
def head_unknown(text: str, like: str) -> tuple[str, str]:
    return (
        f'"{text}" stands before the colon of this section, and it is neither a length nor "like" and a name.',
        f"To make it like another section write: like {like}"
        if like
        else "Each section has a line of its own, written so: - verse, 8 bars: piano, drums",
    )


@advice
def cut_away(layer: str, section: str, bars: int) -> tuple[str, str]:
    length = "1 bar" if bars == 1 else f"{bars} bars"
    return (
        f"{section} has {length} here, so {layer}, which enters later, is not heard in it.",
        f"If it should be heard, say here in which bars: {layer} 1-{bars}",
    )


@mistake
def nothing_and(names: Sequence[str]) -> tuple[str, str]:
    return (
        f'"nothing" and {series(names)} cannot both be; "nothing" was left out.',
        'Write one of them: who plays, or "nothing" for silence.',
    )


@advice
def colon_in_entry(name: str, span: str) -> tuple[str, str]:
    return f'the colon after "{name}" was left out.', f"Within a line write: {name} {span}".rstrip()


@advice
def extra_dash(key: str) -> tuple[str, str]:
    return (
        f'a dash starts a new section, and this one has only "{key}"; it was read as a part of the section above.',
        "Only the first line of a section has a dash. Put two spaces there instead.",
    )


@advice
def second_name(name: str, first: str) -> tuple[str, str]:
    return (
        f'the section "{first}" has a second name, "{name}"; a new section was read from here on.',
        f"Put a dash in front: - name: {name}",
    )


@mistake
def section_name(text: str) -> tuple[str, str]:
    return (
        f'this section has no name: it begins with "{text}".',
        f"Write its name first: - verse, {text}:",
    )


@mistake
def section_nameless() -> tuple[str, str]:
    return "this section has no name, so it was left out.", "Write its name first: - verse, 8 bars: drums"


@advice
def empty_item() -> tuple[str, str]:
    return "nothing stands after this dash.", "Write a section there, or take the dash out."


@advice
def colon_in_section(text: str) -> tuple[str, str]:
    return (
        f'"{text}" stands before the colon; it was read as one of those who play.',
        "A section has its name and its bars before the colon, and who plays after it: - verse, 8 bars: piano, drums",
    )


@mistake
def bars_missing(name: str, who: str) -> tuple[str, str]:
    return (
        f'the section "{name}" does not say how many bars it has, so it was left out.',
        f"Say how long it is, for example so: - {name}, 8 bars: {who} (or, where it has lines of its own: bars: 8)",
    )


@mistake
def plays_nobody(name: str, who: str) -> tuple[str, str]:
    return (
        f'the section "{name}" does not say who plays, and no section of that name stands above it.',
        f'For silence write "nothing". For a sound write, for example: - {name}, 8 bars: {who}',
    )


@mistake
def unknown_section(
    name: str,
    above: Sequence[str],
    guess: str | None,
    itself: bool,  # noqa: FBT001 - a fact, given by name
) -> tuple[str, str]:
    those = (
        ""
        if not above
        else f"The sections above are {_some(above)}."
        if len(above) > 1
        else f"The section above is {above[0]}."
    )
    if itself:
        itself_hint = sentences(those, "Only a section that stands above can be named.")
        return f'"{name}" cannot be like itself: there is no section of that name above this line.', itself_hint
    hint = sentences(those, did_you_mean(guess)) or "Only a section that stands above can be named."
    return f'there is no section called "{name}" above this line.', hint


@advice
def without_absent(name: str, playing: Sequence[str], section: str) -> tuple[str, str]:
    who = f"{section} plays {_some(playing)}." if playing else ""
    return (
        f'"{name}" does not play in {section}, so it cannot be taken out.',
        sentences(who[:1].upper() + who[1:], f'Take "without {name}" away.'),
    )


@mistake
def without_what(name: str) -> tuple[str, str]:
    return f'"without {name}" was left out.', 'For silence write "nothing".'


@mistake
def layer_as_key(name: str) -> tuple[str, str]:
    return (
        f'"{name}" is a layer, and a line about the section stands here; it was left out.',
        f"Who is heard stands after play: play: {name}",
    )


@advice
def continue_first() -> tuple[str, str]:
    return "there is no section before this one that could go on.", 'Take out "continue".'


@mistake
def unknown_brief(name: str, briefs: Sequence[str], guess: str | None) -> tuple[str, str]:
    return (
        f'there is no brief called "{name}".',
        sentences(
            _yours("brief", briefs) if briefs else "Take the line out, or ask for the brief's name.",
            did_you_mean(guess),
        ),
    )


@mistake
def hear_unknown(name: str, sections: Sequence[str], guess: str | None) -> tuple[str, str]:
    return (
        f'there is no section called "{name}" to hear first.',
        sentences(f"Your sections are {_some(sections)}." if sections else "", did_you_mean(guess)),
    )
