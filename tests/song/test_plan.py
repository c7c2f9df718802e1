"""A recipe laid out: exact positions in every tempo, metre and rate, and loops in step with their sections."""

from __future__ import annotations

from fractions import Fraction

import pytest

from mixer.loops.library import open_library
from mixer.music.meter import Meter
from mixer.recipe.reader import read
from mixer.song.plan import plan
from tests.sounds import Made, loop_folder


@pytest.fixture(scope="module")
def library(tmp_path_factory):
    folder = loop_folder(
        tmp_path_factory.mktemp("loops"),
        Made("four"),
        Made("one", bars=1),
        Made("eight", bars=8),
        Made("fast", tempo_bpm="170"),
        Made("waltz", time="3/4"),
        Made("jig", time="6/8"),
        Made("tone", kind="tone", role="harmony", key="A minor"),
    )
    return open_library(None, [folder])


def laid_out(library, sections, *, tempo="96", rate_hz=44_100, top="", layers="x: four"):
    lines = [f"tempo: {tempo}", *top.splitlines(), "layers:", *(f"  {line}" for line in layers.splitlines())]
    text = "\n".join([*lines, "sections:", *(f"  {line}" for line in sections.splitlines())])
    reading = read(text, library.names())
    assert reading.problems == ()
    return plan(reading.recipe, library, rate_hz)


def bars_of(song, layer="x"):
    part = next(part for part in song.parts if part.layer.name == layer)
    return [(cue.enter_bar, cue.exit_bar, cue.phase_bars) for cue in part.cues]


@pytest.mark.parametrize("rate_hz", [44_100, 48_000])
@pytest.mark.parametrize(
    ("tempo", "meter"), [("90", "4/4"), ("92.5", "3/4"), ("110", "4/4"), ("124", "6/8"), ("174", "5/4")]
)
def test_bar_400_is_as_exact_as_bar_1(tmp_path, tempo, meter, rate_hz):
    """Position of bar k is round(k x beats x 60 / BPM x rate): arithmetic, no reference needed."""
    loops = open_library(None, [loop_folder(tmp_path, Made("any", time=meter, tempo_bpm=tempo))])
    sections = "\n".join(["- part, 50 bars: x"] * 7 + ["- part, 49 bars: nothing", "- last, 1 bar: x"])
    song = laid_out(loops, sections, tempo=tempo, rate_hz=rate_hz, top=f"time: {meter}", layers="x: any")
    beats = {"4/4": 4, "3/4": 3, "6/8": 2, "5/4": 5}[meter]
    last = song.parts[0].cues[-1]
    exact = Fraction(399 * beats * 60 * rate_hz) / Fraction(tempo)
    assert last.enter_bar == 400
    assert abs(last.start_frame - exact) <= Fraction(1, 2)
    assert abs(song.length_frames - exact * 400 / 399) <= Fraction(1, 2)


def test_ninety_seconds_at_96_are_36_bars(library):
    """Common practice, no source: a 90-second song at 96 BPM is 36 bars of 4/4."""
    assert laid_out(library, "- song, 36 bars: x").seconds == pytest.approx(90, abs=1e-9)


def test_a_loop_runs_in_step_with_its_section(library):
    song = laid_out(library, "- intro, 4 bars: nothing\n- verse, 8 bars: x 6-", layers="x: four")
    assert bars_of(song) == [(10, 12, 1)]  # bar 6 of the section is bar 2 of a loop of four


def test_cues_that_follow_on_in_phase_are_one(library):
    song = laid_out(library, "- verse, 8 bars: x\n- chorus, 4 bars: x\n- end, 2 bars: x")
    assert bars_of(song) == [(1, 14, 0)]


def test_a_section_begins_the_loop_again(library):
    song = laid_out(library, "- verse, 6 bars: x\n- chorus, 4 bars: x")
    assert bars_of(song) == [(1, 6, 0), (7, 10, 0)]


def test_continue_runs_on(library):
    song = laid_out(library, "- verse, 6 bars: x\n- name: chorus\n  bars: 4\n  play: x\n  continue: x")
    assert bars_of(song) == [(1, 10, 0)]


