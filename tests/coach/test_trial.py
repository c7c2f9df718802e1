"""A try: two versions of the same bars, equally loud as other meters read it, and nothing changed on disk."""

from __future__ import annotations

import json

import numpy as np
import pytest
import soundfile

from tests.cli.program import mixer
from tests.sounds import Made, loop_folder

SONG = """tempo: 120
layers:
  box: ticks
  hum: hum
  hiss: hiss
sections:
  - intro, 2 bars: hum
  - verse, 12 bars: hum, box
  - end, 2 bars: everything
"""
BAR_FRAMES = 88_200


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    folder = tmp_path_factory.mktemp("try")
    loops = (
        Made("ticks", tempo_bpm="120"),
        Made("hum", kind="tone", role="harmony", tempo_bpm="120"),
        Made("hiss", kind="noise", role="percussion", tempo_bpm="120"),
    )
    loop_folder(folder / "loops", *loops)
    (folder / "song.yaml").write_text(SONG, encoding="utf-8")
    return folder


def tried(place, change):
    done = mixer("try", "song.yaml", change, "--json", cwd=place)
    assert done.returncode == 0, done.stdout + done.stderr
    answer = json.loads(done.stdout)
    sound, rate_hz = soundfile.read(place / "song (try).wav")
    gap = rate_hz
    middle = (len(sound) - gap) // 2
    assert not np.any(np.abs(sound[middle + 1000 : middle + gap - 1000]) > 2 / 32768)
    return answer, sound[:middle], sound[middle + gap :], rate_hz


def test_both_are_equally_loud_and_nothing_is_changed(place):
    """Equal within 0.2 LU as pyloudnorm, an implementation of ITU-R BS.1770 of its own, reads it."""
    pyloudnorm = pytest.importorskip("pyloudnorm")
    answer, before, after, rate_hz = tried(place, "verse: hiss 5-, without box 1-4")
    meter = pyloudnorm.Meter(rate_hz, filter_class="DeMan")
    assert meter.integrated_loudness(before) == pytest.approx(meter.integrated_loudness(after), abs=0.2)
    assert answer["loudness_lufs"][0] == pytest.approx(answer["loudness_lufs"][1], abs=0.02)
    assert answer["bars"] == [3, 10]
    assert max(np.abs(before).max(), np.abs(after).max()) < 10 ** (-0.9 / 20)
    assert (place / "song.yaml").read_text(encoding="utf-8") == SONG
    assert sorted(path.name for path in place.iterdir()) == ["loops", "song (try).wav", "song.yaml"]


def test_it_is_eight_bars_and_the_change_is_where_it_was_said(place):
    _, before, after, _ = tried(place, "verse: without hum 3-4")
    assert len(before) == pytest.approx(8 * BAR_FRAMES, abs=500)
    hum = [np.abs(sound[2 * BAR_FRAMES + 30_000 : 2 * BAR_FRAMES + 40_000]).max() for sound in (before, after)]
    assert hum[0] > 0.01
    assert hum[1] < 0.001


@pytest.mark.parametrize(
    ("change", "bars"),
    [
        ("intro: box", [1, 8]),
        ("end: without hiss", [9, 16]),
        ("verse: hiss 11-12", [9, 16]),
        ("bar 15: nothing", [9, 16]),
    ],
)
def test_the_change_is_among_the_bars(place, change, bars):
    answer, *_ = tried(place, change)
    assert answer["bars"] == bars


def test_silence_stays_silent(place):
    (place / "short.yaml").write_text(SONG.replace("verse, 12 bars", "verse, 8 bars"), encoding="utf-8")
    done = mixer("try", "short.yaml", "verse: nothing", cwd=place)
    assert done.returncode == 0
    assert "One of the two is silent." in done.stdout
    sound, _ = soundfile.read(place / "short (try).wav")
    assert np.abs(sound[-8 * BAR_FRAMES + 2000 :]).max() < 2 / 32768
    (place / "short.yaml").unlink()
    (place / "short (try).wav").unlink()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ("vers: without box", 'Did you mean "verse"?'),
        ("verse: without hiss", '"hiss" does not play in verse'),
        ("verse: box", "so there is nothing to compare"),
        ("without box", "does not say which section is meant"),
    ],
)
def test_a_change_that_cannot_be_tried_is_told_and_makes_nothing(place, change, said):
    (place / "song (try).wav").unlink(missing_ok=True)
    done = mixer("try", "song.yaml", change, cwd=place)
    assert done.returncode == 1
    assert said in done.stderr
    assert not (place / "song (try).wav").exists()


def test_a_recipe_that_is_not_there(place):
    assert mixer("try", "nothing.yaml", "verse: box", cwd=place).returncode == 2
