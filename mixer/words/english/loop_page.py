"""What stands on the page of all loops."""

from __future__ import annotations

from mixer.words.speech import bars

TITLE = "The loops"
INTRO = (
    "Listen, and choose. Write a loop's name in your recipe, after a word of your own and a colon: {line}",
    "Nothing plays by itself. All loops are equally loud here; in a song each gets its place.",
)
LINE = "drums: tin-roof"
LEVEL_CHECK = "Level check"
LEVEL = "How loud"
SEARCH = "Look for"
SEARCH_HINT = "a name, a key, a set, a role"
STOP = "Stop"
KEYS = "Esc stops. Tab goes on, Space or Enter plays what is chosen."
PLAY = "Play"
COPY = "Copy the name"
CONTROLS = "Level, stop and search"
SCRIPT = {
    "play": "Play",
    "stop": "Stop",
    "playing": "Playing {name}, round and round.",
    "stopped": "Silence.",
    "copied": "{name} is copied. Paste it into your recipe.",
    "choose": "{name} is marked. Copy it with your keyboard.",
    "found": "{count} loops",
    "one": "1 loop",
    "none": "No loop has all of that.",
    "cannot": "This browser cannot play {name}.",
}
AT = "All of them are played at {tempo} beats a minute{key}."
IN_KEY = " and in {key}"
OWN = "Each is played at its own tempo and in its own key."


def together(section: str) -> str:
    """Say with which part of the song loops are heard."""
    return f'Together with the section "{section}" of your song'


ONLY_ON_A_PAGE = "it is for the page: add --page loops.html."


def facts(tempo_bpm: float, key: str, count: int, time: str, of_set: str, *, as_it_is: bool) -> str:
    """Give what a loop is, in one line."""
    told = [f"{tempo_bpm:g} beats a minute", key or "no key", f"{bars(count)} of {time}"]
    line = ", ".join([*told, *([f"set: {of_set}"] if of_set else [])])
    return line if as_it_is else f"By itself: {line}"


def chords(names: str) -> str:
    """Give the chords, one a bar."""
    return f"Chords: {names}"


def made_by(maker: str, licence: str) -> str:
    """Give who made a loop, and under which licence."""
    by = f"By {maker}" if maker else "Maker unknown"
    return f"{by}. {f'Licence: {licence}' if licence else 'Licence unknown'}."


def rhythm(starts: int, shown: int, count: int) -> str:
    """Say what the picture of a rhythm shows."""
    more = f" (of {count})" if shown < count else ""
    if not starts:
        return "No beats to see: it sounds on and on."
    return f"Rhythm: {'1 note begins' if starts == 1 else f'{starts} notes begin'} in {bars(shown)}{more}."


MAKING = "preparing"


def written(path: str, count: int, megabytes: float) -> str:
    """Say where the page is."""
    are = "1 loop is" if count == 1 else f"{count} loops are"
    return f"{are} in {path} ({megabytes:.1f} MB). Open it in a browser; it needs no network."


def left_out(name: str) -> str:
    """Say that a loop's sound could not be used."""
    return f'"{name}" is not on the page: its sound cannot be used.'
