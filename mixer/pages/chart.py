"""A song's form as plain data: what a chart is drawn from, whoever made the song.

Bars are counted in the song from 1. A place between bars is a number of bars too: 5.0 is where bar 5 begins, 5.5 its
middle, and a fade over bars 5 and 6 goes from 5.0 to 7.0.
"""

from __future__ import annotations

from mixer.record import record

SCORE_ORDER = ("voice", "melody", "harmony", "background", "bass", "percussion", "drums")
"""Roles from the top of a score to its bottom: tunes above, rhythm below (common practice, no source)."""


@record
class ChartSection:
    """A section: its rehearsal letter, its name, its bars, and what its maker meant with it."""

    letter: str
    name: str
    first_bar: int
    bars: int
    meant: str = ""

    @property
    def last_bar(self) -> int:
        """The last bar that belongs to it."""
        return self.first_bar + self.bars - 1


@record
class Hairpin:
    """A fade from one place to another; `up` where it grows louder."""

    start: float
    end: float
    up: bool


@record
class ChartLayer:
    """A layer along the song.

    Parameters
    ----------
    name : as its maker wrote it
    role : one of `SCORE_ORDER`
    heard : first and last bars, in order
    hairpins : its fades
    levels : the bar from which a level counts, and the level, "pp" to "ff"
    """

    name: str
    role: str
    heard: tuple[tuple[int, int], ...]
    hairpins: tuple[Hairpin, ...] = ()
    levels: tuple[tuple[int, str], ...] = ()

    def sounds(self, bar: int) -> bool:
        """Whether it is heard in a bar."""
        return any(first <= bar <= last for first, last in self.heard)


@record
class Beat:
    """The note that is counted: 4 is a quarter note (crotchet), 2 a half, 8 an eighth; with a dot in compound time."""

    unit: int = 4
    dotted: bool = False


@record
class Chart:
    """A whole song.

    Parameters
    ----------
    title, by : as written; `by` may be empty
    tempo : beats a minute, as text
    key, time : as text; the key may be empty
    beat : what is counted
    beats_per_bar : how many of them
    bar_seconds : length of a bar
    length : of the song, as text, minutes and seconds
    sections, layers : in the order of the song and of the recipe
    energy : for each bar 0 (this song's quietest) to 1 (its fullest); empty where it was not measured
    """

    title: str
    by: str
    tempo: str
    key: str
    time: str
    beat: Beat
    beats_per_bar: int
    bar_seconds: float
    length: str
    sections: tuple[ChartSection, ...]
    layers: tuple[ChartLayer, ...]
    energy: tuple[float, ...] = ()

    @property
    def bars(self) -> int:
        """How many bars the sections have together."""
        return sum(section.bars for section in self.sections)

    @property
    def groups(self) -> list[tuple[str, list[ChartLayer]]]:
        """The layers by role, in the order of a score."""
        groups = [(role, [layer for layer in self.layers if layer.role == role]) for role in SCORE_ORDER]
        return [(role, layers) for role, layers in groups if layers]

    @property
    def in_score_order(self) -> list[ChartLayer]:
        """The layers from the top of the chart to its bottom."""
        return [layer for _, layers in self.groups for layer in layers]
