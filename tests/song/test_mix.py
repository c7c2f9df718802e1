"""What is heard is what was planned: entries, exits, levels, pan, joins; measured in the mixed sound."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from mixer.loops.library import open_library
from mixer.recipe.reader import read
from mixer.song.mix import Mix
from mixer.song.plan import plan
from mixer.song.render import prepare
from tests.sounds import RATE_HZ, Made, loop_folder


@pytest.fixture(scope="module")
def library(tmp_path_factory):
    folder = loop_folder(
        tmp_path_factory.mktemp("loops"),
        Made("ticks"),
        Made("odd", tempo_bpm="124", bars=1),
        Made("hum", kind="tone", role="harmony", pitch_hz=220),
        Made("low", kind="tone", role="bass", pitch_hz=55),
        Made("odd-hum", kind="tone", role="harmony", tempo_bpm="124", bars=1),
        Made("hiss", kind="noise", role="percussion"),
    )
    return open_library(None, [folder])


def mixed(library, sections, *, layers, tempo="96", top="", rate_hz=RATE_HZ, block_frames=16_384, only=None, upbeat=0):
    lines = [f"tempo: {tempo}", *top.splitlines(), "layers:", *(f"  {line}" for line in layers.splitlines())]
    text = "\n".join([*lines, "sections:", *(f"  {line}" for line in sections.splitlines())])
    song = plan(read(text, library.names()).recipe, library, rate_hz)
    materials, problems = prepare(song)
    assert problems == []
    materials = {name: replace(material, upbeat_frames=upbeat) for name, material in materials.items()}
    mix = Mix(song, materials, block_frames=block_frames, layers=only)
    sound = np.concatenate([block.copy() for block in mix.blocks()])
    assert len(sound) == mix.length_frames == song.length_frames
    return sound, song


def level_db(sound):
    return 10 * np.log10(np.mean(sound.astype(np.float64) ** 2) + 1e-20)


def bar(sound, number, *, tempo=96, count=1):
    frames = 240 / tempo * RATE_HZ
    return sound[round((number - 1) * frames) : round((number - 1 + count) * frames)]


def test_a_layer_is_heard_in_its_bars_and_in_no_others(library):
    sound, _ = mixed(library, "- verse, 8 bars: x 3-4, 7", layers="x: hum")
    heard = [number for number in range(1, 9) if level_db(bar(sound, number)[:-500]) > -100]
    assert heard == [3, 4, 7]


def test_hits_stand_where_arithmetic_puts_them(library):
    """Every beat k of the song at round(k x 60 / BPM x rate), found as the click's first frame; 300 bars at 124 BPM."""
    sound, _ = mixed(library, "\n".join(["- part, 60 bars: x"] * 5), layers="x: odd", tempo="124")
    beats = np.arange(300 * 4)
    exact = beats * 60 / 124 * RATE_HZ
    mono = np.abs(sound[:, 0])
    for at in exact[1::7]:
        near = mono[round(at) - 20 : round(at) + 20]
        start = int(np.argmax(near > 0.3 * mono.max())) - 20
        assert abs(start) <= 2


def test_a_downbeat_is_whole_where_a_layer_enters(library):
    sound, _ = mixed(library, "- verse, 4 bars: x 3-4", layers="x: ticks")
    whole, _ = mixed(library, "- verse, 4 bars: x", layers="x: ticks")
    frames = len(sound) // 4
    assert np.array_equal(sound[2 * frames :], whole[2 * frames :])


def test_an_upbeat_is_heard_before_its_layer_enters_and_not_where_it_plays_already(library):
    beat = round(60 / 96 * RATE_HZ)
    entering = "- a, 2 bars: nothing\n- b, 4 bars: x"
    plain, _ = mixed(library, entering, layers="x: ticks")
    sound, _ = mixed(library, entering, layers="x: ticks", upbeat=beat)
    begins, last = len(sound) // 3, len(sound) - beat  # a click, and nothing in the last 10 ms
    assert np.array_equal(sound[begins:], plain[begins:])
    assert np.array_equal(sound[begins - beat : begins], plain[last:])
    assert not sound[: begins - beat - 441].any()
    for song in ("- a, 2 bars: x\n- b, 4 bars: x", "- b, 4 bars: x", "- a, 4 bars: nothing\n- b, 4 bars: x 2-4"):
        assert np.array_equal(
            mixed(library, song, layers="x: ticks", upbeat=beat)[0], mixed(library, song, layers="x: ticks")[0]
        )


def test_nothing_of_the_next_bar_is_heard_where_a_layer_leaves(library):
    sound, _ = mixed(library, "- verse, 4 bars: x 1-2", layers="x: ticks")
    frames = len(sound) // 4
    assert not np.any(sound[2 * frames :])


@pytest.mark.parametrize("name", ["hum", "low"])
def test_no_click_where_a_tone_enters_leaves_or_begins_again(library, name):
    """A click would be a step: the second difference stays near that of the tone itself."""
    sound, _ = mixed(library, "- a, 3 bars: x 2-3\n- b, 3 bars: x 1-2\n- c, 2 bars: x", layers=f"x: {name}")
    inside = np.abs(np.diff(bar(sound, 2)[2000:-2000, 0], 2)).max()
    edges = np.abs(np.diff(sound[:, 0], 2)).max()
    # An edge of 10 ms on a tone adds the curvature of its own raised cosine.
    added = np.abs(sound).max() * (np.pi / 441) ** 2
    assert edges <= 1.5 * inside + 2 * added


