import numpy as np
import pyloudnorm
import pytest
from scipy.signal import lfilter

from mixer.signal.kweighting import high_pass, shelf
from mixer.signal.loudness import LoudnessMeter, integrated_loudness, loop_loudness
from tests.signal import signals

RATE_HZ = signals.RATE_HZ


@pytest.fixture(scope="module")
def sound():
    return signals.noise(5 * RATE_HZ + 123, amplitude=0.2)


@pytest.mark.parametrize("sizes", [[1, 17, 5000, 100, 99_999], [4410] * 60, [16_384] * 20, [44_100] * 6])
def test_the_split_into_blocks_does_not_matter(sound, sizes):
    meter = LoudnessMeter(RATE_HZ)
    at = 0
    for size in [*sizes, len(sound)]:
        meter.feed(sound[at : at + size])
        at += size
    assert meter.integrated_lufs() == integrated_loudness(sound, RATE_HZ)


def test_ten_decibels_more_are_ten_lu_more(sound):
    quiet = integrated_loudness(sound * np.float32(10**-0.5), RATE_HZ)
    assert integrated_loudness(sound, RATE_HZ) - quiet == pytest.approx(10.0, abs=1e-4)


def test_one_channel_of_two_is_three_lu_less():
    # The power of two equal channels is twice that of one: 3.01 dB (BS.1770-4, equation 2).
    both = signals.tone(1000.0, 2 * RATE_HZ)
    one = both * np.array([1, 0], np.float32)
    assert integrated_loudness(both, RATE_HZ) - integrated_loudness(one, RATE_HZ) == pytest.approx(3.0103, abs=1e-4)


@pytest.mark.parametrize("frames", [0, 1, 4 * 4410 - 1])
def test_less_than_400_ms_has_no_loudness(frames):
    assert integrated_loudness(signals.noise(frames), RATE_HZ) == -np.inf


def test_400_ms_have_one():
    assert np.isfinite(integrated_loudness(signals.noise(4 * 4410), RATE_HZ))


def test_silence_has_none():
    assert integrated_loudness(np.zeros((RATE_HZ, 2), np.float32), RATE_HZ) == -np.inf
    assert loop_loudness(np.zeros((RATE_HZ, 2), np.float32), RATE_HZ) == -np.inf


def test_a_meter_that_was_read_takes_no_more(sound):
    meter = LoudnessMeter(RATE_HZ)
    meter.feed(sound)
    assert meter.integrated_lufs() == meter.integrated_lufs()
    with pytest.raises(ValueError, match="has been read"):
        meter.feed(sound)


@pytest.mark.parametrize("shape", [(100,), (100, 1), (2, 100), (10, 2, 2)])
def test_any_other_shape_is_refused(shape):
    with pytest.raises(ValueError, match="shape"):
        integrated_loudness(np.zeros(shape, np.float32), RATE_HZ)


@pytest.mark.parametrize("frames", [50, 441, 4000, 20_000, RATE_HZ, 4 * RATE_HZ])
def test_a_loop_is_as_loud_as_its_many_repetitions(frames):
    # pyloudnorm over half a minute of repetitions, the first second cut off.
    loop = signals.noise(frames, amplitude=0.2)
    repeated = np.tile(loop, (-(-30 * RATE_HZ // frames), 1))[RATE_HZ:].astype(np.float64)
    expected = pyloudnorm.Meter(RATE_HZ, filter_class="DeMan").integrated_loudness(repeated)
    assert loop_loudness(loop, RATE_HZ) == pytest.approx(expected, abs=0.02)


def hit_loop(frames):
    """One short hit, then next to nothing: the worst case for gating blocks that begin on a grid."""
    fade = np.exp(-np.arange(frames) / (0.03 * RATE_HZ))[:, None]
    return (signals.noise(frames, amplitude=0.5) * (fade + 0.001)).astype(np.float32)


@pytest.mark.parametrize("frames", [RATE_HZ // 2, 73_500, 4 * RATE_HZ + 321])
def test_it_does_not_matter_where_a_loop_begins(frames):
    loops = (hit_loop(frames), np.resize(signals.play_drums(96.0).samples, (frames, 2)))
    for loop in loops:
        found = [loop_loudness(np.roll(loop, -k * frames // 7, axis=0), RATE_HZ) for k in range(7)]
        assert max(found) - min(found) <= 0.0101  # one step of the rounding


def loudness_with_a_block_at_every_frame(loop):
    """Equations 2 to 7 of BS.1770-4 round the loop, frame by frame in double precision (scipy.signal.lfilter)."""
    repeated = np.tile(loop, (3, 1)).astype(np.float64)
    for stage in (shelf(RATE_HZ), high_pass(RATE_HZ)):
        repeated = lfilter(stage.b, stage.a, repeated, axis=0)
    energies = np.square(repeated).sum(axis=1)[len(loop) : 2 * len(loop)]
    sums = np.concatenate([[0], np.cumsum(np.resize(energies, len(loop) + 4 * 4410))])
    powers = (sums[4 * 4410 :] - sums[: -4 * 4410]) / (4 * 4410)
    kept = powers[-0.691 + 10 * np.log10(powers) > -70]
    return -0.691 + 10 * np.log10(kept[kept > kept.mean() / 10].mean())


@pytest.mark.parametrize("frames", [30_001, 73_511, 4 * RATE_HZ + 321])
def test_a_loop_with_one_hit_counts_every_part_alike(frames):
    loop = hit_loop(frames)
    assert loop_loudness(loop, RATE_HZ) == pytest.approx(loudness_with_a_block_at_every_frame(loop), abs=0.015)


def test_loop_loudness_is_rounded_and_works_on_a_single_frame():
    loudness = loop_loudness(signals.noise(RATE_HZ), RATE_HZ)
    assert loudness == round(loudness, 2)
    assert loop_loudness(np.full((1, 2), 0.5, np.float32), RATE_HZ) == -np.inf  # a steady offset is no sound
    assert loop_loudness(np.zeros((0, 2), np.float32), RATE_HZ) == -np.inf
