"""What is said beside the changes of two versions: how to listen to them, what they did, and what was meant."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence

from mixer.words.english.changes import bars_at
from mixer.words.english.names import quoted
from mixer.words.speech import bars, series

OLD = "old"
NEW = "new"
NOTHING_TO_HEAR = "There is no change that could be heard, so no sound was made."
HOW_COUNTED = "Bars are counted as they are now; only where it says before, as they were."
WHAT_IT_DID = "What that did:"
ONLY_ONE = "There is no earlier version of this song to compare it with."
NO_VERSIONS = "No earlier version of this song is kept yet. Each song that is rendered without mistakes is kept as one."


def is_there(name: str) -> str:
    """Say that nothing is written over."""
    return f'"{name}" is there already, and nothing was changed. Choose another name.'


def not_written(place: str, why: str) -> str:
    """Say that a file could not be written."""
    return f"{place} could not be written{f' ({why})' if why else ''}."


def wrong_ending(name: str, ending: str) -> str:
    """Say what a file's name must end in."""
    return f'it ends in {ending}, and "{name}" does not.'


def sound_written(
    place: str, count: int, more: int, cut_at: int, again: Iterable[tuple[str, Sequence[int]]]
) -> list[str]:
    """Say where the sound is and how to listen to it.

    Parameters
    ----------
    place : the file
    count, more : places in it, and places that are not
    cut_at : bars after which long places end; 0 where none is long
    again : sections that are heard once for several, and the bars from which those are that are not heard
    """
    places = "1 place" if count == 1 else f"{count} places"
    lines = [
        f"To hear it: {place}",
        f"{places}, with a bar before: one soft tone, then the old version; two soft tones, then the new one.",
        "Both are equally loud. Start low, and turn up only until it is comfortable.",
    ]
    if cut_at:
        lines.append(f"Of long places you hear the first {bars(cut_at)}.")
    if told := [f"{name}, and again from {bars_at(others)}" for name, others in again]:
        lines.append(f"What comes again is heard at its first place only: {'; '.join(told)}.")
    if more:
        lines.append(f"There are {more} more places, which are not in it.")
    return lines


def lengths(old_seconds: float, new_seconds: float) -> str:
    """Say how long the song is now, and was."""
    old, new = (f"{round(each) // 60}:{round(each) % 60:02}" for each in (old_seconds, new_seconds))
    return f"The song lasts {new}, as before." if old == new else f"The song lasts {new} now; it was {old}."


def effect_told(places: Sequence[tuple[str, int]], fuller: int, busier: int) -> str:
    """Say what became of sections; 1 for more, -1 for less, 0 for about as before."""
    return f"{_sections(places)}: {_became(fuller, busier)} than before"


def _sections(places: Sequence[tuple[str, int]]) -> str:
    """Give `verse and chorus (from bars 5 and 13)`."""
    return f"{series(dict.fromkeys(name for name, _ in places))} (from {bars_at(bar for _, bar in places)})"


def _became(fuller: int, busier: int) -> str:
    return series(word for word in (_FULLER.get(fuller), _BUSIER.get(busier)) if word)


_FULLER = {1: "fuller", -1: "less full"}
_BUSIER = {1: "busier", -1: "calmer"}

CHANGES = "What changed"
OLD_VERSION = "Old version"
NEW_VERSION = "New version"
HOW_TO_LISTEN = (
    "Play, then change between old and new as often as you like: you stay at the same place in the song. Each change below "
    "plays from a bar before it. Both versions are equally loud."
)
KEYS = (
    ("Space", "play and pause"),
    ("↑", "the old version"),
    ("↓", "the new version"),
    ("← →", "a bar back or on"),
    ("Shift ← →", "a section back or on"),
)
SCRIPT = {
    "to": ["Hear the old version", "Hear the new version"],
    "place": [
        "old version: {section}, bar {inner} of {count} (bar {bar} of {bars})",
        "new version: {section}, bar {inner} of {count} (bar {bar} of {bars})",
    ],
    "same": ["Now the old version, {section}, bar {inner}.", "Now the new version, {section}, bar {inner}."],
    "shorter": [
        "Now the old version. There this section ends earlier; you hear {section}, bar {inner}.",
        "Now the new version. There this section ends earlier; you hear {section}, bar {inner}.",
    ],
    "alone": [
        "Now the old version. It has no section like {other}; the nearest place is {section}, bar {inner}.",
        "Now the new version. It has no section like {other}; the nearest place is {section}, bar {inner}.",
    ],
    "loading": "Getting both versions ready ...",
    "unplayable": "This browser cannot play the songs in this page. Another browser may.",
}
"""In pairs: of the old version, of the new one."""


