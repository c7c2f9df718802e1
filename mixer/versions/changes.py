"""What changed from one plan to another, as a musician would tell it, in the order of the song.

First what concerns the whole song, then what is so throughout for a layer, then section by section. The plans are
compared and not the texts: reordering lines, or spelling something the short way, is no change. What follows from
another change is not told again: a layer that plays a whole section grows with it, a loop that a key moves is no
change of pitch, and a new section is told with all that is heard in it.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator

from mixer.record import record, replace
from mixer.song.plan import Part, Plan
from mixer.text.names import same_name
from mixer.versions.change import Both, Change, Passage, Stretch, Value
from mixer.versions.entries import entry_changes
from mixer.versions.pairing import pair_layers, pair_sections
from mixer.versions.playing import Scene, scenes

Layers = list[Both[Part | None]]


@record
class Slot:
    """A section in one version or both."""

    old: Scene | None
    new: Scene | None
    moved: bool = False

    @property
    def passage(self) -> Passage:
        """The whole section."""
        return Both(self.old.stretch() if self.old else None, self.new.stretch() if self.new else None)


@record
class Compared:
    """Two versions side by side: their sections in pairs, in the song's order, and the changes."""

    old: Plan
    new: Plan
    slots: tuple[Slot, ...]
    changes: tuple[Change, ...]

    @property
    def counted_otherwise(self) -> bool:
        """Whether a section begins at another bar in the new version, so that bars of both could be mixed up."""
        return any(
            slot.new is None or (slot.old and slot.old.bars_before != slot.new.bars_before) for slot in self.slots
        )


def compare(old: Plan, new: Plan, replaced: Collection[str] = ()) -> Compared:
    """Find what changed from one plan to another.

    Parameters
    ----------
    old, new : the plans
    replaced : names of loops that are another recording in the new version
    """
    layers = pair_layers(old, new)
    old_numbers = {pair.old.layer.name: number for number, pair in enumerate(layers) if pair.old}
    new_numbers = {pair.new.layer.name: number for number, pair in enumerate(layers) if pair.new}
    slots = _slots(scenes(old, old_numbers), scenes(new, new_numbers))
    of_sections = _once([change for slot in slots for change in _section_changes(slot)])
    of_layers = [change for n, pair in enumerate(layers) for change in _layer_changes(n, pair, slots, replaced)]
    shared = [(n, Both(pair.old, pair.new)) for n, pair in enumerate(layers) if pair.old and pair.new]
    of_entries = [change for n, pair in shared for change in entry_changes(n, pair, _together(slots))]
    whole = [change for change in of_layers + of_entries if change.throughout or change.kind == "layer-name"]
    local = [change for change in of_layers + of_sections + of_entries if change not in whole]
    order = {slot.passage: number for number, slot in enumerate(slots)}
    ordered = sorted(local, key=lambda change: _place(change, order))
    return Compared(old, new, tuple(slots), (*_song_changes(old, new, slots), *whole, *ordered))


def _once(changes: list[Change]) -> list[Change]:
    """Tell the same change of several sections as one."""
    alike: dict[object, Change] = {}
    for number, change in enumerate(changes):
        one_by_one = number if change.kind in ("section", "moved") else None
        key = (change.kind, change.value, one_by_one)
        before = alike.get(key)
        alike[key] = replace(before, passages=before.passages + change.passages) if before else change
    return list(alike.values())


def _slots(old: list[Scene], new: list[Scene]) -> list[Slot]:
    """Give the sections of both in one order: the new version's, with what is gone where it was."""
    in_order, moved = pair_sections(old, new)
    partner = {j: Slot(old[i], new[j]) for i, j in in_order}
    partner |= {j: Slot(old[i], new[j], moved=True) for i, j in moved}
    gone = set(range(len(old))) - {i for i, _ in (*in_order, *moved)}
    after: dict[int, list[Slot]] = {}
    for i in sorted(gone):
        before = max((j for k, j in in_order if k < i), default=-1)
        after.setdefault(before, []).append(Slot(old[i], None))
    slots = after.get(-1, [])
    for j, scene in enumerate(new):
        slots = [*slots, partner.get(j, Slot(None, scene)), *after.get(j, [])]
    return slots


def _together(slots: Iterable[Slot]) -> list[Both[Scene]]:
    return [Both(slot.old, slot.new) for slot in slots if slot.old and slot.new]


def _place(change: Change, order: dict[Passage, int]) -> tuple[int, int]:
    """Give where a change comes in the song: its section's place, then its first bar."""
    first = change.passages[0]
    sections = (first.old and (first.old.section, "old"), first.new and (first.new.section, "new"))
    for passage, number in order.items():
        same = (passage.old and (passage.old.section, "old"), passage.new and (passage.new.section, "new"))
        if same == sections:
            return number, min(each.first_bar for each in (first.old, first.new) if each)
    return len(order), 0


def _song_changes(old: Plan, new: Plan, slots: list[Slot]) -> Iterator[Change]:
    everywhere = tuple(slot.passage for slot in slots)
    first, last = old.recipe, new.recipe
    ends = Both(_last_stretch(slot.old for slot in slots), _last_stretch(slot.new for slot in slots))
    values: list[tuple[str, Value, Value, tuple[Passage, ...]]] = [
        ("title", first.title, last.title, ()),
        ("tempo", first.tempo_bpm, last.tempo_bpm, everywhere),
        ("time", str(first.meter), str(last.meter), everywhere),
        ("key", str(first.key or "") or None, str(last.key or "") or None, everywhere),
        ("ending", first.ending, last.ending, (ends,)),
    ]
    for kind, before, after, passages in values:
        if before != after:
            yield Change(kind, Both(before, after), passages=passages)


