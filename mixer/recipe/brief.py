"""What a brief says, as data, and the table of its key words.

A brief is the teacher's side: the limits of an assignment, its goal, and things to find out. The reader and the
manual read the table here; what each key word means is written in `mixer.words.brief_manual`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from fractions import Fraction
from typing import Literal

from mixer.music.keys import Key
from mixer.music.meter import Meter
from mixer.recipe.keywords import KEYWORDS
from mixer.recipe.model import ROLES
from mixer.record import record
from mixer.text.grammar import Grammar

ALL = "all"
MODES = ("major", "minor")
MUST_USE = ("level", "pan", "fade in", "fade out")
MOST_QUESTIONS = 9


@record
class Range:
    """From `least` to `most`, both allowed; None where that end is open."""

    least: Fraction | None
    most: Fraction | None

    def __contains__(self, number: float | Fraction) -> bool:
        return (self.least is None or number >= self.least) and (self.most is None or number <= self.most)

    def is_over(self, number: float | Fraction) -> bool:
        """Whether a number is more than is allowed."""
        return self.most is not None and number > self.most

    @property
    def is_open(self) -> bool:
        """Whether every number is allowed."""
        return self.most is None and not self.least


@record
class Brief:
    """An assignment.

    Parameters
    ----------
    file : the name of the file it was read from
    name, goal : as written; the file's stem where no name is given
    longest_seconds, shortest_seconds : limits of the song's length; None if there is none
    tempo_bpm : in which the tempo lies
    keys : keys that the song may be in, or `major` and `minor` for all of that mode; none for any
    meters : time signatures that it may have; none for any
    layers : how many layers of a role are heard in the whole song; `all` for the sum of all roles
    at_once : how many layers are heard in each bar
    loops : the loops that may be heard; none for any
    loops_from : the sets from which they may come; none for any
    sections : how many sections there are
    must_have : how the names of sections begin that must be there
    section_bars : how long each section may be; none for any length
    must_use : of `MUST_USE`, what must be heard somewhere
    ending : last hit or stop; empty for any
    habits : the style to compare with; empty if the brief names none
    questions : at most so many are asked about the song; None if the brief says nothing
    find_out : things to look at, not limits
    at : the places of what was written
    """

    file: str
    name: str
    goal: str = ""
    longest_seconds: Fraction | None = None
    shortest_seconds: Fraction | None = None
    tempo_bpm: Range | None = None
    keys: tuple[Key | str, ...] = ()
    meters: tuple[Meter, ...] = ()
    layers: Mapping[str, Range] = field(default_factory=dict)
    at_once: Range | None = None
    loops: tuple[str, ...] = ()
    loops_from: tuple[str, ...] = ()
    sections: Range | None = None
    must_have: tuple[str, ...] = ()
    section_bars: tuple[Range, ...] = ()
    must_use: tuple[str, ...] = ()
    ending: str = ""
    habits: str = ""
    questions: int | None = None
    find_out: tuple[str, ...] = ()


Kind = Literal["text", "duration", "range", "most", "values", "names", "texts", "one of", "roles", "number"]


@record
class BriefWord:
    """One key word of a brief.

    Parameters
    ----------
    word : as it is written
    kind : how its value is read
    one_of : the only values it takes, if there are few
    """

    word: str
    kind: Kind
    one_of: tuple[str, ...] = ()


WORDS = (
    BriefWord("brief", "text"),
    BriefWord("goal", "text"),
    BriefWord("longest", "duration"),
    BriefWord("shortest", "duration"),
    BriefWord("tempo", "range"),
    BriefWord("key", "values"),
    BriefWord("time", "values"),
    BriefWord("layers", "roles"),
    BriefWord("at once", "most"),
    BriefWord("loops", "names"),
    BriefWord("loops from", "names"),
    BriefWord("sections", "range"),
    BriefWord("must have", "names"),
    BriefWord("section bars", "values"),
    BriefWord("must use", "values", one_of=MUST_USE),
    BriefWord("ending", "one of", one_of=("last hit", "stop")),
    BriefWord("habits", "one of", one_of=("verse and chorus", "dance", "rounds and cycles", "none")),
    BriefWord("questions", "number"),
    BriefWord("find out", "texts"),
)
# No recipe has these.
OF_BRIEFS_ALONE = frozenset(word.word for word in WORDS) - {word.word for word in KEYWORDS}
ROLES_AND_ALL = (*ROLES, ALL)

# What people write for a key word; never read as that word, only asked about.
SYNONYMS = {
    **dict.fromkeys(("name", "title", "assignment"), "brief"),
    **dict.fromkeys(("aim", "task", "objective", "about"), "goal"),
    **dict.fromkeys(("max length", "maximum length", "length", "at most"), "longest"),
    **dict.fromkeys(("min length", "minimum length", "at least"), "shortest"),
    **dict.fromkeys(("bpm", "speed"), "tempo"),
    **dict.fromkeys(("meter", "time signature"), "time"),
    **dict.fromkeys(("bars", "bars of a section"), "section bars"),
    **dict.fromkeys(("set", "sets", "from"), "loops from"),
    **dict.fromkeys(("must contain", "needs", "needed"), "must have"),
    **dict.fromkeys(("listen for", "look at", "look for", "to find out"), "find out"),
    **dict.fromkeys(("style", "form"), "habits"),
}

ROLE_SYNONYMS = {
    **dict.fromkeys(("drum", "beat", "beats"), "drums"),
    **dict.fromkeys(("chord", "chords", "harmonies", "piano", "keys"), "harmony"),
    **dict.fromkeys(("melodies", "tune", "tunes", "lead"), "melody"),
    **dict.fromkeys(("basses", "bass line"), "bass"),
    **dict.fromkeys(("shaker", "shakers"), "percussion"),
    **dict.fromkeys(("voices", "vocals", "singing"), "voice"),
    **dict.fromkeys(("backgrounds", "noise", "noises"), "background"),
    **dict.fromkeys(("everything", "total", "altogether", "together", "layers"), ALL),
}

_FREE = frozenset({"goal", "find out"})
GRAMMAR = Grammar(
    keys=frozenset(word.word for word in WORDS) | frozenset(ROLES_AND_ALL),
    top=frozenset(word.word for word in WORDS),
    free=_FREE,
    one_name=frozenset({"brief"}),
    blocks=frozenset({"layers", "find out"}),
    named={"layers": ""},
)
