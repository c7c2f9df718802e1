"""How much is going on in each bar of a song, told from its layers before the finish.

The finish would hide it: a song is brought to one loudness, so a part can come out softer when a layer joins. Here the
powers of the layers are added, bar by bar, at the level at which the mix plays them (role, level, fades).

The formula. For a bar, with N(p) = (p / p0) ^ log10(2), the loudness of a power p (twice as loud for ten decibels more:
Stevens' law and the sone, ISO 131 and ISO 532):

    energy = N(all) / 4                    loudness of the sum
           + sum over bands N(band) / 24   width: the same power in more critical bands is more (loudness summation:
                                           Zwicker, Flottorp and Stevens, JASA 29, 1957; the idea of ISO 532)
           + sum over roles N(role) / 12   how many roles sound
           + sum over slots N(hits) / 48   how many onsets, in twelve slots a beat

That intensity moves what listeners hear as arousal: Dean, Bailes and Schubert, PLOS ONE 6(4): e18591, 2011. That the
number of parts, of events and the width of the spectrum belong to it is common practice, no source; so are the shares,
set so that each of the four makes up roughly a quarter of a full bar of the demo loops.

Each term is a sum of powers of powers, so: a layer more never lowers a bar, and changes no other; a layer less never
raises one; everything softer by the same decibels multiplies all bars by one factor; silence is 0. Pan is left out (it
keeps the power), and so are the hundredths of a second in which layers fade across a bar line.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from math import log10

import numpy as np
from numpy.typing import NDArray

from mixer.coach.features import SLOTS_PER_BEAT, BarFeatures, LoopFeatures
from mixer.material.fit import Material
from mixer.record import record
from mixer.signal.bands import BANDS
from mixer.signal.loudness import OFFSET_LUFS
from mixer.song.levels import ROLE_LUFS
from mixer.song.plan import Cue, Part, Plan

REFERENCE_LUFS = -20.0
EXPONENT = log10(2)
SHARES = {"loudness": 1 / 4, "width": 1 / 24, "roles": 1 / 12, "onsets": 1 / 48}
LEAST_SPAN = 0.25
"""A song whose bars differ by less than this share of the fullest is not blown up to a mountain (no source)."""
# What is told of a bar beside its energy leaves out what is so far below all of the bar (common practice, no source).
HEARD_DB = 40.0

Powers = NDArray[np.float64]


@record
class BarEnergy:
    """One bar.

    Parameters
    ----------
    energy : by the formula; 0 for silence
    loudness_lufs : of the sum of powers, without gates; None for silence
    onsets : in how many slots of the bar something begins
    roles : which roles are heard, sorted
    bands : how many of 24 critical bands hold something
    brightness : where in the critical bands the middle of the loudness lies, 0 to 24; 0 for silence
    """

    energy: float
    loudness_lufs: float | None
    onsets: int
    roles: tuple[str, ...]
    bands: int
    brightness: float


@record
class Energy:
    """Energy along a song.

    Parameters
    ----------
    detail : bar by bar
    """

    detail: tuple[BarEnergy, ...]

    @property
    def bars(self) -> tuple[float, ...]:
        """Energy of each bar, at least 0."""
        return tuple(bar.energy for bar in self.detail)

    @property
    def shape(self) -> tuple[float, ...]:
        """The same from 0 to 1: 1 is this song's own fullest bar, 0 its quietest, if they differ clearly."""
        most = max(self.bars, default=0.0)
        if most == 0:
            return tuple(0.0 for _ in self.bars)
        span = max(most - min(self.bars), LEAST_SPAN * most)
        return tuple(1 - (most - bar) / span for bar in self.bars)

    @property
    def fullest_bar(self) -> int:
        """The (first) bar with most energy, counted from 1; 0 where all is silent."""
        most = max(self.bars, default=0.0)
        return self.bars.index(most) + 1 if most > 0 else 0


@dataclass
class _Sums:
    """Powers of one bar, added up layer by layer."""

    bands: Powers
    hits: Powers
    roles: dict[str, float]


@record
class _Given:
    """What a layer gives to one bar (counted from 0): powers in the bands, powers of its hits."""

    bar: int
    bands: Powers
    hits: Powers


Known = dict[object, LoopFeatures]
"""What was heard in loops, by all that it depends on; grows. For whoever looks at many songs of the same loops."""


def energy(plan: Plan, materials: Mapping[str, Material], known: Known | None = None) -> Energy:
    """Tell the energy of each bar of a song.

    Parameters
    ----------
    plan : the song
    materials : by layer's name; layers without one are silent
    known : what was heard in loops before, for asking many times
    """
    return Energy(tuple(_bar(each) for each in _summed(plan, _given(plan, materials, known))))