def _last_stretch(found: Iterable[Scene | None]) -> Stretch | None:
    last = max((scene for scene in found if scene), key=lambda scene: scene.number, default=None)
    return last.stretch() if last else None


def _section_changes(slot: Slot) -> Iterator[Change]:
    place = (slot.passage,)
    if slot.old is None or slot.new is None:
        bars = Both(slot.old.section.bars if slot.old else None, slot.new.section.bars if slot.new else None)
        yield Change("section", bars, None, place, who=_who(slot.old or slot.new))
        return
    old, new = slot.old.section, slot.new.section
    if slot.moved:
        yield Change("moved", Both(slot.old.bars_before + 1, slot.new.bars_before + 1), None, place)
    values: list[tuple[str, Value, Value]] = [
        ("bars", old.bars, new.bars),
        ("meant", old.meant, new.meant),
        ("section-fade-in", old.fade_in_bars, new.fade_in_bars),
        ("section-fade-out", old.fade_out_bars, new.fade_out_bars),
    ]
    if same_name(old.name) != same_name(new.name):
        values.insert(0, ("name", old.name, new.name))
    for kind, before, after in values:
        if before != after:
            yield Change(kind, Both(before, after), None, place)


def _who(scene: Scene | None) -> tuple[str, ...]:
    return tuple(entry.layer for entry in scene.section.entries) if scene else ()


def _layer_changes(
    number: int, pair: Both[Part | None], slots: list[Slot], replaced: Collection[str]
) -> Iterator[Change]:
    if pair.old is None or pair.new is None:
        yield from _come_or_gone(number, pair, slots)
        return
    old, new = pair.old, pair.new
    names = Both(old.layer.name, new.layer.name)
    if same_name(names.old) != same_name(names.new):
        yield Change("layer-name", names_as_value(names), names)
    passages = tuple(
        Both(both.old.heard_stretch(number), both.new.heard_stretch(number))
        for both in _together(slots)
        if number in both.old.playing and number in both.new.playing
    )
    if not passages:  # all that is heard of it is told with its sections
        return
    if not _other_loop(old, new) and new.fit.card.name in replaced:
        name = new.fit.card.name
        yield Change("recording", Both(name, name), names, passages, throughout=len(passages) > 1)
    for kind, differs, value in _LAYER_KINDS:
        if differs(old, new):
            yield Change(kind, Both(value(old), value(new)), names, passages, throughout=len(passages) > 1)


def names_as_value(names: Both[str]) -> Both[Value]:
    """Give names as what was and what is."""
    return Both(names.old, names.new)


def _come_or_gone(number: int, pair: Both[Part | None], slots: list[Slot]) -> Iterator[Change]:
    """A layer that only one version has; nothing where all its sections are new or gone themselves."""
    passages = []
    for slot in slots:
        stretch = Both(
            slot.old.heard_stretch(number) if slot.old and number in slot.old.playing else None,
            slot.new.heard_stretch(number) if slot.new and number in slot.new.playing else None,
        )
        if stretch.old or stretch.new:
            # Heard against the same bars of the other version, where there are such.
            other = slot.new if stretch.old else slot.old
            here = stretch.old or stretch.new
            bars = min(other.section.bars, here.last_bar) if other and here else 0
            if other and here and here.first_bar <= bars:
                there = other.stretch(here.first_bar, bars)
                stretch = Both(stretch.old or there, stretch.new or there)
            passages.append(stretch)
    if all(passage.old is None or passage.new is None for passage in passages):
        return
    names = Both(*(part.layer.name if part else "" for part in (pair.old, pair.new)))
    loops = Both[Value](*(part.fit.card.name if part else None for part in (pair.old, pair.new)))
    yield Change("layer", loops, names, tuple(passages))


def _other_loop(old: Part, new: Part) -> bool:
    return _sound(old) != _sound(new)


def _sound(part: Part) -> object:
    card = part.fit.card
    return card.name, card.path.name, card.tempo_bpm, card.meter, card.bars, card.downbeat_seconds, card.key


def _other_role(old: Part, new: Part) -> bool:
    written = old.layer.role != new.layer.role
    return old.fit.role != new.fit.role and (written or not _other_loop(old, new))


def _other_pitch(old: Part, new: Part) -> bool:
    if old.layer.pitch == new.layer.pitch:
        return False
    return _other_loop(old, new) or old.fit.semitones != new.fit.semitones


def _other_speed(old: Part, new: Part) -> bool:
    if _other_loop(old, new):
        return old.layer.speed != new.layer.speed
    if old.layer.speed == new.layer.speed:
        return old.layer.speed != "as recorded" and old.fit.bars != new.fit.bars
    return (old.fit.bars, old.fit.stretch) != (new.fit.bars, new.fit.stretch)


def _loop_name(part: Part) -> Value:
    return part.fit.card.name


def _role(part: Part) -> Value:
    return part.fit.role


def _pitch(part: Part) -> Value:
    return part.layer.pitch


def _speed(part: Part) -> Value:
    """How many bars of the song a bar of the loop takes, where that is a whole step; or as recorded."""
    return "as recorded" if part.layer.speed == "as recorded" else part.fit.bars / part.fit.card.bars


_LAYER_KINDS: tuple[tuple[str, Callable[[Part, Part], bool], Callable[[Part], Value]], ...] = (
    ("loop", _other_loop, _loop_name),
    ("role", _other_role, _role),
    ("pitch", _other_pitch, _pitch),
    ("speed", _other_speed, _speed),
)
