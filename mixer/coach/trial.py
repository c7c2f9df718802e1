"""A change to be heard before it is written: eight bars as they are and as they would be, one after the other.

Both are brought to one loudness, since of two sounds the louder one seems the better (common practice, no source), and
only with a gain: no limiter, so nothing but the change differs. The recipe is not touched.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np

from mixer import __version__
from mixer.material.fit import Material
from mixer.music.meter import nearest_frame
from mixer.recipe.change import Change, read_change
from mixer.recipe.model import Section
from mixer.record import record, replace
from mixer.signal.blocks import Samples
from mixer.signal.loudness import LoudnessMeter
from mixer.signal.truepeak import true_peak_dbtp
from mixer.signal.wav import Marker, WavWriter
from mixer.song.finish import CEILING_DBTP
from mixer.song.mix import Mix
from mixer.song.opened import Opened
from mixer.song.plan import Plan, plan
from mixer.song.render import Progress, prepare
from mixer.store.names import safe_name
from mixer.store.whole import whole_file
from mixer.words.problem import Place, Problem, Problems
from mixer.words.say import is_mistake

BARS = 8
LOUDEST_LUFS = -16.0
GAP_SECONDS = 1.0
EDGE_SECONDS = 0.01
LEAST_SECONDS = 0.5
"""Sound shorter than the standard measures is measured as if silence followed."""


@record
class Window:
    """Which bars of the song are heard, and the loudness of both versions in the file; None for silence."""

    first_bar: int
    last_bar: int
    loudness_lufs: tuple[float | None, float | None] = (None, None)


@record
class Tried:
    """What came of a try.

    Parameters
    ----------
    problems : what is to be told
    song : the file; None where nothing was made
    window : what is heard in it
    """

    problems: tuple[Problem, ...]
    song: Path | None = None
    window: Window | None = None


def try_out(opened: Opened, text: str, progress: Progress | None = None) -> Tried:
    """Make eight bars of a song as they are and as they would be.

    Parameters
    ----------
    opened : the song; nothing is tried where it could not be laid out
    text : the change, such as `chorus: without drums 1-4`
    progress : told what is being done

    Raises
    ------
    OSError
        If the file cannot be written.
    """
    now = opened.plan
    if now is None:
        return Tried(opened.problems)
    change = read_change(text, now.recipe)
    if change.recipe is None or change.section is None or any(map(is_mistake, change.problems)):
        return Tried(change.problems)
    then = plan(change.recipe, opened.library, now.rate_hz)
    section = now.recipe.sections[change.section]
    if [part.cues for part in now.parts] == [part.cues for part in then.parts]:
        if change.problems:  # they say why
            return Tried(change.problems)
        facts = {"section": section.name, "first": change.first_bar, "last": change.first_bar + section.bars - 1}
        where = Place("what you want to try", 1, 1, max(1, len(text)), text)
        return Tried((Problem("try-same", where, facts),))
    tried = _made(opened, (now, then), _window(change, now, then), progress)
    return replace(tried, problems=(*change.problems, *tried.problems))


def _window(change: Change, now: Plan, then: Plan) -> Window:
    """Eight bars with the change in them, from the section's start if that is near."""
    assert change.section is not None  # noqa: S101 - the caller looked
    bars = min(now.recipe.bars, then.recipe.bars)
    before, after = (each.recipe.sections[change.section] for each in (now, then))
    changed = _changed_bars(before, after)
    start = change.first_bar
    if changed[-1] > BARS:
        start += max(0, changed[0] - 1 - BARS // 4)
    start = max(1, min(start, bars - BARS + 1))
    return Window(start, min(bars, start + BARS - 1))


def _changed_bars(before: Section, after: Section) -> list[int]:
    """Bars of a section in which others are heard; its first where all differ in something else."""
    heard = [
        [{entry.layer for entry in section.entries if bar in entry.bars(section.bars)} for section in (before, after)]
        for bar in range(1, min(before.bars, after.bars) + 1)
    ]
    return [number for number, (old, new) in enumerate(heard, start=1) if old != new] or [1]


def _made(opened: Opened, plans: tuple[Plan, Plan], window: Window, progress: Progress | None) -> Tried:
    problems = Problems()
    materials: dict[str, Material] = {}
    for each in plans:
        made, unusable = prepare(each, progress)
        materials |= made
        problems += [problem for problem in unusable if problem not in problems]
    both = [_excerpt(each, materials, window) for each in plans]
    target = min(LOUDEST_LUFS, *(_reach(sound, plans[0].rate_hz) for sound in both))
    both = [_amplified(sound, target - _lufs(sound, plans[0].rate_hz)) for sound in both]
    song = opened.path.with_name(f"{safe_name(opened.path.stem)} (try).wav")
    _write(song, both, plans[0], opened.path.stem)
    first, second = (_or_none(_lufs(sound, plans[0].rate_hz)) for sound in both)
    return Tried(tuple(problems), song, replace(window, loudness_lufs=(first, second)))


def _excerpt(song: Plan, materials: dict[str, Material], window: Window) -> Samples:
    """Some bars of the unfinished song, with what dies away after its last."""
    start = nearest_frame((window.first_bar - 1) * song.bar_frames)
    last = window.last_bar >= song.recipe.bars
    edge = round(EDGE_SECONDS * song.rate_hz)
    # In the last moment before a bar line the next bar's layers fade in already.
    end = song.length_frames if last else nearest_frame(window.last_bar * song.bar_frames) - edge
    sound = np.zeros((end - start, 2), np.float32)
    at = 0
    for block in Mix(song, materials).blocks():
        low, high = max(start, at), min(end, at + len(block))
        if low < high:
            sound[low - start : high - start] = block[low - at : high - at]
        at += len(block)
        if at >= end:
            break
    edge = min(len(sound), edge)
    ramp = np.linspace(0, 1, edge, dtype=np.float32)[:, None]
    sound[:edge] *= ramp
    sound[len(sound) - edge :] *= ramp[::-1]
    return sound


def _reach(sound: Samples, rate_hz: int) -> float:
    """How loud a sound can be made below the ceiling; silence can be anything."""
    peak_dbtp = true_peak_dbtp(sound, rate_hz)
    loudness_lufs = _lufs(sound, rate_hz)
    return loudness_lufs + CEILING_DBTP - peak_dbtp if math.isfinite(loudness_lufs) else math.inf


def _lufs(sound: Samples, rate_hz: int) -> float:
    meter = LoudnessMeter(rate_hz)
    meter.feed(sound)
    meter.feed(np.zeros((max(0, round(LEAST_SECONDS * rate_hz) - len(sound)), 2), np.float32))
    return meter.integrated_lufs()


def _amplified(sound: Samples, gain_db: float) -> Samples:
    return sound * np.float32(10 ** (gain_db / 20)) if math.isfinite(gain_db) else sound


def _write(song: Path, both: list[Samples], laid_out: Plan, title: str) -> None:
    gap = np.zeros((round(GAP_SECONDS * laid_out.rate_hz), 2), np.float32)
    markers = [Marker(0, "as it is"), Marker(len(both[0]) + len(gap), "as it would be")]
    info = {"INAM": f"{laid_out.recipe.title or title} (try)", "ISFT": f"recipe-mixer {__version__}"}
    with whole_file(song) as stream:
        writer = WavWriter(stream, laid_out.rate_hz, "pcm16", markers=markers, info=info)
        for sound in (both[0], gap, both[1]):
            writer.write(sound)
        writer.close()


def _or_none(level: float) -> float | None:
    return level if math.isfinite(level) else None
