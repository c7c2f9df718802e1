"""Sentences about key words: those that stand twice, and those that do not exist, with what may have been meant."""

from __future__ import annotations

from collections.abc import Sequence

from mixer.words.mend import Mend, instead
from mixer.words.speech import did_you_mean, mistake, series


@mistake
def key_twice(key: str) -> tuple[str, str]:
    word = key.lower()
    if word == "in bars":
        hint = "For several places write them in one line: in bars: 1-2, 5-6"
    elif word in ("layers", "sections"):
        hint = (
            f"Take this line out. Are the lines below it the same as further up? Then take them out too. "
            f'If not, move them up below the first "{key}:".'
        )
    elif word in ("bars", "play", "like", "without"):
        hint = "Take one of the two lines out. If a new section starts here, its first line needs a dash and a name."
    else:
        hint = "Take one of the two lines out."
    return f'"{key}" stands here a second time; only the first one counts.', hint


@mistake
def tempo_twice(key: str) -> tuple[str, str]:
    return f'"{key}" stands here a second time, and the song can have only one.', "Take one of the two lines out."


@mistake
def unknown_key(
    key: str, where: str, guess: str | None, known: Sequence[str]
) -> tuple[str, str] | tuple[str, str, Mend]:
    places = {"top": "in a recipe", "layer": "in a layer", "section": "in a section", "entry": "here"}
    message = f'there is no "{key}" {places[where]}; this line was left out.'
    if word := _CALLED.get((where, key.lower())):
        return message, f'It is called "{word}".', instead(word)
    told = _MEANT.get((where, key.lower())) or did_you_mean(guess)
    return message, told or f"What can stand {places[where]}: {series(known)}."


# Another word for the same thing: the value can stay as it is.
_CALLED = {
    **{("top", word): "tempo" for word in ("bpm", "beat", "beats", "pace", "speed")},
    **{("top", word): "title" for word in ("name", "song", "song name")},
    **{("top", word): "by" for word in ("artist", "author", "made by", "composer")},
    **{("top", word): "layers" for word in ("loops", "tracks", "instruments", "sounds")},
    **{("top", word): "sections" for word in ("parts", "song parts", "structure", "form")},
    ("top", "scale"): "key",
    ("top", "meter"): "time",
    **{("layer", word): "loop" for word in ("sound", "file", "sample")},
    ("entry", "bars"): "in bars",
    **{("section", word): "bars" for word in ("length", "bar", "long", "measures")},
    **{("section", word): "play" for word in ("layers", "plays", "with", "playing")},
}
_LEVEL = "How loud it is, is its level: level: -2 is a little softer, level: +2 a little louder."
_MEANT = {
    ("top", "length"): "How long a song lasts follows from its bars and its tempo. Take the line out.",
    ("top", "volume"): "How loud a layer is, stands below that layer: level: -2",
    **{(where, word): _LEVEL for where in ("layer", "entry") for word in ("volume", "loudness", "gain")},
    ("section", "repeat"): "To hear a section again, write its name again on a line below, with a dash: - chorus",
    ("section", "tempo"): "The tempo stands once, at the top, for the whole song. Take this line out.",
    ("section", "key"): "The key stands once, at the top, for the whole song. Take this line out.",
    ("section", "level"): "A level belongs to a layer: move this line below the name of that layer.",
    ("section", "volume"): "How loud a layer is, stands below that layer: level: -2",
    **{
        ("entry", word): "Say in one line in which bars it is heard: in bars: 5-8"
        for word in ("start", "end", "from", "to", "begin", "stop", "bar", "enter", "exit")
    },
}
