"""What can be asked of a song by comparing it with itself and with what its maker wrote; no habit of any style."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import combinations, pairwise

from mixer.coach.energy import Energy
from mixer.coach.questions import (
    Candidate,
    bars_of,
    half_of,
    last_bar,
    mark_at,
    place,
    with_layer,
    without,
)
from mixer.coach.sections import Layers, mean_energy
from mixer.coach.stands_out import changes, stretches
from mixer.song.plan import Mark, Plan

Shares = Mapping[str, tuple[float, ...]]

LEAST_SHARE = 0.08
LONG_BARS = 8


class Own:
    """Looks for what can be asked.

    Parameters
    ----------
    plan, layers, energy : the song
    shares : by layer's name, for each bar: what part of the energy goes when the layer goes
    """

    def __init__(self, plan: Plan, layers: Layers, energy: Energy, shares: Shares) -> None:
        self.plan = plan
        self.layers = layers
        self.energy = energy
        self.shares = shares
        self.heard = [name for name, bars in layers.bars.items() if bars]
        self.meant = {
            mark.first_bar: section.meant for mark, section in zip(plan.marks, plan.recipe.sections, strict=True)
        }
        self.roles = {part.layer.name: part.fit.role for part in plan.parts}

    def candidates(self) -> Iterator[Candidate]:
        """Give all that can be asked, in no order."""
        yield from self._meant()
        yield from self._alike()
        yield from self._hear()
        yield from self._repeats()
        yield from self._always()
        yield from self._once()
        yield from self._long()
        yield from self._together()
        yield from self._order()
        yield from self._hidden()
        yield from self._companions()
        yield from self._pairs()
        yield from self._gaps()
        yield from self._silence()
        yield from self._about()
        yield from self._midway()
        yield from self._leave()
        yield from self._leap()
        yield from self._alone()

    def share(self, name: str, mark: Mark) -> float:
        """What part of a section's energy a layer is, in the bars in which it plays there."""
        bars = self.layers.within(mark).get(name, [])
        return sum(self.shares[name][bar - 1] for bar in bars) / len(bars) if bars else 0.0

    def most(self, mark: Mark) -> str:
        """Who changes a section most when gone."""
        return max(self.layers.within(mark), key=lambda name: self.share(name, mark))

    # -- with the maker's words ----------------------------------------------------------------------

    def _meant(self) -> Iterator[Candidate]:
        written = [
            (mark, section.meant, tuple(self.layers.within(mark)))
            for mark, section in zip(self.plan.marks, self.plan.recipe.sections, strict=True)
            if section.meant
        ]
        for (first, meant, who), (second, other, others) in combinations(written, 2):
            near = abs(mean_energy(self.energy, first) - mean_energy(self.energy, second))
            if meant != other and who == others and who and near < 0.1 * mean_energy(self.energy, first):
                tried = without(self.plan, second, [self.most(second)], *bars_of(second))
                facts = {"first": bars_of(first), "meant": meant, "second": bars_of(second), "other": other}
                yield Candidate("meant_alike", 1.0, who, bars_of(second), tried, facts)
        several = [each for each in written if len(each[2]) > 1]
        for mark, meant, who in several:
            tried = without(self.plan, mark, [self.most(mark)], *bars_of(mark))
            facts = {"bars": bars_of(mark), "meant": meant, "layers": who, "most": self.most(mark)}
            # Where few play, each of them says more.
            yield Candidate("meant", 0.76 - 0.025 * len(who), who, bars_of(mark), tried, facts)

    def _hear(self) -> Iterator[Candidate]:
        hear = self.plan.recipe.hear.casefold()
        mark = next((mark for mark in self.plan.marks if mark.name.casefold() == hear), None)
        fullest = mark_at(self.plan, self.energy.fullest_bar) if self.energy.fullest_bar else None
        if mark is None or fullest is None or fullest.name.casefold().startswith(hear):
            return
        new = [name for name in self.layers.within(fullest) if name not in self.layers.within(mark)]
        if new:
            tried = with_layer(self.plan, mark, new[0], self.layers, *bars_of(mark))
            facts = {"hear": mark.name, "bars": bars_of(mark), "fullest": fullest.name, "there": bars_of(fullest)}
            yield Candidate("hear", 0.7, new[:1], bars_of(mark), tried, {**facts, "new": new[0]})

    def _about(self) -> Iterator[Candidate]:
        sounding = [mark for mark in self.plan.marks if len(self.layers.within(mark)) > 1]
        if not self.plan.recipe.about or len(sounding) < 2:
            return
        barest = min(sounding, key=lambda mark: mean_energy(self.energy, mark))
        fullest = max(sounding, key=lambda mark: mean_energy(self.energy, mark))
        tried = without(self.plan, barest, [self.most(barest)], *bars_of(barest))
        facts = {"about": self.plan.recipe.about, "barest": bars_of(barest), "fullest": bars_of(fullest)}
        yield Candidate("about", 0.58, (), bars_of(barest), tried, facts)

    # -- sections beside each other ------------------------------------------------------------------

    def _alike(self) -> Iterator[Candidate]:
        for first, second in combinations(self.plan.marks, 2):
            here, there = self.layers.within(first), self.layers.within(second)
            shift = second.first_bar - first.first_bar
            texts = {self.meant[mark.first_bar] for mark in (first, second)}
            if len(texts) > 1 and "" not in texts:
                continue  # that is asked with their maker's words
            same = here and {name: [bar + shift for bar in bars] for name, bars in here.items()} == there
            if same and first.bars == second.bars and first.name.casefold() != second.name.casefold():
                tried = self._something_else(second)
                facts = {"first": first.name, "bars": bars_of(first), "second": second.name, "there": bars_of(second)}
                yield Candidate("alike", 0.9, (), bars_of(second), tried, facts)

    def _something_else(self, mark: Mark) -> str:
        """Let someone in who is missing, or where nobody is, take out who changes most."""
        missing = [name for name in self.heard if name not in self.layers.within(mark)]
        if missing:
            return with_layer(self.plan, mark, missing[-1], self.layers, *bars_of(mark))
        return without(self.plan, mark, [self.most(mark)], mark.first_bar, half_of(mark))

    def _repeats(self) -> Iterator[Candidate]:
        for letter in dict.fromkeys(mark.letter for mark in self.plan.marks):
            marks = [mark for mark in self.plan.marks if mark.letter == letter]
            if len(marks) > 1 and self.layers.within(marks[0]):
                facts = {"name": marks[0].name, "places": tuple(map(bars_of, marks))}
                weight = 0.5 + 0.06 * len(marks)
                yield Candidate("repeats", weight, (), bars_of(marks[-1]), self._something_else(marks[-1]), facts)

    # -- layers along the song -----------------------------------------------------------------------

    def _always(self) -> Iterator[Candidate]:
        """Who plays all the time; asked about bars in which others are left when it rests."""
        if not changes(self.layers, self.energy):
            return
        for name in self.heard:
            if len(self.layers.bars[name]) < max(LONG_BARS, self.layers.count):
                continue
            accompanied = [bar for bar in range(1, self.layers.count + 1) if len(self.layers.at(bar)) > 2]
            if accompanied:
                first = max(accompanied, key=lambda bar: (round(self.shares[name][bar - 1], 2), -bar))
                mark = mark_at(self.plan, first)
                first = max(first - 1, min(bar for bar in accompanied if bar >= mark.first_bar))
                last = min(first + 1, last_bar(mark))
                tried = without(self.plan, mark, [name], first, last)
                facts = {"name": name, "last": self.layers.count, "there": (first, last)}
                weight = 0.4 + 0.6 * self.share(name, mark)
                yield Candidate("always", weight, [name], (first, last), tried, facts)

    def _once(self) -> Iterator[Candidate]:
        for name in self.heard:
            found = stretches(sorted(self.layers.bars[name]))
            part = len(self.layers.bars[name]) / self.layers.count
            if len(found) > 1 or part > 0.25:
                continue
            elsewhere = [mark for mark in self.plan.marks if self.layers.within(mark)]
            elsewhere = [mark for mark in elsewhere if name not in self.layers.within(mark)]
            if elsewhere:
                mark = elsewhere[-1]
                tried = with_layer(self.plan, mark, name, self.layers, *bars_of(mark))
                facts = {"name": name, "bars": found[0], "there": bars_of(mark), "section": mark.name}
                yield Candidate("once", 0.65 - 0.4 * part, [name], found[0], tried, facts)

    def _long(self) -> Iterator[Candidate]:
        turns = [1, *(change.bar for change in changes(self.layers, self.energy)), self.layers.count + 1]
        lengths = [(after - before, before) for before, after in pairwise(turns)]
        bars, first = max(lengths, key=lambda each: each[0])
        who = self.layers.at(first)
        if bars < LONG_BARS or len(who) < 2:
            return
        mark = mark_at(self.plan, first + bars - 1)
        # The last half of the stretch, as far as it lies in one section.
        start = max(mark.first_bar, first + bars - max(1, min(4, bars // 2)))
        tried = without(self.plan, mark, [self.most(mark)], start, first + bars - 1)
        facts = {"bars": (first, first + bars - 1), "whole": bars == self.layers.count}
        weight = 1.0 if bars == self.layers.count else 0.25 + 0.7 * bars / self.layers.count
        if bars == self.layers.count:
            yield self._one_after_other(mark)
        yield Candidate("long", weight, (), (first, first + bars - 1), tried, facts)

    def _one_after_other(self, mark: Mark) -> Candidate:
        """Where nobody ever comes in: what if all but one did."""
        names = [name for name in self.layers.within(mark) if name != self.most(mark)][:3]
        steps = [without(self.plan, mark, [name], 1, 2 * (at + 1)) for at, name in enumerate(names)]
        tried = ", ".join([steps[0], *(step.partition(": without ")[2] for step in steps[1:])])
        facts = {"first": self.most(mark), "names": tuple(names)}
        return Candidate("one_after_other", 0.8, (), (1, 2 * len(names) + 1), tried, facts)

    def _order(self) -> Iterator[Candidate]:
        """Layers that come in one by one: the last two the other way round."""
        arrivals = sorted((min(self.layers.bars[name]), name) for name in self.heard)
        if len({bar for bar, _ in arrivals}) < max(4, len(arrivals)):
            return
        (bar, name), (later, last) = arrivals[-2:]
        mark = mark_at(self.plan, bar)
        if mark is mark_at(self.plan, later):
            tried = with_layer(self.plan, mark, last, self.layers, bar, later - 1)
            tried += (
                without(self.plan, mark, [name], bar, later - 1)
                .removeprefix(f"{place(self.plan, mark)}:")
                .join((",", ""))
            )
            facts = {"names": tuple(each for _, each in arrivals), "second": name, "last": last, "bar": bar}
            yield Candidate("order", 0.72, [last], (bar, later), tried, facts)

    def _together(self) -> Iterator[Candidate]:
        for change in changes(self.layers, self.energy):
            if len(change.joins) < 3:
                continue
            mark = mark_at(self.plan, change.bar)
            if any(other.letter == mark.letter for other in self.plan.marks if other.first_bar < mark.first_bar):
                continue  # it was so before
            late = min(change.joins, key=lambda name: self.share(name, mark))
            if not self.layers.within(mark).get(late, []) or last_bar(mark) == change.bar:
                continue
            tried = without(self.plan, mark, [late], change.bar, max(change.bar, half_of(mark)))
            facts = {"bar": change.bar, "joins": change.joins, "late": late}
            weight = 0.42 + 0.06 * len(change.joins)
            yield Candidate("together", weight, [late], (change.bar, last_bar(mark)), tried, facts)

    def _gaps(self) -> Iterator[Candidate]:
        for name in self.heard:
            found = stretches(sorted(self.layers.bars[name]))
            for (_, stop), (again, _) in pairwise(found):
                mark = mark_at(self.plan, again - 1)
                if again - stop < 4 or not self.layers.within(mark):
                    continue
                tried = with_layer(self.plan, mark, name, self.layers, max(mark.first_bar, again - 2), again - 1)
                facts = {"name": name, "stop": stop, "again": again}
                share = max(self.shares[name])
                yield Candidate("gap", 0.34 + 0.6 * share, [name], (stop, again), tried, facts)

    # -- layers beside each other --------------------------------------------------------------------

    def _hidden(self) -> Iterator[Candidate]:
        for mark in self.plan.marks:
            within = self.layers.within(mark)
            if len(within) < 4:
                continue
            least = min(within, key=lambda name: self.share(name, mark))
            if self.share(least, mark) < LEAST_SHARE:
                first, last = min(within[least]), max(within[least])
                tried = without(self.plan, mark, [least], *bars_of(mark))
                facts = {"name": least, "bars": (first, last), "count": len(within)}
                weight = 0.66 - 2 * self.share(least, mark)
                yield Candidate("hidden", weight, [least], (first, last), tried, facts)

    def _companions(self) -> Iterator[Candidate]:
        for name in self.heard:
            bars = self.layers.bars[name]
            always = frozenset.intersection(*(self.layers.at(bar) for bar in bars)) - {name}
            mark = mark_at(self.plan, min(bars))
            if len(always) > 1 and self.roles[name] not in ("background", "percussion"):
                first = min(bars)
                who = self.layers.in_order(always)
                tried = without(self.plan, mark, who, first, min(first + 1, last_bar(mark)))
                facts = {"name": name, "companions": who, "bar": first}
                leads = self.roles[name] in ("melody", "voice", "harmony")
                weight = (0.44 if leads else 0.34) + 0.04 * len(always)
                yield Candidate("companions", weight, [name], (first, max(bars)), tried, facts)

    def _pairs(self) -> Iterator[Candidate]:
        for first, second in combinations(self.heard, 2):
            one, other = self.layers.bars[first], self.layers.bars[second]
            if one == other and self.roles[first] == self.roles[second]:
                mark = mark_at(self.plan, min(one))
                tried = without(self.plan, mark, [second], *bars_of(mark))
                facts = {"first": first, "second": second, "role": self.roles[first], "bars": bars_of(mark)}
                yield Candidate("pair", 0.68, [first, second], bars_of(mark), tried, facts)
            elif not one & other and min(len(one), len(other)) >= 4 and self.roles[first] != self.roles[second]:
                mark = mark_at(self.plan, min(other))
                bars = self.layers.within(mark)[second]
                tried = with_layer(self.plan, mark, first, self.layers, min(bars), max(bars))
                facts = {"first": first, "second": second, "bars": (min(bars), max(bars))}
                yield Candidate("apart", 0.57, [first, second], (min(bars), max(bars)), tried, facts)

    def _silence(self) -> Iterator[Candidate]:
        for first, last in stretches([bar for bar in range(1, self.layers.count + 1) if not self.layers.at(bar)]):
            mark = mark_at(self.plan, last)
            before = self.layers.at(first - 1) if first > 1 else frozenset()
            names = self.layers.in_order(before) or tuple(self.heard)
            if names:
                tried = with_layer(self.plan, mark, names[0], self.layers, max(first, mark.first_bar), last)
                facts = {"bars": (first, last), "name": names[0]}
                yield Candidate("silence", 0.75, [names[0]], (first, last), tried, facts)

    # -- from bar to bar -----------------------------------------------------------------------------

    def _midway(self) -> Iterator[Candidate]:
        """Who comes in for the first time in the middle of a section."""
        for name in self.heard:
            bar = min(self.layers.bars[name])
            mark = mark_at(self.plan, bar)
            others = set(self.layers.within(mark)) - {name}
            if bar == mark.first_bar or not others:
                continue
            tried = with_layer(self.plan, mark, name, self.layers, mark.first_bar, bar - 1)
            facts = {"name": name, "bar": bar, "section": mark.name, "first": mark.first_bar}
            yield Candidate("midway", 0.38 + 0.6 * self.share(name, mark), [name], (mark.first_bar, bar), tried, facts)

    def _leave(self) -> Iterator[Candidate]:
        """Several who stop at once, for good."""
        for change in changes(self.layers, self.energy):
            gone = [name for name in change.leaves if max(self.layers.bars[name]) < change.bar]
            mark = mark_at(self.plan, change.bar)
            if len(gone) > 1 and self.layers.at(change.bar):
                stays = min(gone, key=lambda name: self.shares[name][change.bar - 2])
                tried = with_layer(self.plan, mark, stays, self.layers, change.bar, max(change.bar, half_of(mark)))
                facts = {"bar": change.bar, "names": tuple(gone), "stays": stays}
                yield Candidate("leave", 0.5 + 0.03 * len(gone), gone, (change.bar, last_bar(mark)), tried, facts)

    def _leap(self) -> Iterator[Candidate]:
        """The largest step up."""
        ups = [change for change in changes(self.layers, self.energy) if change.difference > 0 and change.joins]
        most = max(self.energy.bars, default=0.0)
        if not ups or max(change.difference for change in ups) < 0.3 * most:
            return
        change = max(ups, key=lambda each: each.difference)
        mark = mark_at(self.plan, change.bar)
        if change.bar == last_bar(mark):
            return
        name = max(change.joins, key=lambda each: self.shares[each][change.bar - 1])
        tried = without(self.plan, mark, [name], change.bar, change.bar + 1)
        facts = {"bar": change.bar, "name": name, "joins": change.joins}
        yield Candidate(
            "leap", 0.3 + 0.4 * change.difference / most, [name], (change.bar, change.bar + 1), tried, facts
        )

    def _alone(self) -> Iterator[Candidate]:
        """A section of one layer, and another that is never heard alone."""
        solo = {name for bar in range(1, self.layers.count + 1) if len(who := self.layers.at(bar)) == 1 for name in who}
        lead = [name for name in self.heard if self.roles[name] in ("melody", "harmony", "voice", "bass")]
        for mark in self.plan.marks:
            within = list(self.layers.within(mark))
            others = [name for name in lead if name not in solo]
            if len(within) != 1 or not others:
                continue
            other = others[-1]
            bars = self.layers.within(mark)[within[0]]
            tried = with_layer(self.plan, mark, other, self.layers, min(bars), max(bars)) + f", without {within[0]}"
            facts = {"name": within[0], "other": other, "bars": (min(bars), max(bars))}
            yield Candidate("alone", 0.46, [other], (min(bars), max(bars)), tried, facts)
