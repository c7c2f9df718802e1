import numpy as np
import pytest

from mixer.signal.limiter import (
    FINE_PER_DB,
    HOLD_SECONDS,
    LOOK_AHEAD_SECONDS,
    MARGIN_DB,
    RELEASE_DB_PER_SECOND,
    STEPS_PER_DB,
    Curve,
    Limiter,
    level_steps,
    limit,
    needs,
)
from mixer.signal.truepeak import CELL_FRAMES, true_peak_dbtp
from tests.signal import signals

RATE_HZ = signals.RATE_HZ
CEILING_DBTP = -1.0
# What a moving gain may add between samples, and what rounding needs to whole steps may take.
OVER_DB, UNDER_DB = 0.02, 0.04
KEPT_DBTP = CEILING_DBTP - MARGIN_DB


def limited(sound, rate_hz=RATE_HZ, size=16_384, ceiling_dbtp=CEILING_DBTP):
    blocks = [sound[start : start + size] for start in range(0, len(sound), size)]
    return np.concatenate(list(limit(blocks, rate_hz, ceiling_dbtp)))


@pytest.fixture(scope="module")
def drums():
    return np.tile(signals.play_drums(96.0).samples, (2, 1)) * np.float32(3.0)


@pytest.mark.parametrize("rate_hz", [22_050, 44_100, 96_000])
@pytest.mark.parametrize("times", [1.5, 4.0, 30.0])
def test_nothing_stands_above_the_ceiling(drums, times, rate_hz):
    out = limited(drums * np.float32(times), rate_hz)
    assert len(out) == len(drums)
    assert KEPT_DBTP - UNDER_DB <= true_peak_dbtp(out, rate_hz) <= KEPT_DBTP + OVER_DB


@pytest.mark.parametrize("frames", [1, 15, 17, 100])
def test_a_sound_shorter_than_the_look_ahead(frames):
    out = limited(signals.noise(frames, amplitude=3.0))
    assert len(out) == frames
    assert true_peak_dbtp(out, RATE_HZ) <= KEPT_DBTP + OVER_DB


def test_what_is_below_the_ceiling_passes_untouched():
    sound = signals.noise(RATE_HZ, amplitude=0.15)
    assert true_peak_dbtp(sound, RATE_HZ) < CEILING_DBTP
    assert np.array_equal(limited(sound), sound)


@pytest.mark.parametrize("size", [1000, 4097, 16_383, 10**6])
def test_the_split_into_blocks_does_not_matter(drums, size):
    assert np.array_equal(limited(drums, size=size), limited(drums))


def test_both_channels_are_moved_together():
    sound = signals.noise(RATE_HZ, amplitude=0.1)
    sound[20_000, 0] = 3.0
    out = limited(sound)
    ratio = out / sound
    assert ratio[20_000, 0] < 0.31
    assert ratio[:, 1] == pytest.approx(ratio[:, 0], abs=1e-6)


def gain_db(sound, out):
    return 20 * np.log10(out[:, 0] / sound[:, 0])


def steady_with_one_peak(peak):
    sound = np.full((RATE_HZ, 2), 0.25, np.float32)
    sound[RATE_HZ // 2] = peak
    return sound


def test_one_drum_hit_is_over_in_the_time_that_the_constants_say():
    sound = steady_with_one_peak(10 ** ((CEILING_DBTP + 6) / 20))
    curve = gain_db(sound, limited(sound))
    moved = np.flatnonzero(curve < -0.01)
    assert curve.min() == pytest.approx(-6.0 - MARGIN_DB, abs=UNDER_DB)
    before = (RATE_HZ // 2 - moved[0]) / RATE_HZ
    after = (moved[-1] - RATE_HZ // 2) / RATE_HZ
    cell = CELL_FRAMES / RATE_HZ
    assert before <= LOOK_AHEAD_SECONDS + 3 * cell
    assert after <= HOLD_SECONDS + (6 + MARGIN_DB) / RELEASE_DB_PER_SECOND + LOOK_AHEAD_SECONDS + 5 * cell


def test_the_gain_moves_without_a_step_or_a_corner():
    sound = steady_with_one_peak(3.0)
    curve = gain_db(sound, limited(sound))
    slope = np.diff(curve)
    # 10.5 dB come down over 2.5 ms, at the steepest twice the mean slope; a step would be all of it in a frame.
    assert np.abs(slope).max() < 2.5 * 10.6 / (LOOK_AHEAD_SECONDS * RATE_HZ)
    assert np.abs(np.diff(slope[::CELL_FRAMES])).max() < 0.1


def test_a_bass_note_is_not_bent_within_its_cycle():
    # 60 Hz, 4 dB above the ceiling: the gain may ripple by a tenth of a dB, which is -45 dB of distortion.
    sound = signals.tone(60.0, RATE_HZ, amplitude=10 ** ((CEILING_DBTP + 4) / 20))
    out = limited(sound)[RATE_HZ // 4 : 3 * RATE_HZ // 4, 0].astype(np.float64)
    spectrum = np.abs(np.fft.rfft(out * np.hanning(len(out))))
    bin_of = len(out) / RATE_HZ * 60.0
    harmonics = [spectrum[round(k * bin_of) - 2 : round(k * bin_of) + 3].max() for k in (1, 2, 3, 4, 5)]
    assert 20 * np.log10(max(harmonics[1:]) / harmonics[0]) < -45


def test_needs_are_rounded_towards_more_reduction():
    levels = level_steps(np.array([0.0, 0.5, 1.0, 2.0], np.float32))
    assert levels[2] == 0
    assert levels[3] == int(np.ceil(20 * np.log10(2) * STEPS_PER_DB))
    assert list(needs(levels, 0.0) / STEPS_PER_DB <= [0, 0, 0, -20 * np.log10(2)]) == [True] * 4
    assert needs(levels, 0.0)[1] == 0


def test_the_curve_has_a_value_for_each_border_and_satisfies_both_cells():
    rng = np.random.default_rng(8)
    wanted = np.where(rng.random(3000) < 0.02, -rng.integers(1, 600, 3000), 0).astype(np.int32)
    curve = Curve(RATE_HZ)
    values = np.concatenate([curve.feed(wanted[:1000]), curve.feed(wanted[1000:1001]), curve.feed(wanted[1001:])])
    values = np.concatenate([values, curve.flush()])
    assert len(values) == len(wanted) + 1
    fine = wanted * (FINE_PER_DB // STEPS_PER_DB)
    assert (values[:-1] <= fine).all()
    assert (values[1:] <= fine).all()
    assert (values <= 0).all()


def test_memory_does_not_grow_with_the_song():
    limiter = Limiter(RATE_HZ)
    for _ in range(50):
        limiter.feed(signals.noise(16_384, amplitude=0.5))
    held = sum(value.size for value in vars(limiter).values() if isinstance(value, np.ndarray))
    assert held < 2 * 2 * 16_384 + 100
    assert len(limiter._curve._needs_before) < 100
