"""Sound made of hits at another length: cut at the onsets, every piece moved and left as it is.

A drum that is played slower rings no longer, and its attack is no slower. So each piece keeps its own pace,
sample for sample; only where it starts changes. When the loop gets shorter, the next piece cuts it off as the
next hit would have covered it. When it gets longer, its tail is continued: its last stretch again and again,
joined where it resembles itself most (the similarity search of Verhelst & Roelands, WSOLA, ICASSP 1993) and
dying away as it did.

Wrong for held sound, which would be repeated or cut: see `vocoder`.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.float32]
Frames = NDArray[np.int64]

# Before an attack the old piece gives way to the new one over this long.
FADE_SECONDS = 0.0015
# A tail is continued by its last 25 to 70 ms, laid over itself for 8 ms.
SHORTEST_REPEAT_SECONDS = 0.025
LONGEST_REPEAT_SECONDS = 0.070
OVERLAY_SECONDS = 0.008


def move_hits(samples: Samples, rate_hz: int, length_frames: int, onsets: Frames) -> Samples:
    """A circular loop whose pieces between onsets are moved to another length.

    Parameters
    ----------
    samples : float32 array, shape (frames, 2), circular
    rate_hz : int > 0
    length_frames : int > 0
    onsets : int64 array, sorted, at least one: where the loop is cut

    Returns
    -------
    float32 array, shape (length_frames, 2), circular
    """
    frames = len(samples)
    fade = max(2, round(FADE_SECONDS * rate_hz))
    rise = (
        np.sin(np.pi / 2 * (np.arange(fade, dtype=np.float32) + 0.5)[:, None] / fade).astype(np.float32) ** 2
    )
    places = np.floor(onsets * (length_frames / frames) + 0.5).astype(np.int64)
    out = np.zeros_like(samples, shape=(length_frames, 2))
    for number, (start, place) in enumerate(zip(onsets, places, strict=True)):
        last = number + 1 == len(onsets)
        end = onsets[0] + frames if last else onsets[number + 1]
        wanted = (places[0] + length_frames if last else places[number + 1]) - place
        piece = _piece(samples, int(start) - fade, int(end) - fade, int(wanted) + fade, rate_hz)
        piece[:fade] *= rise
        piece[-fade:] *= rise[::-1]
        np.add.at(out, (int(place) - fade + np.arange(len(piece))) % length_frames, piece)
    return out


def _piece(samples: Samples, start: int, end: int, wanted: int, rate_hz: int) -> Samples:
    """`wanted` frames from `start` on: the source up to `end`, then its tail continued."""
    if wanted <= end - start:
        return samples.take(np.arange(start, start + wanted), axis=0, mode="wrap")
    source = samples.take(np.arange(start, end), axis=0, mode="wrap")
    return _continued(source, wanted, rate_hz)


def _continued(source: Samples, wanted: int, rate_hz: int) -> Samples:
    """The source, then its last stretch repeated under a falling level until there are `wanted` frames."""
    overlay = min(round(OVERLAY_SECONDS * rate_hz), len(source) // 4)
    longest = min(round(LONGEST_REPEAT_SECONDS * rate_hz), len(source) - 2 * overlay)
    shortest = min(round(SHORTEST_REPEAT_SECONDS * rate_hz), longest // 2)
    out = np.zeros_like(source, shape=(wanted, 2))
    out[: len(source)] = source
    if overlay < 2 or shortest < 1:
        return out
    period = _best_period(source, overlay, shortest, longest)
    gain = _decay(source, period)
    repeat = source[-period - overlay :].copy()
    fall = (
        np.cos(np.pi / 2 * (np.arange(overlay, dtype=np.float32) + 0.5)[:, None] / overlay).astype(np.float32)
        ** 2
    )
    at, level = len(source) - overlay, gain
    while at + overlay < wanted:
        room = min(len(repeat), wanted - at)
        out[at : at + overlay] = out[at : at + overlay] * fall + level * repeat[:overlay] * (1 - fall)
        out[at + overlay : at + room] = level * repeat[overlay:room]
        at += period
        level *= gain
    return out


def _best_period(source: Samples, overlay: int, shortest: int, longest: int) -> int:
    """How far back the source is most like its own end (both channels together, each at its own power)."""
    end = source[-overlay:].astype(np.float64)
    region = source[-(longest + overlay) :].astype(np.float64)
    size = 1 << int(np.ceil(np.log2(len(region) + overlay)))
    spectrum = np.fft.rfft(region, size, axis=0) * np.fft.rfft(end, size, axis=0).conj()
    alike = np.fft.irfft(spectrum.sum(axis=1), size)[: longest - shortest + 1]
    total = np.concatenate([[0.0], np.cumsum((region**2).sum(axis=1))])
    power = total[overlay : overlay + len(alike)] - total[: len(alike)]
    return longest - int(np.argmax(alike / np.sqrt(power + 1e-12 * total[-1] + 1e-30)))


def _decay(source: Samples, period: int) -> float:
    """How much fainter the last stretch is than the one before it; never louder."""
    late = float((source[-period:].astype(np.float64) ** 2).sum())
    early = float((source[-2 * period : -period].astype(np.float64) ** 2).sum())
    return min(1.0, math.sqrt(late / early)) if early > 0 else 0.0
