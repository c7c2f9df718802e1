"""Power in the critical bands: the published limits, and the loudness that the standard's meter reads."""

from __future__ import annotations

import numpy as np
import pytest

from mixer.signal.bands import BANDS, band_powers
from mixer.signal.loudness import OFFSET_LUFS, integrated_loudness

# E. Zwicker, JASA 33, 248 (1961): middles of the 24 critical bands in Hz, as transcribed in open teaching code.
MIDDLES_HZ = (
    *(50, 150, 250, 350, 450, 570, 700, 840, 1000, 1170, 1370, 1600),
    *(1850, 2150, 2500, 2900, 3400, 4000, 4800, 5800, 7000, 8500, 10500, 13500),
)


def tone(pitch_hz: float, rate_hz: int, seconds: float = 2.0, level: float = 0.5):
    """A sine with a whole number of cycles, so that it joins."""
    frames = round(seconds * rate_hz)
    cycles = round(pitch_hz * seconds)
    mono = level * np.sin(2 * np.pi * cycles * np.arange(frames) / frames)
    return np.stack([mono, mono], axis=1).astype(np.float32)


def lufs(powers) -> float:
    return OFFSET_LUFS + 10 * np.log10(powers.sum(axis=1).mean())


@pytest.mark.parametrize("rate_hz", [44_100, 48_000])
def test_each_published_middle_lies_in_its_band(rate_hz):
    assert len(MIDDLES_HZ) == BANDS
    for number, middle_hz in enumerate(MIDDLES_HZ):
        powers = band_powers(tone(middle_hz, rate_hz, 0.5), rate_hz).mean(axis=0)
        assert powers[number] > 0.9 * powers.sum(), middle_hz


@pytest.mark.parametrize("rate_hz", [44_100, 48_000])
def test_a_full_tone_in_one_channel_reads_what_the_standard_says(rate_hz):
    """ITU-R BS.1770-4: 997 Hz at full scale in one channel is -3.01 LKFS."""
    one_side = tone(997, rate_hz, 3.0, 1.0) * np.array([1, 0], np.float32)
    assert lufs(band_powers(one_side, rate_hz)) == pytest.approx(-3.01, abs=0.01)


def test_all_bands_together_are_the_loudness_of_steady_sound():
    pyloudnorm = pytest.importorskip("pyloudnorm")
    noise = np.random.default_rng(3).standard_normal((4 * 48_000, 2)).astype(np.float32) * 0.1
    meter = pyloudnorm.Meter(48_000, filter_class="DeMan")
    assert lufs(band_powers(noise, 48_000)) == pytest.approx(meter.integrated_loudness(noise), abs=0.05)
    assert lufs(band_powers(noise, 48_000)) == pytest.approx(integrated_loudness(noise, 48_000), abs=0.05)


def test_power_stands_where_the_sound_is():
    loop = np.zeros((44_100, 2), np.float32)
    loop[11_025:16_537] = tone(1000, 44_100, 1.0)[:5_512]
    powers = band_powers(loop, 44_100).sum(axis=1)
    at = np.arange(len(powers)) / len(powers)
    assert powers[(at > 0.22) & (at < 0.405)].sum() > 0.999 * powers.sum()


@pytest.mark.parametrize("frames", [1, 100, 2_049, 44_101])
def test_loops_of_any_length_have_a_figure(frames):
    loop = np.full((frames, 2), 0.1, np.float32)
    powers = band_powers(loop, 44_100)
    assert powers.shape[1] == BANDS
    assert np.isfinite(powers).all()
    assert not band_powers(np.zeros_like(loop), 44_100).any()
