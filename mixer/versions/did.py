"""What the changes did, to the sections and beside what was meant, in one place for all who tell it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from mixer.coach.energy import Known, energy
from mixer.material.fit import Material
from mixer.record import record
from mixer.versions.change import Both
from mixer.versions.changes import Compared
from mixer.versions.effect import Effect, effects
from mixer.versions.meant import Toward, asked_otherwise, toward_meant
from mixer.words.english import compared as words


@record
class Did:
    """What the changes did.

    Parameters
    ----------
    effects : the sections that became something else
    toward : those of them of which something was meant
    asked : what a brief asks to find out that is otherwise than before, in sentences
    """

    effects: tuple[Effect, ...]
    toward: tuple[Toward, ...]
    asked: tuple[str, ...]

    def told(self) -> list[str]:
        """Say it in sentences; sections alike in one, those of which something was meant each in its own."""
        meant = {each.bars[0] for each in self.toward}
        alike: dict[tuple[int, int], list[tuple[str, int]]] = {}
        for each in self.effects:
            if each.song_bar not in meant:
                alike.setdefault((each.fuller, each.busier), []).append((each.section, each.song_bar))
        return [
            *(words.effect_told(places, fuller, busier) for (fuller, busier), places in alike.items()),
            *self._toward_told(),
            *self.asked,
        ]

    def _toward_told(self) -> list[str]:
        alike: dict[tuple[str, int, int, int | None], list[tuple[str, int]]] = {}
        for each in self.toward:
            key = (each.meant, each.fuller, each.busier, each.nearer)
            alike.setdefault(key, []).append((each.section, each.bars[0]))
        return [
            words.toward(places, meant, (fuller, busier), nearer)
            for (meant, fuller, busier, nearer), places in alike.items()
        ]


def what_it_did(compared: Compared, materials: Both[Mapping[str, Material]], questions: Iterable[str] = ()) -> Did:
    """Find out what the changes did.

    Parameters
    ----------
    compared : both versions
    materials : of both, by the layers' names
    questions : what a brief asks to find out
    """
    known: Known = {}
    old = energy(compared.old, materials.old, known)
    new = energy(compared.new, materials.new, known if compared.old.frame == compared.new.frame else None)
    energies = Both(old, new)
    did = effects(compared, energies)
    return Did(tuple(did), tuple(toward_meant(compared, did)), tuple(asked_otherwise(questions, compared, energies)))
