"""Sentences about what changed from one version of a song to another."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, Protocol

from mixer.words.speech import bars, series


class PairTold(Protocol):
    """What was and what is."""

    @property
    def old(self) -> Any:  # noqa: ANN401 - of each kind another
        """What was."""

    @property
    def new(self) -> Any:  # noqa: ANN401 - of each kind another
        """What is."""


class ChangeTold(Protocol):
    """A change as data."""

    @property
    def kind(self) -> str:
        """Which one."""

    @property
    def value(self) -> PairTold:
        """What was and what is, by itself."""

    @property
    def layer(self) -> PairTold | None:
        """The layer's name in both versions."""

    @property
    def passages(self) -> Sequence[PairTold]:
        """Where it is, in both versions."""

    @property
    def throughout(self) -> bool:
        """Whether it is so wherever the layer is heard."""

    @property
    def who(self) -> Sequence[str]:
        """Who is heard in a section that is new or gone."""


NO_CHANGE = "Nothing has changed: both sound the same."
DYNAMICS: Mapping[float, str] = {-12: "pp", -8: "p", -4: "mp", 0: "mf", 3: "f", 6: "ff"}


def sentence(change: ChangeTold) -> str:
    """Say a change in one sentence without a full stop, with its place in front."""
    said = _SAID[change.kind](change)
    if change.kind in ("section", "moved", "name"):
        return said
    if change.kind in ("title", "tempo", "time", "key", "ending", "layer-name"):
        return said
    if change.throughout:
        return said.replace("{throughout}", " throughout", 1) if "{throughout}" in said else f"{said}, throughout"
    return f"{_where(change.passages)}: {said.replace('{throughout}', '', 1)}"


def _where(passages: Sequence[PairTold]) -> str:
    """Give `chorus (from bar 17)` or `verse and chorus (from bars 5 and 13)`; what is gone, with where it was before."""
    now, gone = [each.new for each in passages if each.new], [each.old for each in passages if not each.new]
    told = []
    for word, here in (("from", now), ("before, from", gone)):
        if here:
            names = series(dict.fromkeys(stretch.name for stretch in here))
            told.append(f"{names} ({word} {bars_at(stretch.bars_before + 1 for stretch in here)})")
    return series(told)


def bars_at(numbers: Iterable[int]) -> str:
    """Give `bar 5` or `bars 5 and 13`."""
    found = list(numbers)
    return f"bar {found[0]}" if len(found) == 1 else f"bars {series(found)}"


def _name(change: ChangeTold) -> str:
    names = change.layer
    return f'"{names.new or names.old}"' if names else ""


def _title(change: ChangeTold) -> str:
    old, new = change.value.old, change.value.new
    was = f'; it was "{old}"' if old else ""
    return f'the song is called "{new}" now{was}' if new else f"the song has no title now{was}"


def _tempo(change: ChangeTold) -> str:
    old, new = change.value.old, change.value.new
    percent = round(100 * abs(old / new - 1))
    how = f"{percent} %" if percent else "a little"
    return f"tempo {float(old):g} to {float(new):g}, so everything is {how} {'shorter' if new > old else 'longer'}"


def _time(change: ChangeTold) -> str:
    return f"time {change.value.old} to {change.value.new}"


def _key(change: ChangeTold) -> str:
    old, new = change.value.old, change.value.new
    if old and new:
        return f"key {old} to {new}"
    return f"the key is {new} now; there was none" if new else f"the song names no key now; it was {old}"


def _ending(change: ChangeTold) -> str:
    if change.value.new == "last hit":
        return "the song ends with a last hit now"
    return "the song stops at its last bar line now, without a last hit"


def _layer(change: ChangeTold) -> str:
    if change.value.new is None:
        return f"{_name(change)} is gone from the song"
    starts = [passage.new for passage in change.passages if passage.new]
    return f"{_name(change)} is new in the song (loop {change.value.new}), from {bars_at(s.song_first_bar for s in starts)}"


def _layer_name(change: ChangeTold) -> str:
    return f'the layer "{change.value.old}" is called "{change.value.new}" now'


def _loop(change: ChangeTold) -> str:
    old, new = change.value.old, change.value.new
    if old == new:
        return f'{_name(change)} sounds different: the loop "{new}" itself is not the same'
    return f"{_name(change)} is another loop: {new} instead of {old}"


def _recording(change: ChangeTold) -> str:
    return f"{_name(change)} sounds different{{throughout}}: {change.value.new} is another recording now"


def _role(change: ChangeTold) -> str:
    return f"{_name(change)} has the role {change.value.new} now, not {change.value.old}"


def _pitch(change: ChangeTold) -> str:
    old, new = change.value.old, change.value.new
    if new == "as recorded":
        return f"{_name(change)} keeps the pitch it was recorded with now"
    if old == "as recorded":
        moved = f", {_semitones(new)} {'higher' if new > 0 else 'lower'}" if new else ""
        return f"{_name(change)} goes with the song's key now{moved}"
    return f"{_name(change)} is {_semitones(new - old)} {'higher' if new > old else 'lower'}"


def _semitones(count: int) -> str:
    return "1 semitone" if abs(count) == 1 else f"{abs(count)} semitones"


def _speed(change: ChangeTold) -> str:
    return f"{_name(change)} is played {_as_fast(change.value.new)} now, not {_as_fast(change.value.old)}"


def _as_fast(song_bars: Any) -> str:  # noqa: ANN401 - a number or words
    if song_bars == "as recorded":
        return "as fast as it was recorded"
    if song_bars == 1:
        return "bar for bar"
    return "in half time" if song_bars > 1 else "in double time"


