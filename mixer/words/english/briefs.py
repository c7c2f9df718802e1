"""Sentences about briefs that could not be read as they stand."""

from __future__ import annotations

from collections.abc import Sequence

from mixer.words.mend import instead
from mixer.words.speech import Mended, advice, did_you_mean, mistake, series


@mistake
def brief_empty() -> tuple[str, str]:
    return (
        "there is no brief in this file.",
        "A brief has lines with a word, a colon and what it says, without a dash in front, such as: longest: 1:30",
    )


@mistake
def brief_is_recipe() -> tuple[str, str]:
    return (
        "this is a recipe for a song, not a brief.",
        "A brief says what is asked of a song: how long it may be, how many layers of each role. "
        'The ones in "shared/briefs" can be copied and changed.',
    )


@mistake
def brief_missing(name: str, briefs: Sequence[str], guess: str | None) -> tuple[str, str]:
    return (
        f'there is no brief called "{name}", and no file of that name.',
        did_you_mean(guess) or (f"These briefs come with the program: {series(briefs)}." if briefs else ""),
    )


@mistake
def brief_locked() -> tuple[str, str]:
    return "this brief could not be read.", "It may be no text, be too long, or be closed to you."


@mistake
def brief_unknown_key(key: str, guess: str | None, known: Sequence[str]) -> tuple[str, str]:
    return (
        f'a brief has no line called "{key}"; it was left out, and the others count.',
        did_you_mean(guess) or f"A brief can have {series(known)}.",
    )


@mistake
def brief_no_value(key: str) -> tuple[str, str]:
    return f'nothing stands after "{key}".', "Write what is asked for after the colon, or take the line out."


@mistake
def brief_duration(key: str, value: str, number: str, minutes: bool) -> tuple[str, str]:  # noqa: FBT001 - a fact, given by name
    message = f'"{value}" is not a length of time, so this limit was left out.'
    if number and not minutes:
        return message, f"Write: {key}: {number} seconds"
    if number:
        return message, f'It could be minutes or seconds. Write "{key}: {number} minutes" or "{key}: {number} seconds".'
    return message, f"It is written in minutes and seconds, for example: {key}: 1:30"


@mistake
def brief_too_long(key: str, value: str, most: int) -> tuple[str, str]:
    return (
        f"a song lasts more than nothing and at most {most} minutes; {value} does not fit, so this limit was left out.",
        f"Write, for example: {key}: 1:30",
    )


@mistake
def brief_length_ends() -> tuple[str, str]:
    return (
        '"shortest" is longer than "longest", so no song could be both; "shortest" was left out.',
        "Write a shorter time here.",
    )


_EXAMPLES = {"tempo": "80-120", "sections": "3-6", "section bars": "4-8", "questions": "1"}


@mistake
def brief_range(key: str, value: str, low: int) -> tuple[str, str]:
    example = _EXAMPLES.get(key, "2")
    more = ' "1-2" asks for at least one, and "0" for none.' if low == 0 and key not in _EXAMPLES else ""
    return (
        f'"{value}" is not a number, so this limit was left out.',
        f"Write a number, or two with a dash between them, for example: {key}: {example}.{more}",
    )


@advice
def brief_backwards(value: str, first: str, last: str) -> Mended:
    return f'"{value}" goes backwards; it was read as {first} to {last}.', "", instead(f"{first}-{last}")


@mistake
def brief_number(key: str, value: str, least: int, most: int) -> tuple[str, str]:
    return (
        f'"{key}" goes from {least} to {most}, and {value} does not, so this limit was left out.',
        f"Write a number from {least} to {most}.",
    )


@mistake
def brief_key(value: str, guess: str | None) -> tuple[str, str]:
    return (
        f'"{value}" is not a key, so it was left out.',
        did_you_mean(guess) or 'Write a key, such as A minor, or only "major" or "minor".',
    )


@mistake
def brief_time(value: str) -> tuple[str, str]:
    return f'"{value}" is not a time signature, so it was left out.', "Write, for example: time: 3/4"


@mistake
def brief_many(key: str, most: int) -> tuple[str, str]:
    return f'there are more than {most} things after "{key}"; those from here on were left out.', "Take some out."


@mistake
def brief_item(key: str) -> tuple[str, str]:
    return (
        f'what stands here below "{key}" could not be read.',
        "Write each thing on a line of its own, with a dash in front.",
    )


@mistake
def brief_layers() -> tuple[str, str]:
    return (
        'below "layers" stand roles, each with how many of its loops may be heard; what stands here was left out.',
        "Write each on a line of its own, without a dash and two spaces further in: drums: 1",
    )


@advice
def brief_loop_unknown(name: str, guess: str | None) -> tuple[str, str]:
    own = "Loops of your own are found beside the brief, or with --loops FOLDER."
    return f'there is no loop called "{name}" here, so no song can play it.', did_you_mean(guess) or own


@advice
def brief_set_unknown(name: str, guess: str | None) -> tuple[str, str]:
    own = "Loops of your own are found beside the brief, or with --loops FOLDER."
    return f'no loop here is of a set called "{name}", so no song can play one.', did_you_mean(guess) or own


@mistake
def brief_role(role: str, known: Sequence[str], guess: str | None) -> tuple[str, str] | Mended:
    message = f'"{role}" is not a role, so this limit was left out.'
    if guess:
        return message, did_you_mean(guess), instead(guess)
    return message, f'The roles are {series(known[:-1])}, and "all" for them together.'
