"""A song's own page, written by `mixer chart --out song.html`: the song is made, looked at, and put inside."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from mixer.cli.common import Progress

if TYPE_CHECKING:
    from collections.abc import Callable

    from mixer.coach.page import SongSound
    from mixer.coach.seen import Seen
    from mixer.pages.engrave import Paper
    from mixer.song.make import Made
    from mixer.song.opened import Opened
    from mixer.song.plan import Plan
    from mixer.song.songfile import SongFormat

# What browsers play, the smallest first that each of them plays.
_KINDS: tuple[tuple[SongFormat, str], ...] = (("mp3", "audio/mpeg"), ("ogg", "audio/ogg"), ("wav", "audio/wav"))


def write_page(
    opened: Opened, place: Path, draw: Callable[[Plan, Seen], str] | None = None, *, mood: bool = False
) -> Made | None:
    """Write a song's page.

    Parameters
    ----------
    opened : a recipe of which there is a plan
    place : the page's file
    draw : gives the chart as SVG; the chart in text if None
    mood : whether to say how it is often heard

    Returns
    -------
    what was made; None where there is no song to put inside, and no page is written

    Raises
    ------
    OSError
        If it cannot be written; what stood there stays.
    """
    from mixer.store.whole import write_text  # noqa: PLC0415 - help comes without it

    made, sound = made_sound(opened)
    page = page_of(opened, made, sound, draw, mood=mood)
    if not page:
        return None
    write_text(place, page)
    return made


def page_of(
    opened: Opened,
    made: Made,
    sound: SongSound | None,
    draw: Callable[[Plan, Seen], str] | None = None,
    *,
    mood: bool = False,
    mistakes: str = "",
    served: bool = False,
) -> str:
    """Give a song's page; empty where there is no song. See `write_page` and `mixer.coach.page`."""
    from mixer.cli.brief import look_of  # noqa: PLC0415 - the same
    from mixer.coach.mood import mood as mood_of  # noqa: PLC0415 - loads numpy
    from mixer.coach.page import song_page  # noqa: PLC0415 - the same
    from mixer.coach.seen import see  # noqa: PLC0415 - the same

    seen = see(opened, made.materials)
    if opened.plan is None or seen is None or made.report is None:
        return ""
    svg = "" if draw is None else draw(opened.plan, seen)
    lines = mood_of(opened.plan, seen.energy) if mood else ()
    brief = look_of(opened, seen.energy)
    told = [] if brief is None else brief.lines
    return song_page(opened, seen, sound, svg=svg, brief=told, mood=lines, mistakes=mistakes, served=served)


def draw_chart(plan: Plan, seen: Seen, paper: Paper = "a4", *, large: bool = False) -> str:
    """Draw the chart of a song as SVG, with bars that can be clicked."""
    from mixer.pages.engrave import engrave  # noqa: PLC0415 - help comes without it
    from mixer.pages.svg import as_svg  # noqa: PLC0415 - the same
    from mixer.song.charted import chart_of  # noqa: PLC0415 - the same
    from mixer.words.english.chart import described  # noqa: PLC0415 - the same

    song = chart_of(plan, seen.energy_shape)
    sections = [(each.letter, each.name, each.first_bar) for each in song.sections]
    return as_svg(
        engrave(song, paper, large=large), song.title, described(song.bars, song.length, sections), places=True
    )


def made_sound(opened: Opened) -> tuple[Made, SongSound | None]:
    """Make a song for inside a page; None for the sound where there is no song."""
    from mixer.coach.page import SongSound  # noqa: PLC0415 - loads numpy
    from mixer.song.make import Order, make  # noqa: PLC0415 - the same

    progress = Progress()
    try:
        for song_format, media_type in _KINDS:
            with TemporaryDirectory() as room:
                made = make(opened, Order(Path(room) / "song", song_format=song_format), progress)
                if made.report is not None:
                    return made, SongSound(made.report.song.read_bytes(), media_type)
                if not any(problem.kind == "no-encoder" for problem in made.problems):
                    break
    finally:
        progress.clear()
    return made, None
