"""The table of key words: what may stand where. The reader, the schema and the manual all read this one.

What each key word means is written in `mixer.words.manual`; a test holds that the two agree.
"""

from __future__ import annotations

from typing import Literal

from mixer.record import record
from mixer.text.grammar import Grammar

Where = Literal["top", "layer", "section", "entry"]


@record
class KeyWord:
    """One key word.

    Parameters
    ----------
    word : as it is written
    where : the places at which it may stand
    pattern : what its value looks like, as a regular expression for editors; empty for any text
    one_of : the only values it takes, if there are few
    required : whether it must be there
    free : whether its value is free text to the end of the line
    one_name : whether its value is a name that the writer gave to something
    block : whether it holds lines of its own
    """

    word: str
    where: tuple[Where, ...]
    pattern: str = ""
    one_of: tuple[str, ...] = ()
    required: bool = False
    free: bool = False
    one_name: bool = False
    block: bool = False


_LEVEL = r"^([+-]\d+([.,]\d+)?( ?dB)?|0|pp|p|mp|mf|f|ff)$"
_PAN = r"^(left|right) \d+ ?%?$|^cent(re|er)$"
_FADE = r"^\d+([.,]\d+)?( bars?)?$"
_SPANS = r"^\d+( ?- ?\d*)?( ?, ?\d+( ?- ?\d*)?)*$"

KEYWORDS = (
    KeyWord("title", ("top",), free=True),
    KeyWord("by", ("top",), free=True),
    KeyWord("about", ("top",), free=True),
    KeyWord("tempo", ("top",), pattern=r"^\d+([.,]\d+)?( ?bpm)?$", required=True),
    KeyWord("key", ("top",), pattern=r"^[A-Ga-g][#b♯♭]? ?[A-Za-z]+$"),
    KeyWord("time", ("top",), pattern=r"^\d+/(2|4|8|16)$"),
    KeyWord("brief", ("top",)),
    KeyWord("hear", ("top",), one_name=True),
    KeyWord("habits", ("top",), one_of=("verse and chorus", "dance", "rounds and cycles", "none")),
    KeyWord("may be heard", ("top",), one_of=("class", "school", "home")),
    KeyWord("ending", ("top",), one_of=("last hit", "stop")),
    KeyWord("layers", ("top",), required=True, block=True),
    KeyWord("sections", ("top",), required=True, block=True),
    KeyWord("loop", ("layer",), required=True),
    KeyWord("level", ("layer", "entry"), pattern=_LEVEL),
    KeyWord("pan", ("layer", "entry"), pattern=_PAN),
    KeyWord(
        "role",
        ("layer",),
        one_of=("drums", "bass", "harmony", "melody", "percussion", "voice", "background"),
    ),
    KeyWord("pitch", ("layer",), pattern=r"^([+-]\d+|0|as recorded)$"),
    KeyWord("speed", ("layer",), one_of=("half", "double", "as recorded")),
    KeyWord("name", ("section",), free=True),
    KeyWord("bars", ("section",), pattern=r"^\d+( bars?)?$"),
    KeyWord("play", ("section",), block=True),
    KeyWord("like", ("section",), one_name=True),
    KeyWord("without", ("section",)),
    KeyWord("meant", ("section",), free=True),
    KeyWord("continue", ("section",)),
    KeyWord("fade in", ("section", "entry"), pattern=_FADE),
    KeyWord("fade out", ("section", "entry"), pattern=_FADE),
    KeyWord("in bars", ("entry",), pattern=_SPANS),
    KeyWord("from the top", ("entry",), one_of=("yes", "no")),
)


# What people write for a key word, at the place given; never read as that word, only asked about.
SYNONYMS: dict[tuple[Where, str], str] = {
    **{("top", word): "tempo" for word in ("bpm", "speed", "beat", "beats", "pace")},
    **{("top", word): "title" for word in ("name", "song", "song name")},
    **{("top", word): "by" for word in ("artist", "author", "made by", "composer")},
    **{("top", word): "layers" for word in ("loops", "tracks", "instruments", "sounds")},
    **{("top", word): "sections" for word in ("parts", "song parts", "structure", "form")},
    ("top", "scale"): "key",
    ("top", "meter"): "time",
    **{("layer", word): "level" for word in ("volume", "loudness", "gain")},
    **{("layer", word): "loop" for word in ("sound", "file", "sample")},
    ("entry", "volume"): "level",
    ("entry", "bars"): "in bars",
    **{("section", word): "bars" for word in ("length", "bar", "long", "measures")},
    **{("section", word): "play" for word in ("layers", "plays", "with", "playing")},
}


def words_at(where: Where) -> tuple[str, ...]:
    """Give the key words that may stand at a place."""
    return tuple(keyword.word for keyword in KEYWORDS if where in keyword.where)


GRAMMAR = Grammar(
    keys=frozenset(keyword.word for keyword in KEYWORDS),
    top=frozenset(words_at("top")),
    free=frozenset(keyword.word for keyword in KEYWORDS if keyword.free),
    one_name=frozenset(keyword.word for keyword in KEYWORDS if keyword.one_name),
    blocks=frozenset(keyword.word for keyword in KEYWORDS if keyword.block),
    named={"layers": "loop", "play": "in bars"},
)
