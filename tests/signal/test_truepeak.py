import numpy as np
import pytest

from mixer.signal.truepeak import CELL_FRAMES, CellPeaks, TruePeakMeter, true_peak_dbtp
from tests.signal import signals

RATE_HZ = signals.RATE_HZ


@pytest.mark.parametrize("size", [1, 77, 16_384, 100_000])
def test_the_split_into_blocks_does_not_matter(size):
    sound = signals.noise(RATE_HZ // (10 if size == 1 else 1))
    meter = TruePeakMeter()
    for start in range(0, len(sound), size):
        meter.feed(sound[start : start + size])
    assert meter.true_peak_dbtp() == true_peak_dbtp(sound, RATE_HZ)


def test_silence_has_no_peak():
    assert true_peak_dbtp(np.zeros((100, 2), np.float32), RATE_HZ) == -np.inf
    assert true_peak_dbtp(np.zeros((0, 2), np.float32), RATE_HZ) == -np.inf


@pytest.mark.parametrize("frames", [1, 15, 16, 17, 33, 32_768, 32_769, 32_784, 32_801])
@pytest.mark.parametrize("channel", [0, 1])
def test_a_peak_in_the_very_last_frame_is_seen(frames, channel):
    sound = np.zeros((frames, 2), np.float32)
    sound[-1, channel] = -0.5
    assert true_peak_dbtp(sound, RATE_HZ) == pytest.approx(20 * np.log10(0.5), abs=1e-6)
    cells = CellPeaks()
    peaks = np.concatenate([cells.feed(sound, 1.0), cells.flush(1.0)])
    assert len(peaks) == -(-frames // CELL_FRAMES)
    assert peaks[-1] == 0.5


def test_a_cell_that_is_not_interpolated_could_not_have_risen_above_the_level():
    sound = signals.noise(RATE_HZ, amplitude=0.2)
    level = 0.6
    some, every = CellPeaks(), CellPeaks()
    found = np.concatenate([some.feed(sound, level), some.flush(level)])
    truth = np.concatenate([every.feed(sound, 0.0), every.flush(0.0)])
    high = truth > level
    assert 10 < np.count_nonzero(high) < len(truth) / 2
    assert np.array_equal(found[high], truth[high])
    assert found[~high].max() <= level


def test_both_channels_count():
    left = signals.tone(1000.0, RATE_HZ, amplitude=0.5) * np.array([1, 0], np.float32)
    assert true_peak_dbtp(left, RATE_HZ) == pytest.approx(-6.02, abs=0.01)
    assert true_peak_dbtp(left[:, ::-1], RATE_HZ) == pytest.approx(-6.02, abs=0.01)


def test_a_rate_of_nothing_is_refused():
    with pytest.raises(ValueError, match="positive"):
        true_peak_dbtp(signals.noise(10), 0)


@pytest.mark.parametrize("kind", ["noise", "square", "rumble", "tone", "alternating", "clicks over a bass"])
def test_whatever_rises_above_the_level_is_found_in_any_kind_of_sound(kind):
    frames = np.arange(RATE_HZ // 2)
    random = np.random.default_rng(11)
    sound = {
        "noise": random.standard_normal(len(frames)) / 4,
        "square": 0.7 * np.sign(np.sin(2 * np.pi * 997 * frames / RATE_HZ)),
        "rumble": np.cumsum(random.standard_normal(len(frames))) / 200,
        "tone": 0.7 * np.sin(2 * np.pi * 11_025 * frames / RATE_HZ + 0.6),
        "alternating": 0.5 * np.sign(random.standard_normal(len(frames))),
        "clicks over a bass": 0.6 * np.sin(2 * np.pi * 50 * frames / RATE_HZ) + 0.3 * (frames % 1000 == 0),
    }[kind]
    stereo = np.stack([sound, np.roll(sound, 7)], axis=1).astype(np.float32)
    every = CellPeaks()
    truth = np.concatenate([every.feed(stereo, 0.0), every.flush(0.0)])
    for level in np.quantile(truth, [0.2, 0.6, 0.95]):
        some = CellPeaks()
        found = np.concatenate([some.feed(stereo, float(level)), some.flush(float(level))])
        assert np.array_equal(found[truth > level], truth[truth > level])
        assert found[truth <= level].max() <= level
