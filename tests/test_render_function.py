"""`mixer.render`, the function for scripts: the file's ending says what kind of file it becomes."""

from __future__ import annotations

import pytest
import soundfile

import mixer
from tests.sounds import Made, loop_folder


@pytest.fixture
def plan(tmp_path):
    loop_folder(tmp_path / "loops", Made("ticks"))
    recipe = tmp_path / "song.yaml"
    recipe.write_text("tempo: 120\nlayers:\n  box: ticks\nsections:\n  - verse, 2 bars: box\n", encoding="utf-8")
    return mixer.plan(mixer.load_recipe(recipe))


@pytest.mark.parametrize("ending", ["wav", "flac", "ogg", "mp3", "FLAC"])
def test_the_ending_says_what_kind_of_file_it_becomes(tmp_path, plan, ending):
    out = tmp_path / f"made.{ending}"
    report = mixer.render(plan, out)
    assert report.song == out
    # libsndfile names the format by the file's content.
    assert soundfile.info(str(out)).format == ending.upper()
    assert soundfile.info(str(out)).duration == pytest.approx(4, abs=0.1)


@pytest.mark.parametrize("name", ["made.aiff", "made", "made.wav.yaml"])
def test_another_ending_is_refused_before_anything_is_made(tmp_path, plan, name):
    with pytest.raises(ValueError, match=r"ends in \.wav, \.flac, \.ogg or \.mp3"):
        mixer.render(plan, tmp_path / name)
    assert not (tmp_path / name).exists()
