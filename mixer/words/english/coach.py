"""What is said of a song's sections and what is asked about it; and of changes that are tried."""

from __future__ import annotations

from collections.abc import Sequence

from mixer.words.english.names import is_are, layers, many, quoted, span, start, starting
from mixer.words.speech import did_you_mean, mistake, sentences, series

# -- trying a change ---------------------------------------------------------------------------------


@mistake
def try_form(names: Sequence[str], typed: str, colon: bool) -> tuple[str, str]:  # noqa: FBT001 - a fact, given by name
    name = names[0] if names else "verse"
    example = f'"{name}: without drums 1-2"'
    if colon:
        return "there is nothing after the colon.", f"After it stands what would change, for example {example}."
    change = typed if typed and len(typed) < 60 else "without drums 1-2"
    named = next(
        (name for name in sorted(names, key=len, reverse=True) if typed.casefold().startswith(f"{name} ".casefold())),
        None,
    )
    if named and not typed[len(named) :].strip()[0].isdecimal():  # not "chorus 2 without drums"
        return (
            f'there is no colon after "{typed[: len(named)]}".',
            f'Write it so: "{named}: {typed[len(named) :].strip()}".',
        )
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


# -- what sections do --------------------------------------------------------------------------------

_SIZES = ("", "a little ", "", "much ")
SECTIONS = "What the sections do"
STANDS_OUT = "What stands out"
QUESTIONS = "Questions (only you know the answers)"
NO_QUESTIONS = "No questions this time."


def numbered(number: int, text: str) -> str:
    """Give a question in a list."""
    return f"{number}. {text}"


def to_try(recipe: str, change: str) -> str:
    """Say how a question is tried."""
    typed = f'"{recipe}"' if " " in recipe else recipe
    return f'mixer try {typed} "{change}"'


def section_head(name: str, first_bar: int) -> str:
    """Name a section with its place."""
    return f"{name}, from bar {first_bar}"


def section_meant(meant: str) -> str:
    """Set what its maker wrote beside a section."""
    return f"You wrote: {quoted(meant)}"


def section_same(name: str, bars: tuple[int, int]) -> str:
    """Say that a section comes again."""
    return f"The same as {name} in {span(bars)}."


def section_first(names: Sequence[str], later: Sequence[tuple[str, int]]) -> str:
    """Say who begins the song."""
    if not names and not later:
        return "Silence."
    if not names:
        return f"It begins with silence; {_at_bars(later)}."
    return f"The song begins with {layers(names)}{'; ' + _at_bars(later) if later else ''}."


def section_joins(at_once: Sequence[str], later: Sequence[tuple[str, int]]) -> str:
    """Say who joins, at once and later."""
    if at_once and later:
        return f"Coming in: {layers(at_once)}; {_at_bars(later)}."
    return f"Coming in: {layers(at_once) if at_once else _at_bars(later)}."


def _at_bars(later: Sequence[tuple[str, int]]) -> str:
    by_bar: dict[int, list[str]] = {}
    for name, bar in later:
        by_bar.setdefault(bar, []).append(name)
    last = "and" if all(len(names) == 1 for names in by_bar.values()) else "and,"
    return series((f"from bar {bar} {layers(names)}" for bar, names in by_bar.items()), last)


def section_leaves(names: Sequence[str]) -> str:
    """Say who is not heard any more."""
    return f"Going out: {layers(names)}."


def section_silent() -> str:
    """Say that nobody plays."""
    return "Nobody plays."


def section_differs(before: str, fuller: int, brighter: int, busier: int) -> str:
    """Say how it sounds beside the section before."""
    told = [
        f"{_SIZES[abs(size)]}{more if size > 0 else less}"
        for size, more, less in (
            (fuller, "fuller", "less full"),
            (busier, "busier", "less busy"),
            (brighter, "brighter", "darker"),
        )
        if size
    ]
    if not told:
        return f"About as full, busy and bright as {before}."
    return f"{start(series(told))} than {before}."


def section_inside(size: int) -> str:
    """Say how a section moves within itself."""
    return f"Its second half is {_SIZES[abs(size)]}{'fuller' if size > 0 else 'less full'} than its first."


# -- what stands out ---------------------------------------------------------------------------------


def fullest(bars: tuple[int, int], section: str, names: Sequence[str]) -> str:
    """Say where most happens."""
    return f"The song is fullest in {span(bars)} ({section}), with {layers(names)}."


def largest(bar: int, joins: Sequence[str], leaves: Sequence[str], returns: tuple[str, int] | None) -> str:
    """Say where the song changes most."""
    if returns is not None:
        name, again = returns
        others = [each for each in leaves if each != name]
        also = f" ({layers(others)} {'stop' if many(*others) else 'stops'} there too)" if others else ""
        verbs = ("stop", "return") if many(name) else ("stops", "returns")
        return f"{starting(name)} {verbs[0]} at bar {bar} and {verbs[1]} at bar {again}{also}: the largest change in the song."
    told = [
        *([f"{layers(joins)} {'come' if many(*joins) else 'comes'} in"] if joins else []),
        *([f"{layers(leaves)} {'stop' if many(*leaves) else 'stops'}"] if leaves else []),
    ]
    return f"At bar {bar} {' and '.join(told)}: the largest change in the song."


def silent(bars: tuple[int, int]) -> str:
    """Say where nobody plays."""
    return f"Nobody plays in {span(bars)}."


def always(names: Sequence[str]) -> str:
    """Say who is heard all the time."""
    return f"{starting(*names)} {is_are(*names)} heard in every bar."


STEADY = "The song stays about as full from its first bar to its last."
NOTHING = "Nothing is heard."
