"""What `measure` says of a sound file, in sentences for a teacher."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Protocol

from mixer.words.speech import bars, series


class LoopTold(Protocol):
    """What was measured of a loop."""

    @property
    def role(self) -> str | None:
        """Its role."""

    @property
    def tempo_bpm(self) -> float | None:
        """Beats a minute; None for what is no loop."""

    @property
    def bars(self) -> int | None:
        """How many bars."""

    @property
    def time(self) -> str | None:
        """Its time signature."""

    @property
    def key(self) -> object | None:
        """Its key."""

    @property
    def chords(self) -> Sequence[str]:
        """One a bar."""

    @property
    def loudness_lufs(self) -> float | None:
        """How loud it is."""


def facts(loop: LoopTold) -> str:
    """Give one line: what a loop is."""
    key = str(loop.key) if loop.key else "no key"
    told = [
        f"{str(loop.role).capitalize()}",
        f"{loop.tempo_bpm:g} beats a minute",
        f"{bars(loop.bars or 0)} of {loop.time}",
        key,
    ]
    return ", ".join(told) + "."


def chords(names: Sequence[str]) -> str:
    """Give the chords, one a bar."""
    return f"Chords: {' | '.join(names)}"


def level(loudness_lufs: float, true_peak_dbtp: float) -> str:
    """Give how loud it is."""
    return f"Loudness {loudness_lufs:.1f} LUFS, highest peak {true_peak_dbtp:.1f} dBTP."


def origin(maker: str, licence: str, other: str) -> list[str]:
    """Say what a file's tags say of who made it and how it may be used."""
    told = [*([f"by {maker}"] if maker else []), *([f"licence {licence}"] if licence else [])]
    lines = [f"Its tags say: {series(told)}."] if told else []
    return [*lines, *([f'Its tags say about its use: "{other}". Ask your school what that means.'] if other else [])]


FROM_TAGS = "# from its tags"
ANSWERS = {
    "tempo_bpm": "tempo",
    "bars": "number of bars",
    "time": "time signature",
    "first_downbeat_seconds": "first downbeat",
    "key": "key",
    "chords": "chords",
    "role": "role",
}


def doubts(unsure: Sequence[str], others: Mapping[str, Sequence[object]]) -> list[str]:
    """Say what is not sure, and what else it could be."""
    plain = [ANSWERS[name] for name in unsure if not others.get(name)]
    told = [
        f"Not sure of the {ANSWERS[name]}: it could also be {series(map(_other(name), others[name]), 'or')}."
        for name in unsure
        if others.get(name)
    ]
    return [*told, *([f"Not sure of the {series(plain, 'or')}: listen and check."] if plain else [])]


def _other(name: str) -> Callable[[object], str]:
    unit = {"first_downbeat_seconds": " seconds"}.get(name, "")
    return lambda value: f"{value:g}{unit}" if isinstance(value, float) else f"{value}{unit}"


def _seconds(number: float) -> str:
    return "1 second" if number == 1 else f"{number:g} seconds"


def _beats(number: float) -> str:
    return "1 beat" if number == 1 else f"{number:g} beats"


_PROBLEMS: dict[str, Callable[..., str]] = {
    "silence in front": lambda seconds: f"There is silence in front: {_seconds(seconds)}.",
    "tail": lambda seconds: f"It rings on after its last bar: {_seconds(seconds)}.",
    "upbeat": lambda beats: f"Notes come before the first bar: an upbeat of {_beats(beats)}.",
    "cut short": lambda seconds: f"Its last bar is cut short: {_seconds(seconds)} are missing.",
    "join clicks": lambda: "It may click where its end meets its start.",
    "join changes colour": lambda: (
        "Where its end meets its start, it suddenly sounds different: brighter, duller or fuller."
    ),
    "clipped": lambda: "It was recorded too loud, and its peaks are cut off.",
    "DC": lambda: "Its wave does not lie around the middle, which can click at joins.",
    "one channel silent": lambda: "One of its two channels is silent.",
    "anti-phase": lambda: "Its two channels work against each other: on one loudspeaker it almost disappears.",
    "very soft": lambda: "It is very soft.",
    "too soft": lambda: "It is so soft that a song takes it for silence: record it again, nearer or louder.",
    "noise": lambda: "There is steady noise under it, such as hiss.",
    "whole song": lambda: "This is no loop: it is as long as a whole song.",
    "single hit": lambda: "This is no loop: it is a single hit or note.",
    "speech": lambda: "This is probably no loop: it sounds like someone speaking.",
    "no pulse": lambda: "This is too short for a loop.",
    "name tempo": lambda named, heard: (
        f"Its name or a tag says {named:g} beats a minute, but it sounds like {heard:g}."
    ),
    "name bars": lambda named, heard: f"Its name or a tag says {bars(named)}, but it sounds like {bars(heard)}.",
    "name key": lambda named, heard: f"Its name or a tag says {named}, but it sounds like {heard}.",
    "name role": lambda named, heard: f"Its name or a tag says {named}, but it sounds like {heard}.",
    "card tempo": lambda listed, heard: (
        f"Its card says {listed:g} beats a minute, but it sounds like {heard:.4g}. The card counts: correct it, or, "
        "if it is right, write # checked after its tempo."
    ),
    "card key": lambda listed, heard: (
        f"Its card says {listed or 'no key'}, but it sounds like {heard}. The card counts: correct it, or, "
        "if it is right, write # checked after its key."
    ),
    "card bars": lambda listed, heard: (
        f"Its card says {bars(listed)}, but it sounds like {heard:g}. The card counts: correct it, or, "
        "if it is right, write # checked after its bars."
    ),
    "sound-no-file": lambda: "There is no such file.",
    "sound-folder": lambda: "This is a folder.",
    "sound-odd": lambda: "This is a device or a pipe, not a file.",
    "sound-locked": lambda: "It may not be read.",
    "sound-large": lambda most: f"It is larger than {most} MB.",
    "sound-empty": lambda: "It is empty.",
    "sound-silent": lambda: "It holds only silence.",
    "sound-unknown": lambda: "It is no sound file, or of a kind that cannot be read.",
    "sound-unreadable": lambda: "It is damaged or cut off.",
    "sound-needs-ffmpeg": lambda: "To read it, the free program ffmpeg is needed on this computer.",
    "sound-rate": lambda rate_hz: f"It claims {rate_hz} samples a second, which no recording has.",
    "sound-channels": lambda channels: f"It has {channels} channels, which is too many.",
    "sound-broken": lambda: "It holds values that are no numbers.",
    "sound-wild": lambda: "It holds values far beyond any sound.",
}


