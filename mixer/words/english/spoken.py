"""A song in sentences that can be listened to."""

from __future__ import annotations

from collections.abc import Sequence

from mixer.record import record
from mixer.words.english.told import section_told
from mixer.words.speech import bars, series

EVERYONE = "everyone"


def song(title: str, by: str, seconds: float, count: int, tempo: float, key: str, time: str) -> str:
    """Say what the song is."""
    maker = f", by {by}" if by else ""
    in_key = f", in {key}" if key else ""
    return f"{title}{maker}. It lasts {length(seconds)}, {bars(count)} of {time} at {tempo:g} beats a minute{in_key}."


def length(seconds: float) -> str:
    """Give `1 minute 22 seconds`."""
    minutes, rest = divmod(round(seconds), 60)
    parts = [_count(minutes, "minute")] if minutes else []
    parts += [_count(rest, "second")] if rest or not minutes else []
    return " ".join(parts)


def layers(names: Sequence[tuple[str, str, str]]) -> str:
    """Say which layers there are, with role and loop."""
    told = [f"{name} ({role}, loop {loop})" for name, role, loop in names]
    return f"{_count(len(names), 'layer')}: {series(told)}."


def section(letter: str, name: str, first: int, count: int, seconds: float) -> str:
    """Say which section it is and where."""
    return f"Section {letter}, {name}, {bars(count)} from bar {first}, after {length(seconds)}."


@record
class _Player:
    layer: str
    spans: tuple[tuple[int, int], ...]


def players(entries: Sequence[tuple[str, tuple[tuple[int, int], ...]]], count: int) -> str:
    """Say who plays, and in which bars of the section (of so many) where that is not all of them."""
    told = section_told("", count, [_Player(layer, spans) for layer, spans in entries]).partition(": ")[2]
    return _sentence(told)


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}."


def level(layer: str, level_db: float) -> str:
    """Say that a layer is softer or louder here."""
    return _sentence(f"{layer} is {'softer' if level_db < 0 else 'louder'} here")


def fade(who: str, way: str, count: float) -> str:
    """Say that somebody fades in or out."""
    length_told = "1 bar" if count == 1 else f"{count:g} bars"
    return _sentence(f"{who} fades {way} over {length_told}")


def meant(text: str) -> str:
    """Say what was meant."""
    return f"It is meant as: {text}."


def ending(kind: str) -> str:
    """Say how it ends."""
    return "It ends with a last hit that dies away." if kind == "last hit" else "It stops at the end of the last bar."


def _count(number: int, what: str) -> str:
    return f"1 {what}" if number == 1 else f"{number} {what}s"
