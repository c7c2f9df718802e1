"""What is said of a song's sections and what is asked about it; and of changes that are tried."""

from __future__ import annotations

from collections.abc import Sequence

from mixer.words.speech import did_you_mean, mistake, sentences, series

# -- trying a change ---------------------------------------------------------------------------------


@mistake
def try_form(names: Sequence[str], typed: str, colon: bool) -> tuple[str, str]:  # noqa: FBT001 - a fact, given by name
    name = names[0] if names else "verse"
    example = f'"{name}: without drums 1-2"'
    if colon:
        return "there is nothing after the colon.", f"After it stands what would change, for example {example}."
    change = typed if typed and len(typed) < 60 else "without drums 1-2"
    return (
        "it does not say which section is meant.",
        f'The section stands first, then a colon: "{name}: {change}". Your sections are {series(names)}.',
    )


@mistake
def try_section(name: str, names: Sequence[str], guess: str | None) -> tuple[str, str]:
    return (
        f'there is no section called "{name.strip()}".',
        sentences(f"Your sections are {series(names)}.", did_you_mean(guess)),
    )


@mistake
def try_same(section: str, first: int, last: int) -> tuple[str, str]:
    return (
        f"that changes nothing in {section} (bars {first} to {last}), so there is nothing to compare.",
        "Take something out that plays there, or let something in that does not.",
    )


def tried(song: str, first: int, last: int, change: str) -> list[str]:
    """Say what is to be heard in a try."""
    return [
        f"{song}: bars {first} to {last} as they are, a second of silence, then the same bars with {change}",
        "Both are equally loud. Nothing in your recipe was changed. Which do you keep, and why?",
    ]


TRIED_SILENT = "One of the two is silent."
