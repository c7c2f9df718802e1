"""Lossy files are written lower until what is decoded stays below the ceiling."""

from __future__ import annotations

import numpy as np
import pytest
import soundfile

from mixer.signal.blocks import in_blocks
from mixer.song import songfile

RATE_HZ = 44_100


class Square:
    """Noise that is +0.89 or -0.89 (-1 dB) for 40 frames at least: what a coder leaves out of it raises its peaks."""

    def __init__(self, level=0.8):
        signs = np.sign(np.random.default_rng(7).standard_normal(3 * RATE_HZ // 40 + 1))
        self.sound = (level * np.repeat(signs, 40)[: 3 * RATE_HZ, None] * np.ones((1, 2))).astype(np.float32)

    def blocks(self):
        return in_blocks(self.sound, 5000)


@pytest.mark.parametrize("coding", ["ogg", "mp3"])
def test_what_is_decoded_stays_below_the_ceiling(tmp_path, monkeypatch, coding):
    """By our meter and by libebur128 (through pyebur128), which may differ by 0.02 dB on sound such as this."""
    import pyebur128

    heard = []
    measured = songfile._measured
    monkeypatch.setattr(songfile, "_measured", lambda *given: heard.append(measured(*given)) or heard[-1])
    found = songfile._encode_below_ceiling(tmp_path / "x", Square(), RATE_HZ, coding)
    assert len(heard) > 1
    assert heard[0].true_peak_dbtp > -1
    assert found == heard[-1]
    assert -1.7 < found.true_peak_dbtp <= -1

    samples = np.ascontiguousarray(soundfile.read(tmp_path / "x", dtype="float32")[0])
    state = pyebur128.R128State(2, RATE_HZ, pyebur128.MeasurementMode.MODE_I | pyebur128.MeasurementMode.MODE_TRUE_PEAK)
    state.add_frames(samples.reshape(-1), len(samples))
    peak = max(pyebur128.get_true_peak(state, side) for side in (0, 1))
    assert 20 * np.log10(peak) <= -0.98
    assert pyebur128.get_loudness_global(state) == pytest.approx(found.loudness_lufs, abs=0.05)


def test_what_is_low_enough_is_written_once_and_untouched(tmp_path, monkeypatch):
    times = []
    encode = songfile.encode
    monkeypatch.setattr(songfile, "encode", lambda *given: times.append(1) or encode(*given))
    found = songfile._encode_below_ceiling(tmp_path / "x", Square(0.2), RATE_HZ, "ogg")
    assert len(times) == 1
    samples = soundfile.read(tmp_path / "x", dtype="float32")[0]
    assert np.sqrt(np.mean(samples**2)) == pytest.approx(0.2, rel=0.01)
    assert found.true_peak_dbtp < -5


def test_silence_has_neither_loudness_nor_peak(tmp_path):
    square = Square(0)
    found = songfile._encode_below_ceiling(tmp_path / "x", square, RATE_HZ, "ogg")
    assert found == songfile.Heard(None, None)


def test_sound_shorter_than_the_standard_measures_has_a_loudness(tmp_path):
    square = Square(0.2)
    square.sound = square.sound[:8000]
    assert songfile._encode_below_ceiling(tmp_path / "x", square, RATE_HZ, "ogg").loudness_lufs > -40
