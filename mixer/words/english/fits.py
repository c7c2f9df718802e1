"""What `fits` says: which loops go together, and why."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from mixer.words.english.bears import between, semitones_told, up_to
from mixer.words.speech import bars as bars_told
from mixer.words.speech import series

_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight")


class BarTold(Protocol):
    """Two chords in one bar."""

    @property
    def number(self) -> int:
        """Counted from 1."""

    @property
    def there(self) -> object:
        """The chord that is there."""

    @property
    def new(self) -> object:
        """The chord that would come."""

    @property
    def agrees(self) -> bool:
        """Whether one has all notes of the other."""

    @property
    def clashes(self) -> bool:
        """Whether they hurt each other."""


def heading(name: str, tempo_bpm: float, key: str) -> str:
    """Say what the loops are held against."""
    facts = f"{tempo_bpm:g} beats a minute{f', {key}' if key else ''}"
    return f"What goes with {name} ({facts}), best first:"


BETTER_NOT = "Better not:"
ENDING = "The program checked tempo, chords, crowding and rhythm; taste is yours."
NOTHING = "No other loop is there."
LISTENING = "listening to"
NAME_ONE = "name a loop or a recipe, or use --all."


def unknown(name: str, near: str | None) -> str:
    """Say that there is no such loop or recipe."""
    guess = f' Did you mean "{near}"?' if near else ' "mixer loops" lists the loops.'
    return f'There is no loop or recipe called "{name}".{guess}'


def no_role(name: str, roles: Sequence[str]) -> str:
    """Say that loops have no such role."""
    return f'"{name}" is no role. The roles are {series(roles)}.'


def count(number: int) -> str:
    """Give a small number as a word."""
    return _NUMBERS[number] if number < len(_NUMBERS) else str(number)


def chords(bars: Sequence[BarTold]) -> str:
    """Say how chords go together, bar by bar."""
    agreeing = [bar for bar in bars if bar.agrees]
    if len(agreeing) == len(bars):
        return "the chord agrees" if len(bars) == 1 else f"all {count(len(bars))} chords agree"
    parts = [f"the chords agree in {_in(agreeing)}"] if agreeing else ["no chord is the same"]
    if near := [bar for bar in bars if not bar.agrees and not bar.clashes]:
        parts.append(f"they are close in {_in(near)} ({_pairs(near)})")
    if apart := [bar for bar in bars if bar.clashes]:
        parts.append(f"they clash in {_in(apart)} ({_pairs(apart)})")
    return "; ".join(parts)


def _in(bars: Sequence[BarTold]) -> str:
    word = "bar" if len(bars) == 1 else "bars"
    return f"{word} {series(bar.number for bar in bars)}"


def _pairs(bars: Sequence[BarTold]) -> str:
    return series(dict.fromkeys(f"{bar.new} over {bar.there}" for bar in bars))


def notes(shared: int, own: int) -> str:
    """Say how many notes of a loop's chords are there too."""
    return f"{count(shared) if shared else 'none'} of the {count(own)} notes of its chords {'is' if shared == 1 else 'are'} shared"


NO_PITCH = "it has no pitch that could clash"
NOTHING_TO_CLASH = "what is there has no pitch that it could clash with"
NO_CHORDS = "its chords are not on its card, so only the key was looked at: listen"


def tempo(own_bpm: float, stretch: float, *, far: bool, well: tuple[float, float] | None = None) -> str:
    """Say how far a loop is stretched, and between which tempos it sounds well, where that is known."""
    if abs(stretch - 1) < 0.001:
        return "its tempo stays as it is"
    how = "faster" if stretch < 1 else "slower"
    much = abs(1 / stretch - 1) if stretch < 1 else abs(1 - 1 / stretch)
    told = f"it is played {'much' if far and not well else 'a little' if not far else ''} {how}".replace("  ", " ")
    if much < 0.02:
        told = "its tempo changes by next to nothing"
    told += f" ({own_bpm:g} to {own_bpm / stretch:.4g} beats a minute)"
    if well is None:
        return f"{told}, which may be heard" if far else told
    return f"{told}, {'which may be heard: ' if far else 'and '}it sounds well {between(well)}"


def time_change(own: int, song: str) -> str:
    """Say that a loop's bars are counted in half or double time."""
    return f"its {bars_told(own)} take {song} of the song"


def moved(semitones: int, *, far: bool, well: tuple[int, int] | None = None) -> str:
    """Say how far a loop is transposed, and how far it may be where that is too far; empty if it is not."""
    if not semitones:
        return ""
    way = "up" if semitones > 0 else "down"
    told = f"it is moved {way} {semitones_told(semitones)} into the key"
    if not far:
        return told
    return f"{told}, which may be heard{f': it sounds well {up_to(well)}' if well else ''}"


def role(name: str, same: Sequence[str]) -> str:
    """Say whether a role is still empty."""
    if not same:
        return f"nothing plays {name} yet"
    return f"{series(same)} {'has' if len(same) == 1 else 'have'} the role {name} already"


def crowds(names: Sequence[str]) -> str:
    """Say that the bass gets crowded."""
    return f"it is strong in the bass, as {series(names)} {'is' if len(names) == 1 else 'are'}: together they can get muddy"


RHYTHM = {
    "together": "its notes begin mostly together with those that are there",
    "between": "its notes begin mostly between those that are there",
}


def same_set(name: str) -> str:
    """Say that a loop was made for the same set."""
    return f"made for the same set ({name})"


def wrong_time(own: str, song: str) -> str:
    """Say that a loop is counted otherwise."""
    return f"it is in {own} and cannot go with {song}"


def reasons(told: Sequence[str]) -> str:
    """Give the reasons as sentences."""
    return " ".join(f"{reason[0].upper()}{reason[1:]}." for reason in told)
