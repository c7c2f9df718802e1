"""The guide: clicks where the beats are, a chime where sections begin, and the song itself unchanged beneath."""

from __future__ import annotations

import numpy as np
import pytest
import soundfile

from tests.cli.program import mixer
from tests.sounds import RATE_HZ, Made, loop_folder

SONG = "tempo: 100\nlayers:\n  hum: hum\nsections:\n  - a, 2 bars: hum\n  - b, 2 bars: hum\n"


@pytest.fixture
def guide(tmp_path):
    loop_folder(tmp_path / "loops", Made("hum", kind="tone", role="bass", tempo_bpm="100", pitch_hz=110))
    (tmp_path / "song.yaml").write_text(SONG, encoding="utf-8")
    done = mixer("render", "song.yaml", "--guide", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "song (guide).wav" in done.stdout
    song, _ = soundfile.read(tmp_path / "song.wav")
    with_clicks, rate_hz = soundfile.read(tmp_path / "song (guide).wav")
    assert rate_hz == RATE_HZ
    return song, with_clicks


def test_there_is_a_click_on_every_beat_and_nothing_between(guide):
    song, with_clicks = guide
    assert len(song) == len(with_clicks)
    rest = with_clicks[:, 0] - song[:, 0] * 10 ** (-4 / 20)
    beat = 0.6 * RATE_HZ  # 100 beats a minute
    for number in range(16):
        start = round(number * beat)
        assert np.abs(rest[start : start + 300]).max() > 0.02
    # Between the clicks of the second bar the first chime has died away to next to nothing; dither is 0.0001 at most.
    for number in (5, 6, 7):
        start = round(number * beat)
        assert np.abs(rest[start + 2000 : start + 20000]).max() < 0.004


def test_a_chime_stands_where_sections_begin(guide):
    song, with_clicks = guide
    rest = with_clicks[:, 0] - song[:, 0] * 10 ** (-4 / 20)

    def fifth(bar):
        start = round(bar * 2.4 * RATE_HZ) + 2000
        spectrum = np.abs(np.fft.rfft(rest[start : start + 16384] * np.hanning(16384)))
        return spectrum[round(1046.5 * 16384 / RATE_HZ)]

    assert min(fifth(0), fifth(2)) > 20 * max(fifth(1), fifth(3))


def test_it_does_not_clip(guide):
    assert np.abs(guide[1]).max() < 0.9