NO_PAGE = "There is no song of one of the versions, so no page was made."


def page_title(old: str, new: str) -> str:
    """Give what the page is called."""
    return f"{new}: two versions" if old == new else f"{old} and {new}: two versions"


def tempo(beats: str) -> str:
    """Give `96 beats a minute`."""
    return f"{beats} beats a minute"


def somebodys(name: str) -> str:
    """Say that a file stays, since it is a person's."""
    return f'"{name}" was not made by this program, so it was left as it is. Rename it to get what belongs there.'


def page_written(place: str) -> str:
    """Say where the page is."""
    return f"The page with both versions, with both songs inside, is {place}"


# Words of amount alone, which say how much is meant to go on: how full (or loud), and how busy. What a feeling needs,
# and whether a key is sad, is the maker's to say.
_AMOUNTS: Mapping[str, tuple[int, int]] = {
    **dict.fromkeys(("full", "loud", "strong", "big", "huge", "heavy", "thick", "rich", "powerful"), (1, 0)),
    **dict.fromkeys(("quiet", "soft", "small", "thin", "empty", "bare", "sparse", "silent", "tiny"), (-1, 0)),
    **dict.fromkeys(("busy", "restless", "hectic", "bustling"), (0, 1)),
    **dict.fromkeys(("calm", "peaceful", "restful", "sleepy"), (0, -1)),
    **dict.fromkeys(("wild", "exciting", "excited"), (1, 1)),
}
_BESIDE = frozenset(("and", "very", "really", "quite", "rather", "more", "so"))


def amounts_in(text: str) -> tuple[int, int]:
    """Read how full and how busy something is meant to be: 1 for more, -1 for less, 0 where the words leave it open.

    Only a text that says nothing else is read: "not loud" and "the big ship" are for people.
    """
    said = [word for word in re.findall(r"\w+", text.casefold()) if word not in _BESIDE]
    if not all(word in _AMOUNTS for word in said):
        return 0, 0
    full, busy = ({_AMOUNTS[word][which] for word in said} - {0} for which in (0, 1))
    return (full.pop() if len(full) == 1 else 0), (busy.pop() if len(busy) == 1 else 0)


def toward(places: Sequence[tuple[str, int]], meant: str, became: tuple[int, int], nearer: int | None) -> str:
    """Say whether sections came nearer to what their maker wrote.

    Parameters
    ----------
    places : their names, and the bars from which they are
    meant : what was written
    became : fuller and busier, as in `effect_told`
    nearer : 1 for nearer, -1 for further away, 0 for both in one; None where the words alone do not say it
    """
    said = f"{_sections(places)}: you wrote {quoted(meant)}, and it is {_became(*became)} than before"
    if nearer is None:
        return f"{said}. Is that nearer to it, or further away? Only you can tell."
    return f"{said}: {_NEARER[nearer]}"


_NEARER = {
    1: "nearer to your words",
    -1: "further away from your words",
    0: "nearer to your words in one way, further away in the other",
}


def energy_asked(question: str, now: str, before: str) -> str:
    """Say what can be seen, now and before, of something that the brief asks to find out."""
    return f"the brief asks about this: {question}. Now {now}; before, {before}"


def another_recording(song: str, loops: Sequence[str]) -> str:
    """Say that a song was made with loops that are not there any more."""
    names = series(loops)
    it = "that recording is" if len(loops) == 1 else "those recordings are"
    return (
        f"{song} was made with another recording of {names}; {it} not here. What is measured or heard of it below is made "
        "anew, with the loops of now."
    )