def shares(plan: Plan, materials: Mapping[str, Material], known: Known | None = None) -> dict[str, tuple[float, ...]]:
    """Tell for each layer what part of each bar's energy goes when it goes, 0 to 1; see `energy`."""
    given = _given(plan, materials, known)
    whole = [_bar(each).energy for each in _summed(plan, given)]
    found = {}
    for name, bars in given.items():
        lost = [0.0] * len(whole)
        mine = {each.bar for each in bars}
        rest = _summed(plan, {other: there for other, there in given.items() if other != name}, mine)
        for bar in mine:
            lost[bar] = 1 - _bar(rest[bar]).energy / whole[bar] if whole[bar] > 0 else 0.0
        found[name] = tuple(lost)
    return found


def _given(plan: Plan, materials: Mapping[str, Material], known: Known | None) -> dict[str, list[_Given]]:
    """What each layer gives to the bars in which it is heard, by its name."""
    slots = SLOTS_PER_BEAT * plan.frame.meter.beats
    loops = {} if known is None else known
    given = {}
    for part in plan.parts:
        material = materials.get(part.layer.name)
        if material is None or not part.cues or not np.isfinite(material.loudness_lufs):
            continue
        key = (part.fit, plan.frame.tempo_bpm, plan.frame.meter, plan.rate_hz, material.content_key)
        if key not in loops:
            loops[key] = LoopFeatures(material, part.fit.bars, slots, plan.rate_hz)
        usual = 10 ** ((ROLE_LUFS[part.fit.role] - material.loudness_lufs) / 10)
        given[part.layer.name] = [
            _Given(bar, usual * gains @ features.bands / slots, usual * gains * features.hits)
            for bar, features, gains in _heard(part, loops[key], plan, slots)
        ]
    return given


def _summed(plan: Plan, given: Mapping[str, list[_Given]], only: Collection[int] | None = None) -> list[_Sums]:
    """Add up what layers give, always in the recipe's order; `only` names the bars that are wanted."""
    slots = SLOTS_PER_BEAT * plan.frame.meter.beats
    sums = [_Sums(np.zeros(BANDS), np.zeros(slots), defaultdict(float)) for _ in range(plan.recipe.bars)]
    for part in plan.parts:
        for each in given.get(part.layer.name, ()):
            if only is None or each.bar in only:
                there = sums[each.bar]
                there.bands += each.bands
                there.hits += each.hits
                there.roles[part.fit.role] += float(each.bands.sum())
    return sums


def _heard(part: Part, loop: LoopFeatures, plan: Plan, slots: int) -> Iterator[tuple[int, BarFeatures, Powers]]:
    """Each bar of a layer, from 0: what its loop plays there, and the factor on the power in each slot."""
    for cue in part.cues:
        for bar in range(cue.enter_bar - 1, cue.exit_bar):
            features = loop.bar(cue.phase_bars + bar - (cue.enter_bar - 1))
            yield bar, features, _gains(cue, float(bar * plan.bar_frames), float(plan.bar_frames), slots)


def _gains(cue: Cue, start_frame: float, bar_frames: float, slots: int) -> Powers:
    """Squared gain in the middle of each slot.

    Even at 240 beats a minute that is before the last 10 ms of a bar, in which a level goes to the next section's.
    """
    middles = start_frame + (np.arange(slots) + 0.5) * (bar_frames / slots)
    gains = np.interp(middles, [point.frame for point in cue.points], [point.gain for point in cue.points])
    return np.asarray(gains**2)


def _bar(sums: _Sums) -> BarEnergy:
    power = float(sums.bands.sum())
    if power <= 0:
        return BarEnergy(0.0, None, 0, (), 0, 0.0)
    bands = _loudness(sums.bands)
    terms = {
        "loudness": float(_loudness(np.array(power))),
        "width": float(bands.sum()),
        "roles": float(_loudness(np.array(sorted(sums.roles.values()))).sum()),
        "onsets": float(_loudness(sums.hits).sum()),
    }
    least = power * 10 ** (-HEARD_DB / 10)
    return BarEnergy(
        energy=sum(SHARES[name] * term for name, term in terms.items()),
        loudness_lufs=OFFSET_LUFS + 10 * log10(power),
        onsets=int((sums.hits > least).sum()),
        roles=tuple(sorted(role for role, each in sums.roles.items() if each > least)),
        bands=int((sums.bands > least).sum()),
        brightness=float(bands @ np.arange(BANDS) / bands.sum()),
    )


def _loudness(power: Powers) -> Powers:
    """Loudness of K-weighted powers, 1 for the reference; ten decibels more are twice as loud."""
    reference = 10 ** ((REFERENCE_LUFS - OFFSET_LUFS) / 10)
    return np.asarray((power / reference) ** EXPONENT)
