import hashlib
import os
import subprocess
import sys
import tracemalloc

import numpy as np
import pyloudnorm
import pytest
from scipy.signal import lfilter

from mixer.signal.dither import to_pcm16
from mixer.signal.loudness import integrated_loudness
from mixer.signal.truepeak import true_peak_dbtp
from mixer.song import survey
from mixer.song.finish import CEILING_DBTP, TARGET_LUFS, finish
from tests.signal import signals
from tests.song.mixes import RATE_HZ, ArrayMix, song, sound_of


@pytest.fixture(scope="module")
def mix():
    return song()


@pytest.fixture(scope="module")
def finished(mix):
    return finish(ArrayMix(mix))


def test_the_song_is_as_loud_as_asked_and_below_the_ceiling(mix, finished):
    sound = sound_of(finished)
    assert sound.dtype == np.float32
    assert len(sound) == len(mix)
    assert finished.loudness_lufs == pytest.approx(TARGET_LUFS, abs=0.05)
    assert integrated_loudness(sound, RATE_HZ) == pytest.approx(finished.loudness_lufs, abs=0.02)
    assert true_peak_dbtp(sound, RATE_HZ) == pytest.approx(finished.true_peak_dbtp, abs=0.03)
    assert true_peak_dbtp(sound, RATE_HZ) <= CEILING_DBTP
    assert not finished.as_near_as_allowed


def test_the_limiter_worked_and_its_loss_was_made_up_for(mix, finished):
    plain_gain_db = TARGET_LUFS - integrated_loudness(mix, RATE_HZ)
    assert finished.limited.deepest_db > 1.0
    assert finished.gain_db > plain_gain_db + 0.02
    assert 0 < finished.limited.share < 0.5
    (span,) = finished.limited.spans
    # The drums come in at 0.3 and leave at 0.9 of the song.
    assert 0.28 < span.start_frame / len(mix) < 0.35
    assert 0.85 < span.end_frame / len(mix) < 0.95
    assert span.deepest_db == finished.limited.deepest_db


def test_gain_is_whole_hundredths_of_a_decibel(finished):
    assert finished.gain_db == round(finished.gain_db, 2)


def test_blocks_can_be_asked_for_again(finished):
    assert np.array_equal(sound_of(finished), sound_of(finished))


def test_a_song_is_gone_through_to_survey_and_to_write_and_to_measure_where_the_limiter_takes_much(mix, finished):
    for sound, passes in ((sound_of(finished), 2), (mix, 3)):
        counted = ArrayMix(sound)
        sound_of(finish(counted))
        assert counted.passes == passes


def test_a_quiet_mix_is_turned_up_and_not_touched_otherwise():
    sound = signals.noise(RATE_HZ * 3, amplitude=0.01)
    done = finish(ArrayMix(sound))
    assert done.limited.deepest_db == 0
    assert done.limited.spans == ()
    assert np.array_equal(sound_of(done), sound * np.float32(10 ** (done.gain_db / 20)))


def test_a_loud_mix_is_turned_down():
    done = finish(ArrayMix(signals.noise(RATE_HZ * 3, amplitude=0.8)))
    assert done.gain_db < -10
    assert done.loudness_lufs == pytest.approx(TARGET_LUFS, abs=0.05)


@pytest.mark.parametrize("block_frames", [1000, 4097, 65_536, 100_000])
def test_the_size_of_the_blocks_does_not_matter(mix, finished, block_frames):
    other = finish(ArrayMix(mix, block_frames=block_frames))
    assert (other.gain_db, other.loudness_lufs, other.true_peak_dbtp, other.limited) == (
        finished.gain_db,
        finished.loudness_lufs,
        finished.true_peak_dbtp,
        finished.limited,
    )
    assert np.array_equal(to_pcm16(sound_of(other), 0), to_pcm16(sound_of(finished), 0))


HASH_A_SONG = """
import hashlib
from mixer.signal.dither import to_pcm16
from mixer.song.finish import finish
from tests.song.mixes import ArrayMix, song, sound_of
print(hashlib.sha256(to_pcm16(sound_of(finish(ArrayMix(song(6.0)))), 0).tobytes()).hexdigest())
"""


