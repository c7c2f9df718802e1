"""A problem's words: one sentence that says what is wrong, one or two that say what would be right, the line mended.

The sentences stand in `mixer.words.english`, one function for each kind of problem. Another language is
another package with the same functions.
"""

from __future__ import annotations

from collections.abc import Iterable

from mixer.record import record
from mixer.words.columns import columns
from mixer.words.mend import Edit, mended
from mixer.words.problem import Place, Problem
from mixer.words.speech import SENTENCES, sentences


@record
class Said:
    """A problem in words.

    Parameters
    ----------
    message : what is wrong
    told : what would be right; may be empty
    advice : whether all was read; otherwise something had to be left out
    edit : how the writer's own line would be mended, if that is certain
    mended : the line (or lines) so mended; empty if it is not certain
    """

    message: str
    told: str
    advice: bool
    edit: Edit | None = None
    mended: str = ""

    @property
    def hint(self) -> str:
        """What would be right, with the mended line in the same text."""
        write = "" if self.told.endswith(":") else "Write:"
        return sentences(self.told, write, self.mended.strip()) if self.mended else self.told


def say(problem: Problem) -> Said:
    """Put a problem into words."""
    import mixer.words.english.sentences  # noqa: F401, PLC0415 - fills the table; loaded only when there is something to say

    sentence = SENTENCES[problem.kind]
    message, told, *mend = sentence.words(**problem.facts)
    edit = mend[0](problem.place) if mend and problem.place.text.strip() else None
    return Said(message, told, sentence.advice, edit, mended(problem.place.text, [edit]) if edit else "")


def is_mistake(problem: Problem) -> bool:
    """Whether something had to be left out because of it."""
    return not say(problem).advice


def in_full(problem: Problem) -> str:
    """Give a problem as the terminal shows it: where, what is wrong, the line with a mark, what to do."""
    return all_in_full([problem])


def all_in_full(problems: Iterable[Problem]) -> str:
    """Give several problems, one below the other; a line with several is shown mended once, below the last."""
    told = [(problem, say(problem)) for problem in problems]
    last = {(problem.place.file, problem.place.line): problem for problem, said in told if said.edit}
    edits: dict[tuple[str, int], list[Edit]] = {}
    for problem, said in told:
        if said.edit:
            edits.setdefault((problem.place.file, problem.place.line), []).append(said.edit)
    blocks = []
    for problem, said in told:
        at = (problem.place.file, problem.place.line)
        blocks.append(_block(problem.place, said, edits[at] if last.get(at) is problem else []))
    return "\n\n".join(blocks)


def _block(place: Place, said: Said, edits: list[Edit]) -> str:
    where = f"{printable(place.file)}, line {place.line}: " if place.text else f"{printable(place.file)}: "
    lines = [f"{where}{printable(said.message)}"]
    if place.text.strip():
        lines += ["", *_marked(place)]
    told = said.told
    if said.edit and not edits and told.endswith(":"):  # the line that it leads up to is shown below the last problem
        told = "".join(told.rpartition(". ")[:2]).rstrip()
    if told:
        lines.append(printable(told))
    if edits:
        lead = [] if said.told.endswith(":") else ["Write it like this:"]
        lines += [*lead, *_numbered(place.line, mended(place.text, edits))]
    return "\n".join(lines)


def _numbered(number: int, text: str) -> list[str]:
    """Give a line as `_marked` does; lines that are to be new have no number."""
    first, *more = printable(text).split("\n")
    return [f"{number:5} | {first}", *(f"{'':5} | {line}" for line in more)]


def _marked(place: Place) -> list[str]:
    shown = printable(place.text.rstrip(), tabs="⇥")
    before = columns(shown[: place.column - 1])
    width = max(1, columns(shown[place.column - 1 : place.column - 1 + place.width]))
    return [f"{place.line:5} | {shown}", " " * (8 + before) + "^" * width]


def printable(text: str, *, tabs: str = " ") -> str:
    """Give a text without signs that could steer a terminal; sign for sign."""
    return "".join(
        sign
        if sign.isprintable() or sign in "\n\u200c\u200d"
        else tabs
        if sign == "\t"
        else "\N{REPLACEMENT CHARACTER}"
        if not sign.isspace()
        else " "
        for sign in text
    )
