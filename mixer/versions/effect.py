"""What a change did: which sections became fuller or emptier, busier or calmer.

By the energy of the bars (`mixer.coach.energy`), section against section. What differs by less than the ear is likely
to notice is not told.
"""

from __future__ import annotations

from collections.abc import Sequence
from statistics import fmean

from mixer.coach.energy import BarEnergy, Energy
from mixer.record import record
from mixer.versions.change import Both
from mixer.versions.changes import Compared
from mixer.versions.playing import Scene

# Common practice, no source: shares of the fullest bar of both versions, and hits in a bar.
FULLER_SHARE = 0.05
BUSIER_ONSETS = 1.0


@record
class Effect:
    """What became of a section.

    Parameters
    ----------
    section : its name in the new version
    song_bar : the bar of the new version with which it begins
    fuller, busier : 1 for more, -1 for less, 0 for about as before
    """

    section: str
    song_bar: int
    fuller: int
    busier: int


def effects(compared: Compared, energies: Both[Energy]) -> list[Effect]:
    """Give the sections of both versions that became something else, in the song's order."""
    most = max([*energies.old.bars, *energies.new.bars], default=0.0)
    found = []
    for slot in compared.slots:
        if slot.old is None or slot.new is None:
            continue
        old, new = _bars(energies.old, slot.old), _bars(energies.new, slot.new)
        full = _mean([bar.energy for bar in new]) - _mean([bar.energy for bar in old])
        busy = _mean([bar.onsets for bar in new]) - _mean([bar.onsets for bar in old])
        effect = Effect(
            slot.new.section.name,
            slot.new.bars_before + 1,
            _way(full, FULLER_SHARE * most),
            _way(busy, BUSIER_ONSETS),
        )
        if effect.fuller or effect.busier:
            found.append(effect)
    return found


def _bars(energy: Energy, scene: Scene) -> tuple[BarEnergy, ...]:
    return energy.detail[scene.bars_before : scene.bars_before + scene.section.bars]


def _mean(values: Sequence[float]) -> float:
    return fmean(values) if values else 0.0


def _way(difference: float, least: float) -> int:
    if abs(difference) < least or difference == 0:
        return 0
    return 1 if difference > 0 else -1