def problem(kind: str, named: Mapping[str, object]) -> str:
    """Say what is wrong with a file."""
    return _PROBLEMS[kind](**named)


def knows(kind: str) -> bool:
    """Whether there are words for a kind of problem."""
    return kind in _PROBLEMS


NOTHING = "There are no sound files there."


def not_there(path: str) -> str:
    """Say that a path leads nowhere."""
    return f'There is nothing called "{path}".'


def summary(count: int, loops: int, unsure: int) -> str:
    """Say how many files were measured."""
    files = "1 file" if count == 1 else f"{count} files"
    told = f"{files} measured, {loops} of them loops" if count > 1 else f"{files} measured"
    return f"{told}; {unsure} with something to check by ear." if unsure else f"{told}."


def complete(count: int) -> str:
    """Say how many loops need no measuring."""
    are = "1 loop is" if count == 1 else f"{count} loops are"
    return f"{are} listed with all there is to know, and not measured again."


def not_looked_into(folders: Sequence[str]) -> str:
    """Name folders in a folder."""
    one = len(folders) == 1
    return (
        f"There are sounds in {series(folders)} too. To measure them, name {'that folder' if one else 'those folders'}."
    )


def stopped(count: int, of: int) -> str:
    """Say what is there after measuring was stopped."""
    return f"Stopped: {count} of {of} are measured and stay so. The same command goes on with the others."


def next_step(folder: str) -> str:
    """Say how to keep what was measured."""
    shown = f'"{folder}"' if " " in folder else folder
    return f"To write this into the folder's list of loops: mixer measure {shown} --write"


def written(path: str, new: int, filled: int) -> str:
    """Say what was added to a list of loops."""
    if not new and not filled:
        return f"{path} has everything already; nothing was changed."
    parts = [f"{_cards(new)} added"] if new else []
    parts += [f"{_cards(filled)} completed"] if filled else []
    return f"{path}: {series(parts)}. What stood there was kept as it was."


def _cards(count: int) -> str:
    return "1 loop" if count == 1 else f"{count} loops"


def not_utf8(path: str) -> str:
    """Say why a list of loops cannot be added to."""
    return f"{path} is not saved as UTF-8, so nothing was added. Save it as UTF-8 in your editor, then try again."


def unclear(path: str) -> str:
    """Say why a list of loops that is none cannot be added to."""
    return (
        f"{path} holds something that is no list of loops, so nothing was added. Put it right, or give it another name "
        "and try again."
    )


def in_braces(names: Sequence[str]) -> str:
    """Name cards that could not be completed."""
    card, lacks = ("card", "lacks") if len(names) == 1 else ("cards", "lack")
    return (
        f"The {card} of {series(names)} {lacks} something, but nothing can be added inside braces. Write each value on "
        "a line of its own."
    )


def not_writable(path: str) -> str:
    """Say why nothing was written."""
    return f"{path} could not be written. See whether its folder may be written to and the disk has room."


def gone(names: Sequence[str]) -> str:
    """Name loops whose file has gone."""
    are = "is" if len(names) == 1 else "are"
    return f"Listed, but the sound file {are} not there: {series(names)}. Their cards were left as they are."


CHECK = 'Lines that end in "# guess" are not sure: listen, put right what is wrong, and take those words away.'
COMMENT = "# Measured from the sound. What you write here stays as you write it."
MEASURING = "measuring"


COLOUR_MOVES = {"lower up to": "# it gets darker", "higher up to": "# it gets brighter"}


def guess(others: Sequence[object], name: str) -> str:
    """Give the remark beside a value that is not sure."""
    return f"# guess, or {series(map(_other(name), others), 'or')}" if others else "# guess, listen"