@pytest.mark.parametrize(
    "settings",
    [{"OPENBLAS_NUM_THREADS": "2"}, {"OPENBLAS_NUM_THREADS": "1", "OPENBLAS_CORETYPE": "Nehalem"}],
    ids=["threads", "kernel"],
)
def test_threads_and_kernels_of_the_matrix_library_do_not_matter(settings):
    here = hashlib.sha256(to_pcm16(sound_of(finish(ArrayMix(song(6.0)))), 0).tobytes()).hexdigest()
    command = [sys.executable, "-c", HASH_A_SONG]
    done = subprocess.run(command, env={**os.environ, **settings}, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == here


def test_silence_stays_silence():
    done = finish(ArrayMix(np.zeros((RATE_HZ, 2), np.float32)))
    assert (done.gain_db, done.loudness_lufs, done.true_peak_dbtp) == (0.0, None, None)
    assert not done.as_near_as_allowed
    assert not sound_of(done).any()


def test_hiss_below_the_gate_is_silence_too():
    sound = signals.noise(RATE_HZ, amplitude=3e-5)
    done = finish(ArrayMix(sound))
    assert (done.gain_db, done.loudness_lufs) == (0.0, None)
    assert np.array_equal(sound_of(done), sound)


def test_a_click_in_silence_is_kept_below_the_ceiling():
    sound = np.zeros((RATE_HZ // 4, 2), np.float32)
    sound[100] = 1.5
    assert true_peak_dbtp(sound_of(finish(ArrayMix(sound))), RATE_HZ) <= CEILING_DBTP


def test_an_empty_mix():
    done = finish(ArrayMix(np.zeros((0, 2), np.float32)))
    assert (done.gain_db, done.loudness_lufs, done.true_peak_dbtp) == (0.0, None, None)
    assert len(sound_of(done)) == 0


@pytest.mark.parametrize("frames", [1, 100, RATE_HZ // 10, RATE_HZ * 2 // 5 - 1])
def test_a_mix_shorter_than_400_ms_is_finished_as_if_silence_followed(frames):
    sound = signals.noise(frames, amplitude=0.1)
    done = finish(ArrayMix(sound))
    out = sound_of(done)
    followed = np.concatenate([out, np.zeros((RATE_HZ, 2), np.float32)])[: RATE_HZ * 2 // 5]
    assert len(out) == frames
    assert np.isfinite(out).all()
    assert integrated_loudness(followed, RATE_HZ) == pytest.approx(done.loudness_lufs, abs=0.01)
    assert true_peak_dbtp(out, RATE_HZ) <= CEILING_DBTP


def peaky(kind):
    """Hits that stand 20 dB and more above the mean, so that -16 LUFS would take too much limiting."""
    frames = np.arange(RATE_HZ * 8)
    noise = np.random.default_rng(2).standard_normal((len(frames), 2))
    mono = {
        "sharp hits": 0.3 * noise * np.exp(-(frames % 6000) / 120)[:, None] + 1e-4,
        "clicks in hiss": (frames % (RATE_HZ // 3) == 0)[:, None] + 0.02 * noise,
        "seldom and deep": noise * np.exp(-(frames % (2 * RATE_HZ)) / RATE_HZ * 30)[:, None] + 1e-4,
    }
    return mono[kind].astype(np.float32)


@pytest.mark.parametrize("kind", ["sharp hits", "clicks in hiss", "seldom and deep"])
def test_a_mix_that_would_take_too_much_limiting_stays_quieter(kind):
    sound = peaky(kind)
    done = finish(ArrayMix(sound))
    out = sound_of(done)
    assert done.as_near_as_allowed
    assert done.loudness_lufs < TARGET_LUFS - 0.2
    assert integrated_loudness(out, RATE_HZ) == pytest.approx(done.loudness_lufs, abs=0.05)
    assert true_peak_dbtp(out, RATE_HZ) <= CEILING_DBTP
    # What the limiter did, read from the sound: more than 4 dB in a tenth of the time at most, more than 8 dB in a
    # hundredth (common practice, no source) ...
    with np.errstate(divide="ignore", invalid="ignore"):
        reduction_db = done.gain_db - 20 * np.log10(np.abs(out).max(axis=1) / np.abs(sound).max(axis=1))
    firm, deep = np.mean(reduction_db > 4), np.mean(reduction_db > 8)
    assert firm <= 0.10 + 0.002
    assert deep <= 0.01 + 0.0005
    # ... and the song is no quieter than that asks for.
    assert firm > 0.08 or deep > 0.008


def test_a_nearly_silent_mix_is_not_turned_up_without_end():
    done = finish(ArrayMix(signals.noise(RATE_HZ, amplitude=3e-4)))
    assert done.gain_db == 40.0
    assert done.as_near_as_allowed


def test_peaks_are_taken_again_where_the_gain_was_guessed_too_low(monkeypatch):
    # Loud first and then long and quiet: the loudness falls far below what the beginning promised. The chirps stand
    # high between samples only (a quarter of the rate, 45 degrees off: 3 dB).
    rng = np.random.default_rng(6)
    sound = rng.standard_normal((RATE_HZ * 16, 2)) * 0.004
    sound[: RATE_HZ * 2] = rng.standard_normal((RATE_HZ * 2, 2)) * 0.012
    wave = np.sin(np.pi / 2 * np.arange(64) + np.pi / 4) * np.hanning(64)
    for start in range(RATE_HZ, RATE_HZ * 2, RATE_HZ // 4):
        sound[start : start + 64] += 0.10 * wave[:, None]
    again = []
    resolve_peaks = survey.resolve_peaks
    monkeypatch.setattr("mixer.song.finish.resolve_peaks", lambda *given: again.append(given) or resolve_peaks(*given))
    done = finish(ArrayMix(sound.astype(np.float32)))
    assert len(again) == 1
    out = sound_of(done)
    assert true_peak_dbtp(out, RATE_HZ) <= CEILING_DBTP
    assert true_peak_dbtp(out, RATE_HZ) == pytest.approx(done.true_peak_dbtp, abs=0.03)


@pytest.mark.parametrize("bad", [np.nan, np.inf])
def test_values_that_are_no_numbers_are_refused(bad):
    sound = signals.noise(RATE_HZ)
    sound[1000, 1] = bad
    with pytest.raises(ValueError, match="not finite"):
        finish(ArrayMix(sound))


def test_a_mix_that_lies_about_its_length_is_refused():
    class Liar(ArrayMix):
        length_frames = 5

    with pytest.raises(ValueError, match="says it has 5 frames"):
        finish(Liar(signals.noise(100)))


def rumbling(kind, seconds=8):
    """The limiter works on what the standard's filter takes away, and so on what loudness does not hear."""
    rng = np.random.default_rng(3)
    time = np.arange(seconds * RATE_HZ) / RATE_HZ
    hiss = rng.standard_normal(len(time))
    mono = {
        "15 Hz": np.sin(2 * np.pi * 15 * time) + 0.05 * hiss,
        "thumps": np.sin(2 * np.pi * 20 * time) * np.exp(-(time % 0.5) * 4) + 0.03 * hiss,
        "brown noise": lfilter([1], [1, -0.999], hiss) * 0.02,
    }[kind]
    return np.stack([mono, mono], axis=1).astype(np.float32)


@pytest.mark.parametrize("kind", ["15 Hz", "thumps", "brown noise"])
def test_where_the_limiter_takes_much_the_loudness_is_that_of_what_comes_out(kind):
    done = finish(ArrayMix(rumbling(kind)))
    assert done.limited.deepest_db > 3
    out = sound_of(done).astype(np.float64)
    by_pyloudnorm = pyloudnorm.Meter(RATE_HZ, filter_class="DeMan").integrated_loudness(out)
    assert done.loudness_lufs == pytest.approx(by_pyloudnorm, abs=0.005)
    assert done.as_near_as_allowed == (by_pyloudnorm < TARGET_LUFS - 0.2)


def test_another_target_and_ceiling():
    done = finish(ArrayMix(song(8.0)), target_lufs=-23.0, ceiling_dbtp=-6.0)
    out = sound_of(done)
    assert integrated_loudness(out, RATE_HZ) == pytest.approx(-23.0, abs=0.05)
    assert true_peak_dbtp(out, RATE_HZ) <= -6.0


class EndlessMix:
    """A song of any length in no memory: the same drums again and again."""

    rate_hz = RATE_HZ

    def __init__(self, seconds):
        self._drums = (signals.play_drums(96.0).samples * np.float32(0.5))[:65_536]
        self._count = seconds * RATE_HZ // len(self._drums)
        self.length_frames = self._count * len(self._drums)

    def blocks(self):
        for _ in range(self._count):
            yield from (self._drums[start : start + 16_384] for start in range(0, len(self._drums), 16_384))


def finishing_memory(seconds):
    made = EndlessMix(seconds)
    tracemalloc.start()
    for _ in finish(made).blocks():
        pass
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak


def test_memory():
    finishing_memory(2)  # fill the tables
    short, long = finishing_memory(30), finishing_memory(120)
    assert short < 8e6
    # Kept between the passes: 2 bytes for 16 frames and 4 for 49; twice that while it is joined.
    assert long - short < 90 * RATE_HZ * (2 / 16 + 4 / 49) * 2.5


def test_the_survey_guesses_only_on_the_safe_side(mix):
    found = survey.survey(ArrayMix(mix), CEILING_DBTP - TARGET_LUFS)
    levels, peak, _ = survey.resolve_peaks(ArrayMix(mix), 0.0)
    assert found.peak == peak
    high = levels > 20 * np.log10(found.resolved_above) * 64 + 1
    assert np.count_nonzero(high) > 100
    assert np.array_equal(found.levels[high], levels[high])