def test_a_slip_of_one_frame_is_hidden(library):
    """One bar at 124 BPM is 85354.84 frames, so its repetitions slip; a hard slip stands far above this."""
    sound, _ = mixed(library, "- a, 40 bars: x", layers="x: odd-hum", tempo="124")
    inside = np.abs(np.diff(sound[4000:80_000, 0], 2)).max()
    assert np.abs(np.diff(sound[200:-600, 0], 2)).max() <= 1.2 * inside


def test_a_level_is_heard_as_written(library):
    sound, _ = mixed(
        library, "- name: a\n  bars: 4\n  play: x\n- name: b\n  bars: 4\n  play:\n    x: {level: -6}", layers="x: hum"
    )
    change = level_db(bar(sound, 6, count=2)) - level_db(bar(sound, 2, count=2))
    assert change == pytest.approx(-6, abs=0.01)


def test_a_level_changes_before_the_bar_line(library):
    sound, _ = mixed(library, "- name: a\n  bars: 4\n  play:\n    x: {level: -20}\n- b, 4 bars: x", layers="x: ticks")
    loud, _ = mixed(library, "- a, 4 bars: nothing\n- b, 4 bars: x", layers="x: ticks")
    frames = len(sound) // 2
    assert np.array_equal(sound[frames:], loud[frames:])


@pytest.mark.parametrize(
    ("pan", "left", "right"), [("left 100", 3.01, -200), ("centre", 0, 0), ("right 50", -5.33, 2.32)]
)
def test_pan_keeps_the_power(library, pan, left, right):
    """Sine and cosine of the place, 0 dB in the middle (common practice, no source): power left + right is constant."""
    sound, _ = mixed(library, "- a, 2 bars: x", layers=f"x:\n  loop: hum\n  pan: {pan}")
    plain, _ = mixed(library, "- a, 2 bars: x", layers="x: hum")
    change = [level_db(sound[:, side]) - level_db(plain[:, side]) for side in (0, 1)]
    assert change[0] == pytest.approx(left, abs=0.05)
    assert change[1] == pytest.approx(right, abs=0.05) if right > -100 else change[1] < -100
    power = np.mean(sound.astype(np.float64) ** 2) / np.mean(plain.astype(np.float64) ** 2)
    assert power == pytest.approx(1, rel=0.001)


def test_a_fade_is_a_straight_line(library):
    sound, _ = mixed(library, "- name: a\n  bars: 4\n  play:\n    x: {fade out: 4 bars}", layers="x: hum")
    peaks = [np.abs(bar(sound, number)[:2000]).max() for number in (1, 2, 3, 4)]
    assert np.array(peaks) / peaks[0] == pytest.approx([1, 0.75, 0.5, 0.25], abs=0.02)


def test_a_last_hit_dies_away(library):
    sound, song = mixed(library, "- a, 4 bars: x", layers="x: hum", top="ending: last hit")
    tail = sound[round(4 * float(song.bar_frames)) :]
    assert len(tail) == round(2 * 60 / 96 * RATE_HZ)
    quarter = len(tail) // 4
    levels = [level_db(tail[n * quarter : (n + 1) * quarter]) for n in range(4)]
    assert np.diff(levels) == pytest.approx([-15, -15, -15], abs=1.5)  # 60 dB over the whole of it
    assert np.abs(tail[-20:]).max() < 1e-4


@pytest.mark.parametrize("block_frames", [1, 997, 65_536])
def test_the_sound_does_not_depend_on_the_blocks(library, block_frames):
    song = "- a, 1 bar: x, y\n- name: b\n  bars: 1\n  play:\n    x: {fade out: 1 bar, pan: left 30}"
    sections = song if block_frames > 1 else "- a, 1 bar: x"
    rate = RATE_HZ if block_frames > 1 else 8_000
    layers = "x: odd-hum\ny: hiss"
    ours, _ = mixed(library, sections, layers=layers, tempo="124", block_frames=block_frames, rate_hz=rate)
    whole, _ = mixed(library, sections, layers=layers, tempo="124", block_frames=1 << 22, rate_hz=rate)
    assert np.array_equal(ours, whole)


def test_layers_add_up(library):
    sections, layers = "- a, 4 bars: x, y 2-3", "x: hum\ny: ticks"
    both, _ = mixed(library, sections, layers=layers)
    alone = [mixed(library, sections, layers=layers, only=[name])[0] for name in ("x", "y")]
    assert np.abs(both - (alone[0] + alone[1])).max() < 1e-6


def test_a_role_has_its_usual_level_by_an_independent_meter(library):
    """-21 LUFS for harmony, by libebur128 (through pyebur128): ITU-R BS.1770-4."""
    import pyebur128

    sound, _ = mixed(library, "- a, 12 bars: x", layers="x: hum")
    state = pyebur128.R128State(2, RATE_HZ, pyebur128.MeasurementMode.MODE_I)
    state.add_frames(np.ascontiguousarray(sound).reshape(-1), len(sound))
    assert pyebur128.get_loudness_global(state) == pytest.approx(-21, abs=0.2)
