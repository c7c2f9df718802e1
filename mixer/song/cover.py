"""A song's chart as the picture on its file: players show it while the song is heard."""

from __future__ import annotations

from mixer.pages.engrave import engrave
from mixer.pages.png import NoPillowError, as_png
from mixer.song.charted import chart_of
from mixer.song.plan import Plan


def cover_of(plan: Plan) -> bytes:
    """Give the chart as PNG; nothing where this machine cannot draw one."""
    try:
        return as_png(engrave(chart_of(plan))[:1])
    except NoPillowError:
        return b""
