"""Sentences about a song that was read: what is doubtful in it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from mixer.words.english.bears import between, semitones_told, up_to
from mixer.words.speech import advice, bars, mistake, series


def _number(value: float) -> str:
    return f"{value:g}"


@mistake
def other_meter(name: str, own: str, song: str, such_as: str) -> tuple[str, str]:
    return (
        f'the loop "{name}" is counted in {own} and this song in {song}, so they cannot go together; it was left out.',
        f"Choose a loop in {song}, such as {such_as}, or make it a song in {own}: time: {own}"
        if such_as
        else f"No loop here is in {song}. Make it a song in {own}: time: {own}",
    )


@advice
def layer_unused(name: str) -> tuple[str, str]:
    return (
        f'the layer "{name}" is not heard anywhere in the song.',
        "Let it play in a section, or take it out.",
    )


@advice
def stretched_far(
    name: str,
    own: float,
    counted: float,
    song: float,
    slower: bool,  # noqa: FBT001 - a fact, given by name
    well: tuple[float, float] | None,
) -> tuple[str, str]:
    made_for = f"{_number(own)} beats a minute"
    made_for += f" ({_number(round(counted, 1))} counted as this song is)" if abs(counted - own) > 0.1 else ""
    how = f"{'' if well else 'much '}{'slower' if slower else 'faster'}"
    bears = f"it sounds well {between(well)}." if well else "it may not sound like itself."
    return (
        f'the loop "{name}" was made for {made_for} and is played {how} here, at {_number(song)}; {bears}',
        "Listen to it. A loop with a tempo nearer to the song's, or another tempo for the song, would help.",
    )


@advice
def card_tempo(name: str, listed: float, sounds: float, bar: int, early: float) -> tuple[str, str]:
    when = f"{abs(early):.1f} s {'early' if early > 0 else 'late'}"
    return (
        f'the loop "{name}" is listed at {_number(listed)} beats a minute but sounds like {round(sounds, 1):g}: '
        f"bar {bar} would come {when}.",
        "What the list says is used. If it is wrong, correct the tempo in loops.yaml; if it is right, write "
        "# checked after it, and this is not told again.",
    )


@advice
def card_key(name: str, listed: str, sounds: str, semitones: int) -> tuple[str, str]:
    how = f"{abs(semitones)} {'semitone' if abs(semitones) == 1 else 'semitones'} too {'high' if semitones > 0 else 'low'}"
    return (
        f'the loop "{name}" is listed {f"in {listed}" if listed else "without a key"} but sounds like {sounds}: '
        f"here it would be {how}.",
        "What the list says is used. If it is wrong, correct the key in loops.yaml; if it is right, write "
        "# checked after it, and this is not told again.",
    )


@advice
def card_bars(name: str, listed: float, sounds: float) -> tuple[str, str]:
    return (
        f'the loop "{name}" is listed with {bars(int(listed))} but sounds like {_number(sounds)}: '
        "there would be silence after them.",
        "What the list says is used. If it is wrong, correct the bars in loops.yaml; if it is right, write "
        "# checked after them, and this is not told again.",
    )


@advice
def moved_far(
    name: str,
    own: str,
    song: str,
    semitones: int,
    voice: bool,  # noqa: FBT001 - a fact, given by name
    well: tuple[int, int] | None,
) -> tuple[str, str]:
    way = "down" if semitones < 0 else "up"
    bears = f"it sounds well {up_to(well)}." if well else "it may not sound like itself."
    colour = "" if voice else f": it also gets {'darker' if semitones < 0 else 'brighter'}"
    return (
        f'the loop "{name}" is in {own} and is moved {semitones_told(semitones)} {way} to {song}; {bears}',
        f"Listen to it{colour}. A loop in a nearer key, or another key for the song, would help.",
    )


@advice
def loop_cut(section: str, bars: int, layers: Sequence[str], loop_bars: float) -> tuple[str, str]:
    one = len(layers) == 1
    length = "1 bar" if bars == 1 else f"{bars} bars"
    return (
        f'the section "{section}" has {length}, and the {"loop" if one else "loops"} of {series(layers)} '
        f"{'is' if one else 'are'} longer ({_number(loop_bars)} bars), so only the beginning is heard.",
        "That may be just what you want. If not, give the section more bars.",
    )


@advice
def keys_differ(keys: Mapping[str, str]) -> tuple[str, str]:
    told = series(f"{name} is in {key}" for name, key in keys.items())
    first = next(iter(keys.values()))
    return (
        f"this song names no key, and its loops are in different ones: {told}. They may clash.",
        f"Write, for example: key: {first}",
    )


@advice
def chords_clash(
    layer: str, there: Sequence[str], section: str, bars: Sequence[int], pairs: Sequence[str]
) -> tuple[str, str]:
    where = f"{'bar' if len(bars) == 1 else 'bars'} {series(bars)}"
    return (
        f'in the section "{section}", the chords of {layer} clash with those of {series(there)} in {where} ({series(pairs)}).',
        "Listen to it. If it hurts, choose another loop (mixer fits names some), or let them take turns.",
    )
