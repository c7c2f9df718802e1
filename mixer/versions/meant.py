"""Which sections came nearer to what was meant, or went further away.

What was meant is what the maker wrote of a section, and what a brief asks about energy. Words of amount ("quiet",
"wild") can be held against what became of a section; all others are the maker's to judge, so they are asked about.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from mixer.coach.energy import Energy
from mixer.coach.found_out import find_out
from mixer.record import record
from mixer.versions.change import Both
from mixer.versions.changes import Compared
from mixer.versions.effect import Effect
from mixer.words.english import compared as words


@record
class Toward:
    """A section of which something was meant, and that became something else.

    Parameters
    ----------
    section : its name
    bars : its first and last, counted in the new version
    meant : what its maker wrote, in the new version
    fuller, busier : what became of it, as in `Effect`
    nearer : 1 for nearer, -1 for further away, 0 for nearer in one way and further in the other; None where the words
        do not speak of that
    """

    section: str
    bars: tuple[int, int]
    meant: str
    fuller: int
    busier: int
    nearer: int | None


def toward_meant(compared: Compared, did: Sequence[Effect]) -> list[Toward]:
    """Hold what became of sections against what their maker wrote."""
    sections = {
        mark.first_bar: section for mark, section in zip(compared.new.marks, compared.new.recipe.sections, strict=True)
    }
    found = []
    for effect in did:
        section = sections[effect.song_bar]
        if section.meant:
            bars = (effect.song_bar, effect.song_bar + section.bars - 1)
            nearer = _nearer(words.amounts_in(section.meant), (effect.fuller, effect.busier))
            found.append(Toward(section.name, bars, section.meant, effect.fuller, effect.busier, nearer))
    return found


def _nearer(meant: tuple[int, int], became: tuple[int, int]) -> int | None:
    ways = {want * came for want, came in zip(meant, became, strict=True) if want * came}
    return None if not ways else 0 if len(ways) > 1 else ways.pop()


def asked_otherwise(questions: Iterable[str], compared: Compared, energies: Both[Energy]) -> list[str]:
    """Tell what a brief asks to find out and what can be seen of it, where that is otherwise than before."""
    told = []
    for question in questions:
        old, new = find_out(question, compared.old, energies.old), find_out(question, compared.new, energies.new)
        if None not in (old.way, new.way) and old.way != new.way:
            told.append(words.energy_asked(question, new.answer, old.answer))
    return told
