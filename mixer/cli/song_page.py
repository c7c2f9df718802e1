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
    from mixer.cli.brief import look_of  # noqa: PLC0415 - the same
    from mixer.coach.mood import mood as mood_of  # noqa: PLC0415 - loads numpy
    from mixer.coach.page import song_page  # noqa: PLC0415 - the same
    from mixer.coach.seen import see  # noqa: PLC0415 - the same
    from mixer.store.whole import write_text  # noqa: PLC0415 - the same

    made, sound = made_sound(opened)
    seen = see(opened, made.materials)
    if opened.plan is None or seen is None or made.report is None:
        return None
    svg = "" if draw is None else draw(opened.plan, seen)
    lines = mood_of(opened.plan, seen.energy) if mood else ()
    brief = look_of(opened, seen.energy)
    told = [] if brief is None else brief.lines
    write_text(place, song_page(opened, seen, sound, svg=svg, brief=told, mood=lines))
    return made


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