def _section(change: ChangeTold) -> str:
    (passage,) = change.passages
    stretch, count = passage.new or passage.old, change.value.new or change.value.old
    who = series(change.who) or "silence"
    if passage.new:
        return f"{stretch.name} (from bar {stretch.bars_before + 1}) is new: {bars(count)}, {who}"
    return f"{stretch.name} (before, from bar {stretch.bars_before + 1}) is gone: {bars(count)}, {who}"


def _moved(change: ChangeTold) -> str:
    return f"{change.passages[0].new.name} has moved: it begins at bar {change.value.new} now, at bar {change.value.old} before"


def _section_name(change: ChangeTold) -> str:
    at = bars_at(passage.new.bars_before + 1 for passage in change.passages)
    return f"{change.value.old} is called {change.value.new} now (from {at})"


def _length(change: ChangeTold) -> str:
    old, new = change.value.old, change.value.new
    return f"{bars(abs(new - old))} {'longer' if new > old else 'shorter'}, {new} instead of {old}"


def _meant(change: ChangeTold) -> str:
    old, new = change.value.old, change.value.new
    if not new:
        return f'what it is meant to be is not said any more; it was "{old}"'
    return f'it is meant to be "{new}" now' + (f', not "{old}"' if old else "")


def _fades(way: str) -> Callable[[ChangeTold], str]:
    def said(change: ChangeTold) -> str:
        name = _name(change) or "it"
        old, new = change.value.old, change.value.new
        if not new:
            return f"{name} does not fade {way} any more"
        before = f" instead of {_bars(old)}" if old else ""
        return f"{name} fades {way} over {_bars(new)}{before} now"

    return said


def _bars(count: Any) -> str:  # noqa: ANN401 - an exact number
    return bars(int(count)) if count == int(count) else f"{float(count):g} bars"


def _plays(change: ChangeTold) -> str:
    if change.value.new is None:
        return f"{_name(change)} is not heard here any more"
    return f"{_name(change)} is heard here now, {_spans(change, change.value.new)}"


def _enters(change: ChangeTold) -> str:
    old, new = change.value.old, change.value.new
    at = bars_at(passage.new.bars_before + new for passage in change.passages)
    return f"{_name(change)} enters {bars(abs(new - old))} {'later' if new > old else 'earlier'}, at {at}"


def _leaves(change: ChangeTold) -> str:
    old, new = change.value.old, change.value.new
    at = bars_at(passage.new.bars_before + new for passage in change.passages)
    return f"{_name(change)} leaves {bars(abs(new - old))} {'later' if new > old else 'earlier'}, after {at}"


def _rests(change: ChangeTold) -> str:
    """Say both in bars as they are counted now; in bars of the section where that began elsewhere before."""
    same = all(each.old.bars_before == each.new.bars_before for each in change.passages if each.old and each.new)
    old, new = (_spans(change, spans, in_song=same) for spans in (change.value.old, change.value.new))
    return f"{_name(change)} is heard {new} now, not {old}"


def _spans(change: ChangeTold, spans: Sequence[tuple[int, int]], *, in_song: bool = True) -> str:
    """Give bars of the song where the change has one place, bars of the section where it has several."""
    one = in_song and len(change.passages) == 1
    before = (change.passages[0].new or change.passages[0].old).bars_before if one else 0
    shifted = [(first + before, last + before) for first, last in spans]
    told = [f"{first}" if first == last else f"{first} to {last}" for first, last in shifted]
    many = len(told) > 1 or spans[0][0] != spans[0][1]
    return f"in bar{'s' if many else ''} {series(told)}{'' if one else ' of the section'}"


def _level(change: ChangeTold) -> str:
    old, new = change.value.old, change.value.new
    how = "louder" if new > old else "softer"
    if old in DYNAMICS and new in DYNAMICS:
        return f"{_name(change)} is {how}{{throughout}}, {DYNAMICS[old]} to {DYNAMICS[new]}"
    return f"{_name(change)} is {abs(new - old):g} dB {how}{{throughout}}"


def _pan(change: ChangeTold) -> str:
    return f"{_name(change)} is heard {_side(change.value.new)} now, not {_side(change.value.old)}"


def _side(pan: float) -> str:
    if not pan:
        return "in the centre"
    return f"{round(abs(pan) * 100)} % {'left' if pan < 0 else 'right'}"


def _phase(change: ChangeTold) -> str:
    return f"{_name(change)} {_BEGINS[change.value.new]} now"


_BEGINS = {
    "in step": "is in step with the section",
    "from the top": "begins at its own first bar where it enters",
    "runs on": "runs on from the section before",
}
_SAID: Mapping[str, Callable[[ChangeTold], str]] = {
    "title": _title,
    "tempo": _tempo,
    "time": _time,
    "key": _key,
    "ending": _ending,
    "layer": _layer,
    "layer-name": _layer_name,
    "loop": _loop,
    "recording": _recording,
    "role": _role,
    "pitch": _pitch,
    "speed": _speed,
    "section": _section,
    "moved": _moved,
    "name": _section_name,
    "bars": _length,
    "meant": _meant,
    "section-fade-in": _fades("in"),
    "section-fade-out": _fades("out"),
    "plays": _plays,
    "enters": _enters,
    "leaves": _leaves,
    "rests": _rests,
    "level": _level,
    "pan": _pan,
    "fade-in": _fades("in"),
    "fade-out": _fades("out"),
    "phase": _phase,
}
