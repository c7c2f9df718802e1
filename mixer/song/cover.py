"""A song's chart as the picture on its file: players show it while the song is heard."""

from __future__ import annotations

from mixer.pages.chart import Chart
from mixer.pages.engrave import engrave
from mixer.pages.png import NoPillowError, as_png
from mixer.song.charted import chart_of
from mixer.song.plan import Plan


def cover_of(plan: Plan) -> bytes:
    """Give a song's chart as PNG; nothing where this machine cannot draw one."""
    return as_cover(chart_of(plan))


def as_cover(chart: Chart) -> bytes:
    """Give a chart as PNG; nothing where this machine cannot draw one."""
    try:
        return as_png(engrave(chart)[:1])
    except NoPillowError:
        return b""
