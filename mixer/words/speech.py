"""How sentences are made and kept: the table of all kinds of problems, and small words for lists.

A kind is advice when all was read and the writer may look again; it is a mistake when something had to be
left out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from mixer.record import record
from mixer.words.mend import Mend

# What is wrong, what would be right, and how the line would be mended where that is certain.
Mended = tuple[str, str, Mend]
Told = tuple[str, str] | Mended
Words = Callable[..., Told]
# So many names of a list are said.
FIRST = 12


@record
class Sentence:
    """The words of one kind of problem: a function from its facts to message, hint and mend."""

    words: Words
    advice: bool


SENTENCES: dict[str, Sentence] = {}


def mistake(words: Words) -> Words:
    """Enter a kind of problem because of which something is left out; its name is the function's."""
    SENTENCES[words.__name__.replace("_", "-")] = Sentence(words, advice=False)
    return words


def advice(words: Words) -> Words:
    """Enter a kind of problem in spite of which all was read; its name is the function's."""
    SENTENCES[words.__name__.replace("_", "-")] = Sentence(words, advice=True)
    return words


def series(names: Iterable[object], last: str = "and") -> str:
    """Give `drums, bass and piano`."""
    texts = [str(name) for name in names]
    if len(texts) < 2:
        return "".join(texts)
    return f"{', '.join(texts[:-1])} {last} {texts[-1]}"


def some(names: Sequence[str]) -> str:
    """Give the same, of a long list the first."""
    return f"{', '.join(names[:FIRST])} and others" if len(names) > FIRST else series(names)


def bars(count: int) -> str:
    """Give `1 bar` or `4 bars`."""
    return "1 bar" if count == 1 else f"{count} bars"


def did_you_mean(guess: str | None) -> str:
    """Ask for a name that is close; nothing if none is."""
    return f'Did you mean "{guess}"?' if guess else ""


def sentences(*parts: str) -> str:
    """Join sentences, leaving out empty ones."""
    return " ".join(part for part in parts if part)
