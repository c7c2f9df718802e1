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
from mixer.signal.truepeak import BATCH_CELLS, CELL_FRAMES, true_peak_dbtp
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
    # 10.7 dB come down over 2.5 ms. In a straight line they would begin and end with a corner of that slope; here the
    # slope grows and falls over several cells, so that it changes by less than half of that from one to the next.
    straight = 10.7 / (0.0025 * RATE_HZ)
    assert np.abs(slope).max() < 2.5 * straight
    assert np.abs(np.diff(slope[::CELL_FRAMES])).max() < 0.5 * straight


def test_the_gain_comes_back_neither_within_a_bass_note_nor_so_late_that_it_pumps():
    # Common practice, no source: a release of some 50 to 200 ms. After a hit 6 dB too high most of the reduction is
    # still there 20 ms later (half a cycle at 25 Hz), and all is over before a sixteenth note at 96 BPM (156 ms) is.
    sound = steady_with_one_peak(10 ** ((CEILING_DBTP + 6) / 20))
    curve = gain_db(sound, limited(sound))
    after_20_ms, after_150_ms = (curve[RATE_HZ // 2 + round(seconds * RATE_HZ)] for seconds in (0.02, 0.15))
    assert after_20_ms < -5.0
    assert after_150_ms == pytest.approx(0.0, abs=0.01)


@pytest.mark.parametrize("frequency_hz", [50.0, 60.0, 110.0])
def test_a_bass_note_is_not_bent_within_its_cycle(frequency_hz):
    # 4 dB above the ceiling: the reduction holds over half a cycle, so that it is the same throughout, and what is left
    # beside the note is rounding.
    sound = signals.tone(frequency_hz, RATE_HZ, amplitude=10 ** ((CEILING_DBTP + 4) / 20))
    out = limited(sound)[RATE_HZ // 4 : 3 * RATE_HZ // 4, 0].astype(np.float64)
    spectrum = np.abs(np.fft.rfft(out * np.blackman(len(out))))
    bin_of = len(out) / RATE_HZ * frequency_hz
    harmonics = [spectrum[round(k * bin_of) - 3 : round(k * bin_of) + 4].max() for k in (1, 2, 3, 4, 5)]
    assert 20 * np.log10(max(harmonics[1:]) / harmonics[0]) < -100


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
    assert held < 2 * (BATCH_CELLS * CELL_FRAMES + 2 * 16_384) + 100  # a batch that is looked at, and two blocks
    assert len(limiter._curve._needs_before) < 100
