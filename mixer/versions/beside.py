"""Side by side: one sound in which each changed passage is heard old, then new.

All passages are brought to the same loudness (BS.1770, of each passage by itself), so that the louder one does not
win by being louder. A soft tone goes before each, once before the old and twice before the new, 12 dB below the music.
Nothing is limited: where a peak would come above the ceiling, all passages are softer by the same.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np

from mixer.material.fit import Material
from mixer.music.meter import nearest_frame
from mixer.record import record
from mixer.signal.blocks import Samples
from mixer.signal.loudness import integrated_loudness
from mixer.signal.truepeak import TruePeakMeter
from mixer.signal.wav import Marker, WavWriter
from mixer.song.finish import CEILING_DBTP
from mixer.song.mix import Mix
from mixer.song.plan import Plan
from mixer.store.whole import whole_file
from mixer.versions.change import Both
from mixer.versions.passages import Heard

LOUDNESS_LUFS = -18.0
TONE_BELOW_DB = 12.0
TONE_HZ = 440.0
TONE_SECONDS = 0.25
PAUSE_SECONDS = 0.5
EDGE_SECONDS = 0.02

Materials = Mapping[str, Material]


@record
class _Excerpt:
    label: str
    tones: int
    sound: Samples


def write_side_by_side(
    plans: Both[Plan], materials: Both[Materials], heard: Sequence[Heard], labels: Both[str], out: Path
) -> float:
    """Write the sound, with a named marker at each passage.

    Parameters
    ----------
    plans, materials : of both versions, at the same rate
    heard : the passages, at least one
    labels : what the markers call the versions
    out : the file, WAV with 16 bits, written whole or not at all

    Returns
    -------
    float : LUFS of each passage that is not silent

    Raises
    ------
    OSError
        If it cannot be written.
    """
    old = _cut(plans.old, materials.old, [each.bars.old for each in heard])
    new = _cut(plans.new, materials.new, [each.bars.new for each in heard])
    excerpts = []
    for number, each in enumerate(heard):
        for name, tones, bars, sound in (
            (labels.old, 1, each.bars.old, old[number]),
            (labels.new, 2, each.bars.new, new[number]),
        ):
            if bars is not None and sound is not None:
                excerpts.append(_Excerpt(f"{name}: {each.name}, {bars[0]}-{bars[1]}", tones, sound))
    loudness = _at_one_loudness(excerpts, plans.new.rate_hz)
    _write(excerpts, loudness, plans.new.rate_hz, out)
    return loudness


def _cut(plan: Plan, materials: Materials, spans: Sequence[tuple[int, int] | None]) -> list[Samples | None]:
    """Take bars out of the unfinished song, going through it once; with short fades at both ends."""
    edges = [span and _frames(plan, span) for span in spans]
    found = [np.zeros((edge[1] - edge[0], 2), np.float32) if edge else None for edge in edges]
    at = 0
    for block in Mix(plan, materials).blocks():
        for edge, sound in zip(edges, found, strict=True):
            if edge and sound is not None:
                low, high = max(edge[0], at), min(edge[1], at + len(block))
                if low < high:
                    sound[low - edge[0] : high - edge[0]] = block[low - at : high - at]
        at += len(block)
    for sound in found:
        if sound is not None:
            _soften_ends(sound, plan.rate_hz)
    return found


def _frames(plan: Plan, span: tuple[int, int]) -> tuple[int, int]:
    """Give where bars begin and end; the last bar of the song with what dies away after it."""
    end = plan.length_frames if span[1] >= plan.recipe.bars else nearest_frame(span[1] * plan.bar_frames)
    return nearest_frame((span[0] - 1) * plan.bar_frames), end


def _soften_ends(sound: Samples, rate_hz: int) -> None:
    count = min(round(EDGE_SECONDS * rate_hz), len(sound) // 2)
    ramp = _rise(count)
    sound[:count] *= ramp
    sound[len(sound) - count :] *= ramp[::-1]


def _rise(count: int) -> Samples:
    """Give a raised cosine from 0 to 1, shape (count, 1)."""
    along = (np.arange(count, dtype=np.float64) + 0.5) / max(count, 1)
    return (0.5 - 0.5 * np.cos(np.pi * along)).astype(np.float32)[:, None]


def _at_one_loudness(excerpts: Sequence[_Excerpt], rate_hz: int) -> float:
    """Bring all to one loudness, in place; it is the usual one, or what the highest peak leaves."""
    highest = -np.inf
    for excerpt in excerpts:
        loudness = integrated_loudness(excerpt.sound, rate_hz)
        if np.isfinite(loudness):
            excerpt.sound[:] *= np.float32(10 ** ((LOUDNESS_LUFS - loudness) / 20))
            meter = TruePeakMeter()
            meter.feed(excerpt.sound)
            highest = max(highest, meter.true_peak_dbtp())
    down_db = max(0.0, round(highest - CEILING_DBTP + 0.1, 1)) if np.isfinite(highest) else 0.0
    for excerpt in excerpts:
        excerpt.sound[:] *= np.float32(10 ** (-down_db / 20))
    return LOUDNESS_LUFS - down_db


def _tones(count: int, loudness_lufs: float, rate_hz: int) -> Samples:
    """Give one or two soft tones, each as loud as the standard measures it while it sounds."""
    time = np.arange(2 * rate_hz) / rate_hz
    steady = np.repeat(np.sin(2 * np.pi * TONE_HZ * time)[:, None], 2, axis=1).astype(np.float32)
    gain = 10 ** ((loudness_lufs - TONE_BELOW_DB - integrated_loudness(steady, rate_hz)) / 20)
    tone = steady[: round(TONE_SECONDS * rate_hz)] * np.float32(gain)
    _soften_ends(tone, rate_hz)
    short = np.zeros((round(TONE_SECONDS * rate_hz / 2), 2), np.float32)
    return np.concatenate([tone, short] * count)


def _write(excerpts: Sequence[_Excerpt], loudness_lufs: float, rate_hz: int, out: Path) -> None:
    pause = np.zeros((round(PAUSE_SECONDS * rate_hz), 2), np.float32)
    leads = {count: np.concatenate([pause, _tones(count, loudness_lufs, rate_hz), pause]) for count in (1, 2)}
    markers, at = [], 0
    for excerpt in excerpts:
        at += len(leads[excerpt.tones])
        markers.append(Marker(at, excerpt.label))
        at += len(excerpt.sound)
    with whole_file(out) as stream:
        writer = WavWriter(stream, rate_hz, markers=markers)
        for excerpt in excerpts:
            writer.write(leads[excerpt.tones])
            writer.write(excerpt.sound)
        writer.write(pause)
        writer.close()
