"""What `fits --all` says of a set of loops: which pairs go together, what came of songs by chance, what to listen to."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from mixer.words.english import bears
from mixer.words.english.fits import count
from mixer.words.speech import bars as bars_told
from mixer.words.speech import series

PAIRS, SONGS, WORST = "pairs.txt", "songs", "to hear.wav"
TOGETHER = "These go together in every bar:"
CLOSE = "These are close, and may want a listen:"
UNKNOWN = "Of these not all chords are on the cards, so only the key was looked at. Listen:"
APART = "These clash:"
NO_PITCH = "These have no pitch, so nothing of them can clash with chords:"
OTHER_TIME = "These are counted in another time, and go with none of the others:"
FAR = "These are stretched or moved further here than they bear:"
ENDING = "The program checked tempo, chords, crowding and level; taste is yours."
ONE_ROLE = "There are no two loops of different roles."
NONE_THERE = "There are no loops to hold against each other."


def heading(loops: int, tempo_bpm: float, key: str, brief: str) -> str:
    """Say what is looked at."""
    frame = f"{tempo_bpm:g} beats a minute{f', {key}' if key else ''}"
    inside = f', inside the brief "{brief}"' if brief else ""
    return f"{loops} loops, each with each of another role, in a song of {frame}{inside}."


def making(number: int, all_of_them: int) -> str:
    """Say which song is being made."""
    return f"song {number} of {all_of_them}"


def how_long(songs: int, seconds: float) -> str:
    """Say about how long the songs will take, from how long the first ones took."""
    left = f"{round(seconds)} seconds" if seconds < 90 else f"{round(seconds / 60)} minutes"
    return f"{songs} songs by chance will take about {left} more."


def pair(one: str, others: Sequence[str], reasons: str) -> str:
    """Say how a loop goes with others."""
    return f"{one} with {series(others)}{f': {reasons}' if reasons else ''}"


def far(name: str, tempos_bpm: tuple[float, float] | None, semitones: tuple[int, int] | None) -> str:
    """Say what a loop bears, where its card says so."""
    return f"{name}: {bears.sentence(tempos_bpm, semitones)}" if tempos_bpm else name


def came_of(made: int, outside: int, unusable: Sequence[str], troubled: Mapping[str, int]) -> list[str]:
    """Say what came of the songs."""
    told = [
        f"{made} songs by chance were made and measured." if made != 1 else "1 song by chance was made and measured."
    ]
    if outside:
        told.append(f"{outside} more could not be put together inside the brief.")
    if unusable:
        told.append(f"The sound of {series(unusable)} cannot be used.")
    found = [f"  {_TROUBLES[kind]}: {number}" for kind, number in troubled.items() if number]
    return (
        [*told, "In so many of them was something to hear:", *found] if found else [*told, "Nothing was found in them."]
    )


_TROUBLES = {
    "silent": "nothing can be heard",
    "quiet": "not as loud as songs are, since that would take too much limiting",
    "clash": "chords clash",
    "limited": "peaks had to be held down a lot",
    "crowded": "two loops are strong in the bass at once",
}


def moment(kind: str, song: int, bar: int, who: Sequence[str], chords: Sequence[str], bars: int) -> str:
    """Say what is wrong in a moment."""
    what = {
        "silent": "nothing can be heard",
        "quiet": "the song does not get as loud as songs are",
        "clash": f"{series(who)} clash in {bars_told(bars)}{f' ({series(chords)})' if chords else ''}",
        "limited": "peaks had to be held down a lot",
        "crowded": f"{series(who)} are strong in the bass together in {bars_told(bars)}",
    }[kind]
    return f"song {song}, from bar {bar}: {what}"


def worst(moments: Sequence[str], place: str) -> list[str]:
    """Say what to listen to."""
    first = (
        f"The {count(len(moments))} gravest, one after the other, are in {place}:"
        if len(moments) > 1
        else f"It is in {place}:"
    )
    return [first, *(f"  {number}. {each}" for number, each in enumerate(moments, start=1))]


def all_pairs_in(place: str) -> str:
    """Say where every pair is told with all reasons."""
    return f"Every pair with all its reasons is in {place}."


def unwritten(place: str, why: str) -> str:
    """Say that it could not be written."""
    return f'"{place}" could not be written{f" ({why})" if why else ""}.'
