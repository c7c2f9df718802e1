"""The part of a song with which loops are heard: its chorus, or else the section in which most layers play."""

from __future__ import annotations

import numpy as np

from mixer.music.meter import Meter, nearest_frame
from mixer.record import record
from mixer.signal.blocks import Samples
from mixer.song.mix import Mix
from mixer.song.plan import Plan
from mixer.song.render import prepare
from mixer.text.names import same_name

MOST_BARS = 8


@record
class Chorus:
    """Some bars of a song, unfinished, each layer at its place in the mix.

    Parameters
    ----------
    name : of the section
    samples : float32, shape (frames, 2), whole bars, so that it can be heard round and round
    rate_hz : of the samples
    meter : of the song; loops in another time cannot be heard with it
    """

    name: str
    samples: Samples
    rate_hz: int
    meter: Meter


def chorus_of(plan: Plan) -> Chorus | None:
    """Make a song's chorus, at most eight bars of it; None where nothing can be heard in it."""
    sections = plan.recipe.sections
    if not sections:
        return None
    named = [number for number, each in enumerate(sections) if same_name(each.name).startswith("chorus")]
    number = named[0] if named else max(range(len(sections)), key=lambda at: len(sections[at].entries))
    first = sum(section.bars for section in sections[:number])
    bars = min(MOST_BARS, sections[number].bars)
    start, end = nearest_frame(first * plan.bar_frames), nearest_frame((first + bars) * plan.bar_frames)
    mix = Mix(plan, prepare(plan)[0])
    found = np.zeros((end - start, 2), np.float32)
    at = 0
    for block in mix.blocks():
        low, high = max(start, at), min(end, at + len(block))
        if low < high:
            found[low - start : high - start] = block[low - at : high - at]
        at += len(block)
    return Chorus(sections[number].name, found, plan.rate_hz, plan.frame.meter) if found.any() else None
