"""What is wrong with a sound file, whatever it plays: clipped, off centre, a dead channel, noise, an audible join."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mixer.loops.measure.hearing import WINDOW_SECONDS, Curve, Heard
from mixer.signal.blocks import Samples

# So many samples in a row at the same extreme are no music.
CLIPPED_RUN, CLIPPED_RUNS = 4, 3
DC_LEVEL, DC_PARTS = 0.008, 64
SILENT_CHANNEL_DB = 50.0
ANTI_PHASE = -0.9
SOFT_LUFS = -36.0
GATE_LUFS = -70.0  # what is softer is silence to a meter (ITU-R BS.1770-4), and to a song
# A join that jumps by so many times the usual step nearby is heard as a click.
CLICK_TIMES, CLICK_LEAST = 8.0, 0.02
# A join changes colour where its spectrum turns by so many dB, and by so many times more than anywhere inside.
COLOUR_SECONDS, COLOUR_DB, COLOUR_TIMES, COLOUR_FLOOR_DB = 0.12, 6.0, 1.6, -50.0
# Noise is a level of the high bands, even over frequency, to which the sound comes back again and again.
NOISE_BAND, NOISE_HZ, NOISE_FLAT = 9, (2400.0, 9500.0), 0.8
NOISE_LEVEL_DB, NOISE_SHARES, NOISE_STEADY_DB = -45.0, (0.02, 0.15), 1.5
MOST_QUIET, LEAST_QUIET = 60, 20


def faults(samples: Samples, loudness_lufs: float) -> list[str]:
    """Name what is wrong, in a fixed order.

    Parameters
    ----------
    samples : float32 array, shape (frames, 2)
    loudness_lufs : of the whole
    """
    found = []
    if loudness_lufs < SOFT_LUFS:
        found.append("very soft")
    if loudness_lufs < GATE_LUFS:
        found.append("too soft")
    if _clipped(samples):
        found.append("clipped")
    # One channel after the other: means over rows of two are slow.
    left, right = (channel.astype(np.float64) for channel in samples.T)
    middles = _middle(left), _middle(right)
    left, right = left - left.mean(), right - right.mean()
    powers = float(np.dot(left, left)) / len(left), float(np.dot(right, right)) / len(right)
    if max(map(abs, middles)) > max(DC_LEVEL, 0.06 * float(np.sqrt(sum(powers) / 2))):
        found.append("DC")
    if min(powers) < max(powers) * 10 ** (-SILENT_CHANNEL_DB / 10):
        found.append("one channel silent")
    elif float(np.dot(left, right)) / len(left) < ANTI_PHASE * float(np.sqrt(powers[0] * powers[1])):
        found.append("anti-phase")
    return found


def _middle(channel: Curve) -> float:
    """What a channel lies round: the middle one of its short means, since a few low hits shift the mean of a loop."""
    frames = max(1, len(channel) // DC_PARTS)
    return float(np.median(channel[: len(channel) // frames * frames].reshape(-1, frames).mean(axis=1)))


def _clipped(samples: Samples) -> bool:
    """Runs of samples that stay at the highest level: rare in sound, common where it was cut off."""
    runs = 0
    for channel in samples.T:
        for sign in (1, -1):
            peak = float((sign * channel).max())
            if peak < 0.1:
                continue
            flat = np.concatenate([[False], sign * channel > peak * 0.9999, [False]])
            edges = np.flatnonzero(flat[1:] != flat[:-1])
            runs += int(((edges[1::2] - edges[::2]) >= CLIPPED_RUN).sum())
    return runs >= CLIPPED_RUNS


def join_clicks(samples: Samples, first: int, last: int) -> bool:
    """Whether going from the last frame of a loop to its first jumps as the sound around it does not.

    A loop that begins with a hit jumps too, and that is no click: only a jump that the frames around it do not lead to
    counts, and one that is larger than any inside.
    """
    loop = samples[first:last]
    if len(loop) < 256:
        return False
    jump = np.abs(loop[0] - loop[-1]).max()
    before, after = (np.abs(np.diff(part, axis=0)) for part in (loop[-128:], loop[:128]))
    usual = float(max(np.quantile(before, 0.98), np.quantile(after, 0.98)))
    level = float(np.abs(samples).max())
    if jump < CLICK_TIMES * usual or jump < CLICK_LEAST * level:
        return False
    return bool(jump > np.abs(np.diff(loop, axis=0)).max())


def join_changes_colour(heard: Heard, first_seconds: float, last_seconds: float) -> bool:
    """Whether the spectrum turns at the join as it does nowhere inside the loop.

    What is compared is the mean spectrum of a moment before with that of a moment after, in bands and without their
    level, so that a hit after a rest is no change of colour, nor is a chord where chords change inside too.
    """
    reach = max(2, round(COLOUR_SECONDS / heard.hop_seconds))
    first, last = (round(seconds / heard.hop_seconds) for seconds in (first_seconds, last_seconds))
    levels = np.maximum(heard.levels_db[first:last], COLOUR_FLOOR_DB)
    if len(levels) < 6 * reach:
        return False
    means = np.diff(np.pad(levels.cumsum(axis=0), ((1, 0), (0, 0)))[:: reach // 2], axis=0) / (reach // 2)
    means = (means[1:] + means[:-1]) / 2
    inside = _colours(means[:-2], means[2:])
    ends = _colours(levels[-reach:].mean(axis=0, keepdims=True), levels[:reach].mean(axis=0, keepdims=True))
    return bool(ends[0] > COLOUR_DB and ends[0] > COLOUR_TIMES * inside.max())


def _colours(before: Curve, after: Curve) -> Curve:
    """How far spectra in bands, in dB, turn from one to the other; 0 where one of them is silence."""
    sounds = np.minimum(before.max(axis=1), after.max(axis=1)) > COLOUR_FLOOR_DB + 15
    return np.where(sounds, (after - before).std(axis=1), 0.0)


def is_noisy(heard: Heard) -> bool:
    """Whether steady noise lies under the sound: hiss that is left where all else is quiet."""
    high = 10 * np.log10((10 ** (heard.levels_db[:, NOISE_BAND:] / 10)).sum(axis=1))
    if len(high) * NOISE_SHARES[1] < LEAST_QUIET:
        return False
    # What dies away goes through all levels alike; what lies on noise stays at its level.
    least, low = np.quantile(high, NOISE_SHARES)
    if least < NOISE_LEVEL_DB or low - least > NOISE_STEADY_DB:
        return False
    return _flatness(heard, np.flatnonzero(high <= low)[:MOST_QUIET]) > NOISE_FLAT


def _flatness(heard: Heard, hops: NDArray[np.integer]) -> float:
    """Geometric over arithmetic mean of the high spectrum in narrow stretches: near 1 for noise, low for tones."""
    frames = 1 << round(np.log2(WINDOW_SECONDS * heard.rate_hz))
    starts = (hops * heard.hop_seconds * heard.rate_hz - frames / 2).astype(int)
    starts = starts[(starts >= 0) & (starts + frames <= len(heard.samples))]
    quiet = heard.samples[starts[:, None] + np.arange(frames)] * np.hanning(frames)[:, None]
    low, high = np.searchsorted(np.fft.rfftfreq(frames, 1 / heard.rate_hz), NOISE_HZ)
    power = (np.abs(np.fft.rfft(quiet, axis=1)) ** 2).sum(axis=(0, 2))[low:high] + 1e-20
    parts = power[: len(power) // 16 * 16].reshape(-1, 16)
    return float(np.mean(np.exp(np.log(parts).mean(axis=1)) / parts.mean(axis=1))) if len(parts) else 0.0
