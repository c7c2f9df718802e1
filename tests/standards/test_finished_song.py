"""A finished song's loudness and peak, read by two meters that are not ours: libebur128 and ffmpeg's ebur128.

Delivery (AES TD1008, 2021, as three trade pages quote it): -16 LUFS within 0.2 LU, at most -1 dBTP.

How far two true-peak meters may be apart depends on how high the sound reaches. A four-fold meter reads a peak low by
up to 20 log10 cos(pi f / 4), f in parts of the rate (BS.1770-4, Annex 2): by 0.05 dB at 0.136. Up to there both meters
are held to 0.05 dB, and up to 0.45, where our filter ends, an exact interpolation. Noise up to half the rate is read
within what EBU Tech 3341 lets a meter be off, since the meters' filters end differently there.
"""

import re
import subprocess

import numpy as np
import pyebur128
import pytest
import soundfile
from scipy.fft import next_fast_len
from scipy.signal import firwin, oaconvolve, resample

from mixer.signal.wav import WavWriter
from mixer.song.finish import finish
from tests.song.mixes import ArrayMix, song
from tests.tools import needs_tool

NEAR_DB = 0.05
# What EBU Tech 3341 allows a true-peak meter to be off.
METER_OVER_DB, METER_UNDER_DB = 0.2, 0.4


def deliver(sound, rate_hz, path):
    done = finish(ArrayMix(sound, rate_hz))
    with path.open("wb") as file:
        writer = WavWriter(file, rate_hz)
        for block in done.blocks():
            writer.write(block)
        writer.close()
    return done, path


def low_passed(sound, highest):
    """`highest` in parts of the rate; what is left above it is 50 dB down (a Hamming window)."""
    taps = 511
    return oaconvolve(sound, firwin(taps, 2 * highest - 3.3 / taps)[:, None], mode="same", axes=0).astype(np.float32)


@pytest.fixture(scope="module", params=[44_100, 48_000])
def delivered(request, tmp_path_factory):
    sound = low_passed(song(20.0, request.param), highest=0.136)
    done, path = deliver(sound, request.param, tmp_path_factory.mktemp("songs") / "song.wav")
    assert done.limited.deepest_db > 1.0  # the limiter is part of what is checked
    return done, path


@pytest.fixture(scope="module", params=[44_100, 48_000])
def delivered_full_band(request, tmp_path_factory):
    """The snare is noise up to half the rate."""
    return deliver(song(20.0, request.param), request.param, tmp_path_factory.mktemp("songs") / "song.wav")


def by_libebur128(path):
    """LUFS and dBTP."""
    samples, rate_hz = soundfile.read(path, dtype="float32", always_2d=True)
    mode = pyebur128.MeasurementMode.MODE_I | pyebur128.MeasurementMode.MODE_TRUE_PEAK
    state = pyebur128.R128State(2, rate_hz, mode)
    state.add_frames(np.ascontiguousarray(samples).reshape(-1), len(samples))
    peak = max(pyebur128.get_true_peak(state, channel) for channel in (0, 1))
    return pyebur128.get_loudness_global(state), 20 * np.log10(peak)


def by_ffmpeg(path):
    """LUFS and dBTP, to three decimals (of the peak's amplitude), which only the frames' metadata have."""
    meter = "ebur128=peak=true:metadata=1,ametadata=mode=print:file=-"
    command = ["ffmpeg", "-nostdin", "-v", "error", "-i", str(path), "-af", meter, "-f", "null", "-"]
    said = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    loudness_lufs = re.findall(r"r128\.I=(\S+)", said)[-1]
    peak = re.findall(r"r128\.true_peak=(\S+)", said)[-1]
    return float(loudness_lufs), 20 * np.log10(float(peak))


def check(done, read):
    loudness_lufs, peak_dbtp = read
    assert loudness_lufs == pytest.approx(done.loudness_lufs, abs=NEAR_DB)
    assert loudness_lufs == pytest.approx(-16.0, abs=0.2)
    assert peak_dbtp == pytest.approx(done.true_peak_dbtp, abs=NEAR_DB)
    assert peak_dbtp <= -1.0


def check_full_band(done, read):
    loudness_lufs, peak_dbtp = read
    assert loudness_lufs == pytest.approx(done.loudness_lufs, abs=NEAR_DB)
    assert -METER_UNDER_DB <= peak_dbtp - done.true_peak_dbtp <= METER_OVER_DB
    assert peak_dbtp <= -1.0


def test_libebur128(delivered):
    done, path = delivered
    check(done, by_libebur128(path))


def test_ffmpeg(delivered):
    needs_tool("ffmpeg")
    done, path = delivered
    check(done, by_ffmpeg(path))


def test_libebur128_full_band(delivered_full_band):
    done, path = delivered_full_band
    check_full_band(done, by_libebur128(path))


def test_ffmpeg_full_band(delivered_full_band):
    needs_tool("ffmpeg")
    done, path = delivered_full_band
    check_full_band(done, by_ffmpeg(path))


@pytest.mark.parametrize("rate_hz", [44_100, 48_000])
def test_exact_interpolation(tmp_path, rate_hz):
    # scipy.signal.resample: the whole sound's Fourier series, at 16 times the rate.
    done, path = deliver(low_passed(song(8.0, rate_hz), highest=0.45), rate_hz, tmp_path / "song.wav")
    samples, _ = soundfile.read(path, dtype="float64", always_2d=True)
    around = np.zeros((next_fast_len(len(samples) + 2000), 2))
    around[1000 : 1000 + len(samples)] = samples
    peak_dbtp = 20 * np.log10(np.abs(resample(around, 16 * len(around))).max())
    assert done.limited.deepest_db > 1.0
    assert peak_dbtp == pytest.approx(done.true_peak_dbtp, abs=NEAR_DB)
    assert peak_dbtp <= -1.0
