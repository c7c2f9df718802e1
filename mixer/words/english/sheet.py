"""What stands on a student's sheet after a listening session."""

from __future__ import annotations

SHEETS = "Sheets for students"
MEANT = "What was meant"
LOOPS_GONE = "It cannot be compared: some of its loops are not here any more."
WHY = "Because: " + "_" * 40
HEARD = "What the class heard"
MARKS = "At these bars"
REMARK = "About the whole song"
LEVELS = "Looked at together"
QUESTION = "A question"
MISSING = "Still to do"
HOW_TO_HEAR = "To hear it again"
NOTE = "People said this. The program compared the versions and asks the question; it judges nothing."
CARE = (
    "Start low, and turn up only until it is comfortable. Headphones are too loud if a neighbour hears them. "
    "If ears ring: stop, and tell an adult."
)
TABLE_HEADS = ("song", "by")


def changed(week: str) -> str:
    """Say since when something changed; the version before where no week is named."""
    return f"What changed since {week or 'the version before'}"


def at_bar(bar: int, section: str, words: str) -> str:
    """Give what was said at a bar."""
    return f"Bar {bar} ({section}): {words}" if section else f"Bar {bar}: {words}"


def to_hear(command: str) -> str:
    """Say how to hear what a question asks."""
    return f"To hear it: {command}"


def how_to_hear(file: str) -> str:
    """Say which file it is."""
    return f"The song is the file {file}."


def written(count: int, out: str, table: str, together: str) -> list[str]:
    """Say what was written and where."""
    sheets = "1 sheet" if count == 1 else f"{count} sheets"
    return [
        f"{sheets} (a page to print and a text to send, each) in {out}; to print them all at once: {together}",
        f"The levels that people chose: {table}",
    ]


def no_comments(name: str) -> str:
    """Say that a file is none of comments."""
    return f'"{name}" is no file of comments. The teacher\'s page saves one: listen, comment, then "Save to a file".'


def not_read(name: str) -> str:
    """Say that a file cannot be read."""
    return f'"{name}" cannot be read. See whether its name is spelt as it is.'
