"""The sound by which a room is set to one level before songs are heard."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
import soundfile

from mixer.classroom.session import write_level_check
from mixer.signal.loudness import integrated_loudness


def test_the_level_check_is_as_loud_as_songs(tmp_path):
    write_level_check(tmp_path / "level.wav")
    samples, rate_hz = soundfile.read(tmp_path / "level.wav", dtype="float32")
    steady = samples[4 * rate_hz : 8 * rate_hz]
    assert integrated_loudness(steady, rate_hz) == pytest.approx(-16, abs=0.3)
    assert np.abs(samples).max() < 1
    # Pink: equal power in octaves (IEC 60268-1's description, from memory).
    spectrum = np.abs(np.fft.rfft(steady[:, 0])) ** 2
    edges = [round(hz * len(steady) / rate_hz) for hz in (250, 500, 1000, 2000, 4000, 8000)]
    octaves = [10 * np.log10(spectrum[low:high].sum()) for low, high in pairwise(edges)]
    assert max(octaves) - min(octaves) < 1