def test_continue_counts_bars_in_which_the_layer_rests(library):
    song = laid_out(library, "- verse, 6 bars: x 1-2\n- name: chorus\n  bars: 4\n  play: x\n  continue: x")
    assert bars_of(song) == [(1, 2, 0), (7, 10, 2)]


def test_from_the_top(library):
    song = laid_out(library, "- name: verse\n  bars: 8\n  play:\n    x: {in bars: 6-8, from the top: yes}")
    assert bars_of(song) == [(6, 8, 0)]


def test_half_and_double_time_where_that_needs_the_least_stretch(library):
    song = laid_out(library, "- verse, 4 bars: x", tempo="85", layers="x: fast")
    fit = song.parts[0].fit
    assert (fit.bars, fit.stretch) == (2, 1)  # 4 bars at 170 last as long as 2 at 85


def test_speed_is_as_the_student_says(library):
    half = laid_out(library, "- verse, 8 bars: x", layers="x:\n  loop: four\n  speed: half").parts[0].fit
    double = laid_out(library, "- verse, 8 bars: x", layers="x:\n  loop: four\n  speed: double").parts[0].fit
    free = laid_out(library, "- verse, 8 bars: x", tempo="120", layers="x:\n  loop: four\n  speed: as recorded")
    assert (half.bars, half.stretch, double.bars, double.stretch) == (8, 2, 2, Fraction(1, 2))
    assert (free.parts[0].fit.bars, free.parts[0].fit.stretch) == (5, 1)  # 4 bars at 96 last as long as 5 at 120


def test_keys_and_pitch_add_up(library):
    def moved(extra=""):
        layers = f"x:\n  loop: tone\n{extra}"
        return laid_out(library, "- verse, 4 bars: x", top="key: B minor", layers=layers).parts[0].fit.semitones

    assert moved() == 2
    assert moved("  pitch: +12") == 14
    assert moved("  pitch: as recorded") == 0


def test_a_last_hit_adds_two_beats(library):
    stop = laid_out(library, "- verse, 4 bars: x")
    hit = laid_out(library, "- verse, 4 bars: x", top="ending: last hit")
    assert hit.length_frames - stop.length_frames == round(2 * 60 / 96 * 44_100)
    assert hit.parts[0].cues[0].points[-1].gain == 0


def test_sections_alike_have_the_same_letter(library):
    song = laid_out(library, "- verse, 4 bars: x\n- chorus, 8 bars: x\n- verse\n- verse, 8 bars: x\n- chorus")
    assert [mark.letter for mark in song.marks] == ["A", "B", "A", "C", "B"]


@pytest.mark.parametrize(
    ("detail", "gains"),
    [
        ("fade in: 2 bars", {1: 0.0, 2: 0.5, 3: 1.0, 9: 1.0}),
        ("fade out: 4 bars", {1: 1.0, 5: 1.0, 7: 0.5, 9: 0.0}),
        ("level: -6", {1: 10 ** (-6 / 20), 9: 10 ** (-6 / 20)}),
        ("level: p", {1: 10 ** (-8 / 20)}),
    ],
)
def test_gains_along_an_entry(library, detail, gains):
    import numpy as np

    song = laid_out(library, f"- name: verse\n  bars: 8\n  play:\n    x:\n      {detail}")
    points = song.parts[0].cues[0].points
    frames = [point.frame for point in points]
    for bar, gain in gains.items():
        at = (bar - 1) * float(song.bar_frames)
        assert np.interp(at, frames, [point.gain for point in points]) == pytest.approx(gain, abs=1e-6)


def test_levels_of_layer_and_entry_add_up(library):
    sections = "- name: verse\n  bars: 4\n  play:\n    x:\n      level: -3"
    song = laid_out(library, sections, layers="x:\n  loop: four\n  level: -3")
    assert song.parts[0].cues[0].points[0].gain == pytest.approx(10 ** (-6 / 20))


def test_the_plan_of_the_whole_is_pure_data(library):
    first, second = (laid_out(library, "- verse, 8 bars: x 1-4\n- end, 2 bars: x") for _ in range(2))
    assert first == second
    assert hash(first) == hash(second)
    assert first.frame.meter == Meter(4, 4)
