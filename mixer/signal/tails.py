"""The tail of a hit, continued: what would have been heard had the next hit come later.

The tones in which it ends ring on (`ringing`). Of all else the last stretch is laid down again and again, joined where
it resembles itself most (the similarity search of Verhelst & Roelands, "An overlap-add technique based on waveform
similarity", ICASSP 1993) and dying away as it did before.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from mixer.signal.ringing import Tones, tones_at_end

Samples = NDArray[np.float32]

# A tail is continued by its last 25 to 70 ms, laid over itself for 8 ms.
SHORTEST_REPEAT_SECONDS = 0.025
LONGEST_REPEAT_SECONDS = 0.070
OVERLAY_SECONDS = 0.008
# What is laid down again but once or twice is hardly out of tune.
LEAST_RINGING_SECONDS = 0.03
# An end that has fallen to less than so much of what the stretch before it lost is falling off.
STEEPER = 0.5
# Told by so many overlays, which hold a cycle of a bass.
CYCLE_OVERLAYS = 3


def continued(source: Samples, wanted: int, rate_hz: int) -> Samples:
    """The source, and after it as much of its continued tail as makes `wanted` frames.

    Parameters
    ----------
    source : float32 array, shape (frames, channels)
    wanted : int >= frames
    rate_hz : int > 0

    Returns
    -------
    float32 array, shape (wanted, channels)
    """
    return rung_on(
        source, wanted, rate_hz, tones_at_end(source, rate_hz) if is_long(wanted - len(source), rate_hz) else None
    )


def is_long(missing: int, rate_hz: int) -> bool:
    """Whether what is missing is so long that its tones are to ring on by themselves."""
    return missing > LEAST_RINGING_SECONDS * rate_hz


def rung_on(source: Samples, wanted: int, rate_hz: int, told: tuple[Tones, int] | None) -> Samples:
    """The same where the tones in which it ends are told, if there are any."""
    out = np.zeros((wanted, source.shape[1]), np.float32)
    out[: len(source)] = source
    if told is None:
        _go_on(out, len(source), rate_hz)
        return out
    tones, frames = told
    end = out[len(source) - frames :]
    ringing = tones.sound(-frames, len(end))
    end -= ringing
    changed = _go_on(end, frames, rate_hz)
    end[changed:] += ringing[changed:]
    end[:changed] = source[-frames:][:changed]
    return out


def _go_on(out: Samples, frames: int, rate_hz: int) -> int:
    """Continue the first so many frames of `out`; from which frame on it is changed."""
    source = out[:frames]
    overlay = min(round(OVERLAY_SECONDS * rate_hz), frames // 4)
    longest = min(round(LONGEST_REPEAT_SECONDS * rate_hz), (frames - overlay) // 2)
    shortest = min(round(SHORTEST_REPEAT_SECONDS * rate_hz), longest // 2)
    if overlay < 2 or shortest < 1:
        return frames
    period = _best_period(source, overlay, shortest, longest)
    _repeat(out, frames, overlay, period, _decay(source, period, overlay))
    return frames - overlay


def _repeat(out: Samples, start: int, overlay: int, period: int, decay: float) -> None:
    """Fill `out` from `start` on with the `period` frames before it, again and again."""
    repeat = out[start - period - overlay : start].copy()
    fall = _fall_over(overlay)
    at, level = start - overlay, decay
    while at + overlay < len(out):
        room = min(len(repeat), len(out) - at)
        out[at : at + overlay] = out[at : at + overlay] * fall + level * repeat[:overlay] * (1 - fall)
        out[at + overlay : at + room] = level * repeat[overlay:room]
        at += period
        level *= decay


@lru_cache(maxsize=64)
def _fall_over(frames: int) -> Samples:
    """Gives way over so many frames; not to be written to."""
    fall: Samples = np.square(np.cos(np.pi / 2 * (np.arange(frames) + 0.5) / frames)).astype(np.float32)[:, None]
    fall.flags.writeable = False
    return fall


def _best_period(source: Samples, overlay: int, shortest: int, longest: int) -> int:
    """How far back the source is most like its own end (both channels together, each at its own power)."""
    region = np.ascontiguousarray(source[-(longest + overlay) :].T)
    # So long that where it is looked nothing wraps round: four to seven times a power of two.
    size = longest - shortest + overlay
    step = 1 << max(0, size.bit_length() - 3)
    size = -(-size // step) * step
    spectrum, end = (np.fft.rfft(part, size, norm="ortho") for part in (region[:, :size], region[:, -overlay:]))
    spectrum *= end.conj()
    alike = np.fft.irfft(spectrum.sum(axis=0), size)[: longest - shortest + 1]
    total = np.concatenate([[0.0], np.cumsum((region**2).sum(axis=0), dtype=np.float64)])
    power = total[overlay : overlay + len(alike)] - total[: len(alike)]
    return longest - int(np.argmax(alike / np.sqrt(power + 1e-12 * total[-1] + 1e-30)))


def _decay(source: Samples, period: int, overlay: int) -> float:
    """How much fainter the last stretch is than the one before it; never louder.

    Where the end has fallen much further than that below the place which follows it next, its own fall counts: what was
    louder would be heard again and again.
    """
    usual = _fall(source, period, period)
    end = _fall(source, min(CYCLE_OVERLAYS * overlay, period), period)
    return min(1.0, end if end < STEEPER * usual else usual)


def _fall(source: Samples, frames: int, period: int) -> float:
    """Level of the last frames beside as many a period earlier."""
    late = float((source[-frames:].astype(np.float64) ** 2).sum())
    early = float((source[-frames - period : -period].astype(np.float64) ** 2).sum())
    return math.sqrt(late / early) if early > 0 else 0.0
