"""Side by side: old then new, equally loud by meters that are not ours, told apart by tones, with markers."""

from __future__ import annotations

from random import Random

import numpy as np
import pyebur128
import pyloudnorm
import pytest
import soundfile

from mixer.signal.riff import read_chunks
from mixer.song.opened import open_recipe
from mixer.song.render import prepare
from mixer.versions.beside import LOUDNESS_LUFS, TONE_HZ, TONE_SECONDS, write_side_by_side
from mixer.versions.change import Both
from mixer.versions.changes import compare
from mixer.versions.passages import BARS_BEFORE, MOST_BARS, MOST_PASSAGES, heard_passages
from tests.sounds import Made, loop_folder
from tests.versions.chance_songs import laid_out, some_recipe
from tests.versions.edits import EDITORS

RATE_HZ = 44_100
TEXT = """tempo: 96
layers:
  hum: hum
  hiss: hiss
sections:
  - verse, 2 bars: hum
  - chorus, 4 bars: hum, hiss
  - outro, 8 bars: hiss
"""


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """The chorus's hum is far softer and the outro is another length; with labels, frames, sound and what was said."""
    folder = tmp_path_factory.mktemp("beside")
    loop_folder(folder / "loops", Made("hum", "tone", role="bass"), Made("hiss", "noise", role="percussion"))
    plans = []
    for name, text in (
        ("old", TEXT),
        (
            "new",
            TEXT.replace("chorus, 4 bars: hum, hiss", "chorus, 4 bars:\n      hum:\n        level: -20\n      hiss:"),
        ),
    ):
        (folder / f"{name}.yaml").write_text(text.replace("outro, 8", f"outro, {8 if name == 'old' else 6}"))
        opened = open_recipe(folder / f"{name}.yaml")
        assert not opened.mistakes
        plans.append(opened.plan)
    heard, more = heard_passages(compare(*plans))
    assert more == 0
    both = Both(*(prepare(plan)[0] for plan in plans))
    loudness = write_side_by_side(Both(*plans), both, heard, Both("old", "new"), folder / "both.wav")
    sound, rate = soundfile.read(folder / "both.wav")
    assert rate == RATE_HZ
    return heard, _markers(folder / "both.wav"), sound, loudness


def _markers(path):
    """Frames and labels, read by the standard's layout: ids and sample offsets, then the labels by id."""
    chunks = {each.name: each.content for each in read_chunks(path) if each.name != b"data"}
    points = np.frombuffer(chunks[b"cue "][4:], "<u4").reshape(-1, 6)
    labels = chunks[b"LIST"].split(b"labl")[1:]
    return [(int(frame), each[8:].split(b"\0")[0].decode()) for frame, each in zip(points[:, 5], labels, strict=True)]


BAR = 4 * 60 / 96


def test_each_place_is_heard_old_then_new_with_a_bar_before(made):
    _, markers, _, _ = made
    assert [label for _, label in markers] == [
        "old: chorus, 2-6",
        "new: chorus, 2-6",
        "old: outro, 11-14",
        "new: outro, 11-12",
    ]


def test_all_are_equally_loud_by_other_meters(made):
    _, markers, sound, said = made
    for (frame, _), bars in zip(markers, (5, 5, 4, 2), strict=True):
        piece = sound[frame : frame + round(bars * BAR * RATE_HZ)]
        state = pyebur128.R128State(2, RATE_HZ, pyebur128.MeasurementMode.MODE_I)
        state.add_frames(np.ascontiguousarray(piece).ravel(), len(piece))
        assert pyebur128.get_loudness_global(state) == pytest.approx(said, abs=0.2)
        assert pyloudnorm.Meter(RATE_HZ).integrated_loudness(piece) == pytest.approx(said, abs=0.2)
    assert said <= LOUDNESS_LUFS


def test_one_soft_tone_goes_before_the_old_and_two_before_the_new(made):
    _, markers, sound, said = made
    ends = [round(bars * BAR * RATE_HZ) for bars in (0, 5, 5, 4)]
    starts = [0, *(frame + length for (frame, _), length in zip(markers, ends[1:], strict=False))]
    for start, (frame, label) in zip(starts, markers, strict=True):
        lead = np.abs(sound[start:frame, 0])
        loud = np.convolve(lead, np.ones(2000) / 2000, "same") > 0.005
        tones = int(np.count_nonzero(np.diff(loud.astype(int)) == 1))
        assert tones == (1 if label.startswith("old") else 2)
        first = int(np.argmax(loud))
        middle = sound[start:frame][first + 3000 : first + round(TONE_SECONDS * RATE_HZ) - 3000]
        steady = np.sqrt(2) * np.sqrt(np.mean(middle**2)) * np.sin(2 * np.pi * TONE_HZ * np.arange(88_200) / RATE_HZ)
        loudness = pyloudnorm.Meter(RATE_HZ).integrated_loudness(np.stack([steady, steady], axis=1))
        assert loudness == pytest.approx(said - 12, abs=0.3)


def test_passages_hold_the_change_and_are_short():
    for seed in range(60):
        chance = Random(seed)  # noqa: S311 - the same everywhere is what is wanted
        recipe = some_recipe(chance)
        edit = chance.choice(EDITORS)(chance, recipe)
        if edit is None:
            continue
        found = compare(laid_out(recipe), laid_out(edit.recipe))
        heard, _ = heard_passages(found)
        assert len(heard) <= MOST_PASSAGES
        assert bool(heard) == any(change.heard for change in found.changes)
        for each in heard:
            for side, plan in ((each.bars.old, found.old), (each.bars.new, found.new)):
                if side is not None:
                    assert 1 <= side[0] <= side[1] <= plan.recipe.bars
                    assert side[1] - side[0] + 1 <= BARS_BEFORE + MOST_BARS
