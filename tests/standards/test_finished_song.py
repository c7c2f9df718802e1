"""A finished song's loudness and peak, read by two meters that are not ours: libebur128 and ffmpeg's ebur128.

Delivery (AES TD1008, 2021, as three trade pages quote it): -16 LUFS within 0.2 LU, at most -1 dBTP.
"""

import re
import subprocess

import numpy as np
import pyebur128
import pytest
import soundfile

from mixer.signal.wav import WavWriter
from mixer.song.finish import finish
from tests.song.mixes import ArrayMix, song
from tests.tools import needs_tool

# What EBU Tech 3341 allows a true-peak meter to be off. libebur128's filter ends early: of this song's snare, noise up
# to half the rate, it reads 0.13 dB more than ffmpeg and we do.
METER_OVER_DB, METER_UNDER_DB = 0.2, 0.4


@pytest.fixture(scope="module", params=[44_100, 48_000])
def delivered(request, tmp_path_factory):
    done = finish(ArrayMix(song(20.0, request.param), request.param))
    path = tmp_path_factory.mktemp("songs") / "song.wav"
    with path.open("wb") as file:
        writer = WavWriter(file, request.param)
        for block in done.blocks():
            writer.write(block)
        writer.close()
    return done, path


def test_libebur128(delivered):
    done, path = delivered
    samples, rate_hz = soundfile.read(path, dtype="float32", always_2d=True)
    mode = pyebur128.MeasurementMode.MODE_I | pyebur128.MeasurementMode.MODE_TRUE_PEAK
    state = pyebur128.R128State(2, rate_hz, mode)
    state.add_frames(np.ascontiguousarray(samples).reshape(-1), len(samples))
    peak_dbtp = 20 * np.log10(max(pyebur128.get_true_peak(state, channel) for channel in (0, 1)))
    assert pyebur128.get_loudness_global(state) == pytest.approx(done.loudness_lufs, abs=0.05)
    assert pyebur128.get_loudness_global(state) == pytest.approx(-16.0, abs=0.2)
    assert -METER_UNDER_DB <= peak_dbtp - done.true_peak_dbtp <= METER_OVER_DB
    assert peak_dbtp <= -1.0


def test_ffmpeg(delivered):
    needs_tool("ffmpeg")
    done, path = delivered
    command = ["ffmpeg", "-nostdin", "-hide_banner", "-i", str(path), "-af", "ebur128=peak=true", "-f", "null", "-"]
    said = subprocess.run(command, capture_output=True, text=True, check=True).stderr.rpartition("Summary:")[2]
    loudness_lufs = float(re.search(r"I:\s+(-?[\d.]+) LUFS", said)[1])
    peak_dbtp = float(re.search(r"Peak:\s+(-?[\d.]+) dBFS", said)[1])
    # ffmpeg prints one decimal.
    assert loudness_lufs == pytest.approx(done.loudness_lufs, abs=0.05 + 0.05)
    assert peak_dbtp == pytest.approx(done.true_peak_dbtp, abs=0.05 + 0.05)
    assert peak_dbtp <= -1.0
