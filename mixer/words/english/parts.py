"""Sentences about layers, and who plays in a section."""

from __future__ import annotations

import re
from collections.abc import Sequence

from mixer.words.mend import (
    instead,
    spaced,
    undashed,
)
from mixer.words.speech import Mended, advice, did_you_mean, mistake, sentences, series, some

_LOOPS = '"mixer loops" shows the names of all loops.'


def _yours(what: str, names: Sequence[str]) -> str:
    if not names:
        return ""
    return f"Your {what}s are {some(names)}." if len(names) > 1 else f"Your only {what} is {names[0]}."


@mistake
def unknown_layer(name: str, layers: Sequence[str], guess: str | None, instead_of: str) -> tuple[str, str] | Mended:
    message = f'there is no layer called "{name}".'
    if instead_of:
        return message, "", instead(instead_of)
    return message, sentences(_yours("layer", layers), did_you_mean(guess))


@mistake
def layer_not(text: str, name: str) -> tuple[str, str]:
    return (
        f'"{text}" could not be read, because only those who play are named here.',
        f"Take it away. Or, if all the others play, write: everything, without {name}",
    )


@mistake
def layer_order(name: str, spans: str) -> Mended:
    return (
        f'"{name}" and its bars could not be read here.',
        "The name stands first, then its bars.",
        instead(f"{name} {spans}"),
    )


@mistake
def level_in_list(name: str, level: str) -> tuple[str, str]:
    return (
        f'"{level}" looks like a level, and a level cannot stand in this line; "{name}" was left out here.',
        f'Take "{level}" away here. A level stands below the name of its layer, on a line of its own: level: {level}',
    )


@advice
def comma_missing(names: Sequence[str]) -> Mended:
    return (
        f"there is no comma between {series(names)}; they were read one by one.",
        "",
        instead(", ".join(names)),
    )


@advice
def layer_twice(name: str) -> tuple[str, str]:
    return (
        f'"{name}" stands here twice; it is heard in the bars of both.',
        f"For several places write the name once: {name} 1-2, 5-6",
    )


@mistake
def layer_repeated(name: str, line: int) -> tuple[str, str]:
    return (
        f'there are two layers called "{name}"; the one in line {line} counts, and this one was left out.',
        f'Give this one another name, such as "more {name}".',
    )


@mistake
def two_readings(name: str, other: str, bar: int) -> tuple[str, str]:
    return (
        f'"{name}" could also mean the layer "{other}" in bar {bar}.',
        f'Give this layer a name that does not end in a number, such as "more {other}". '
        "Change it here and in the sections where it plays.",
    )


@mistake
def unknown_loop(name: str, guess: str | None) -> tuple[str, str] | Mended:
    message = f'there is no loop called "{name}", so this layer was left out.'
    if name.lower().startswith("loop:"):
        return message, "Put curly brackets round it.", instead(f"{{{name}}}")
    if re.fullmatch(r"[^,:]+,\s*[^,:]+:[^,]+", name):
        loop, _, other = name.partition(",")
        return message, "Each layer has a line of its own.", instead(f"{loop}\n  {other.strip()}")
    if "," in name:
        return message, "A layer is one loop. Give each loop a layer of its own, on a line of its own."
    if any(sign in name for sign in "/\\:"):
        hint = "A loop is written by its name alone, without the folder or page it comes from."
        return message, sentences(hint, did_you_mean(guess) or _LOOPS)
    if re.search(r"\.(wav|flac|ogg|mp3|aiff?|m4a|3gp|webm|aac)$", name, re.IGNORECASE):
        own = "A sound of your own has to be measured first: put it into the folder of this recipe, and type there: mixer measure . --write"
        return message, did_you_mean(guess) or own
    return message, did_you_mean(guess) or _LOOPS


@mistake
def layer_detail(name: str, value: str) -> tuple[str, str]:
    return (
        f'"{name}" says more about a layer, and stands here as if it were a layer of its own; it was left out.',
        f'A layer of which more is said has two lines below its name, further in: "loop: tin-roof" and "{name}: {value}".',
    )


@mistake
def loop_unusable(name: str, file: str, line: int) -> tuple[str, str]:
    return (
        f'the loop "{name}" cannot be used, so this layer was left out.',
        f"The reason is told at line {line} of {file}.",
    )


@mistake
def no_loop(name: str) -> tuple[str, str]:
    return f'the layer "{name}" has no loop, so it was left out.', f"Write the name of a loop after the colon. {_LOOPS}"


@mistake
def no_layers() -> tuple[str, str]:
    return (
        'nothing stands below "layers".',
        'Write each sound that the sections name on a line of its own, with two spaces in front, such as "  drums: tin-roof".',
    )


@mistake
def layers_list() -> tuple[str, str]:
    return (
        "a layer has a name, a colon and a loop, and that is not what stands here.",
        "Write each on a line of its own and two spaces further in: drums: tin-roof",
    )


@advice
def layers_dashes(lines: Sequence[int]) -> Mended:
    also = f"The same is true of line{'s' if len(lines) > 1 else ''} {series(lines[:8])}." if lines else ""
    return "layers need no dashes; they were left out.", also, undashed("")


@mistake
def too_many_layers(most: int) -> tuple[str, str]:
    return f"a song has at most {most} layers; those from here on were left out.", "Take some out."


@advice
def cut_away(layer: str, section: str, bars: int) -> tuple[str, str]:
    length = "1 bar" if bars == 1 else f"{bars} bars"
    return (
        f"{section} has {length} here, so {layer}, which enters later, is not heard in it.",
        f'To hear it, add "{layer} 1-{bars}" to those who play. To leave it out, add "without {layer}" at the end.',
    )


@mistake
def nothing_and(names: Sequence[str]) -> tuple[str, str]:
    return (
        f'"nothing" and {series(names)} cannot both be; "nothing" was left out.',
        'Write one of them: who plays, or "nothing" for silence.',
    )


@advice
def colon_in_entry(name: str, span: str) -> Mended:
    return f'the colon after "{name}" was left out.', "", spaced(" " if span else "")


@advice
def empty_item() -> tuple[str, str]:
    return "nothing stands after this dash.", "Write a section there, or take the dash out."


@advice
def without_absent(name: str, playing: Sequence[str], section: str) -> tuple[str, str]:
    message = f'"{name}" does not play in {section}, so it cannot be taken out.'
    if not playing:
        return message, f"Write first who plays. If all the others do: everything, without {name}"
    who = f"{section[:1].upper()}{section[1:]} plays {some(playing)}."
    return message, f'{who} Take "{name}" away here. If it should play, it must stand before "without".'


@mistake
def without_what(name: str) -> tuple[str, str]:
    return f'"without {name}" was left out.', 'For silence write "nothing".'


@mistake
def layer_as_key(name: str) -> tuple[str, str]:
    return (
        f'"{name}" is a layer, and a line about the section stands here; it was left out.',
        f"Who is heard stands after play, in one line: play: {name}",
    )


@mistake
def unknown_brief(name: str, briefs: Sequence[str], guess: str | None) -> tuple[str, str]:
    return (
        f'there is no brief called "{name}".',
        sentences(
            f"The briefs are {some(briefs)}." if briefs else "Take the line out, or ask for the brief's name.",
            did_you_mean(guess),
        ),
    )
