"""Every recipe that comes with the program becomes a finished song, and what is heard is what is written.

Measured in the sound: length, loudness and peak by libebur128, entries and exits, onsets against exact arithmetic, and
clicks. The truth for onsets is the script that made the demo loops: it plays the same notes at the song's own tempo.
"""

from __future__ import annotations

import json
from fractions import Fraction
from functools import cache
from pathlib import Path

import numpy as np
import pyebur128
import pytest
import soundfile

from demo_loops.making import notes, play
from mixer.recipe.model import AS_RECORDED
from mixer.song.mix import Mix
from mixer.song.opened import open_recipe
from mixer.song.render import prepare
from tests.cli.program import mixer

FOLDER = Path(__file__).parents[2] / "recipes"
PATHS = sorted(FOLDER.glob("*.yaml"))
RATE_HZ = 44_100
# "Onsets within 1 ms (median) and 3 ms (95 %)" is what the material promises where loops are stretched.
MEDIAN_MS, NEARLY_ALL_MS = 1.0, 3.0


@pytest.fixture(scope="session")
def songs(tmp_path_factory):
    """All recipes rendered as a teacher renders a folder: the command's answer and the sound."""
    folder = tmp_path_factory.mktemp("songs")
    done = mixer("render", *PATHS, "--out", folder, "--json", cwd=folder)
    answers = json.loads(done.stdout)
    assert done.returncode == 0
    assert len(answers) == len(PATHS) >= 6
    return {path.stem: (answer, folder / f"{path.stem}.wav") for path, answer in zip(PATHS, answers, strict=True)}


@cache
def opened(name):
    return open_recipe(FOLDER / f"{name}.yaml")


@cache
def prepared(name):
    return prepare(opened(name).plan)[0]


def stem(name, layer):
    mix = Mix(opened(name).plan, prepared(name), layers=[layer])
    return np.concatenate([block.copy() for block in mix.blocks()])


names = pytest.mark.parametrize("name", [path.stem for path in PATHS])


@names
def test_nothing_is_wrong_with_it(songs, name):
    answer, _ = songs[name]
    assert answer["problems"] == []
    assert not answer["draft"]


@names
def test_it_is_as_long_as_its_bars(songs, name):
    answer, song = songs[name]
    recipe = opened(name).recipe
    tail = 2 if recipe.ending == "last hit" else 0
    beats = recipe.bars * recipe.meter.beats + tail
    frames = beats * 60 / recipe.tempo_bpm * RATE_HZ
    assert abs(soundfile.info(song).frames - frames) <= Fraction(1, 2)
    assert answer["seconds"] == pytest.approx(float(frames / RATE_HZ), abs=1e-4)


@names
def test_it_is_as_loud_as_songs_are_and_peaks_below_the_ceiling(songs, name):
    """-16 LUFS +-0.2 LU and -1 dBTP (AES TD1008), by libebur128; what the program says agrees with that."""
    answer, song = songs[name]
    samples, rate = soundfile.read(song, dtype="float32")
    state = pyebur128.R128State(2, rate, pyebur128.MeasurementMode.MODE_I | pyebur128.MeasurementMode.MODE_TRUE_PEAK)
    state.add_frames(np.ascontiguousarray(samples).reshape(-1), len(samples))
    loudness = pyebur128.get_loudness_global(state)
    peak_db = 20 * np.log10(max(pyebur128.get_true_peak(state, side) for side in (0, 1)))
    assert loudness == pytest.approx(-16, abs=0.2)
    assert peak_db <= -1 + 0.05
    assert answer["loudness_lufs"] == pytest.approx(loudness, abs=0.05)
    assert answer["true_peak_dbtp"] == pytest.approx(peak_db, abs=0.1)


@names
def test_every_layer_is_heard_where_it_is_written_and_nowhere_else(name):
    recipe, plan = opened(name).recipe, opened(name).plan
    bar = float(plan.bar_frames)
    for part in plan.parts:
        sound = np.abs(stem(name, part.layer.name)).max(axis=1)
        written, first = set(), 0
        for section in recipe.sections:
            entry = next((each for each in section.entries if each.layer == part.layer.name), None)
            written |= {first + number for number in (entry.bars(section.bars) if entry else ())}
            first += section.bars
        edge = round(0.011 * RATE_HZ)
        heard = {
            number
            for number in range(1, recipe.bars + 1)
            if sound[round((number - 1) * bar) : round(number * bar) - edge].max() > 1e-6
        }
        assert heard == written, part.layer.name


@names
def test_the_finished_song_is_silent_only_where_nobody_plays(songs, name):
    samples, _ = soundfile.read(songs[name][1])
    plan = opened(name).plan
    for mark in plan.marks:
        start, end = (round((mark.first_bar - 1 + bars) * float(plan.bar_frames)) for bars in (0, mark.bars))
        section = next(each for each in plan.recipe.sections if each.name == mark.name and each.bars == mark.bars)
        loudest = np.abs(samples[start + 100 : end - 500]).max()
        assert (loudest > 0.01) == bool(section.entries), mark.name


def _starts(sound, expected, *, within=0.010):
    """Where hits start, in frames after the places expected; steepest rise of a 1 ms envelope near each of them."""
    reach = round(within * RATE_HZ)
    found = []
    for at in expected:
        window = sound[round(at) - reach - 12 : round(at) + reach + 12].astype(np.float64)
        change = np.abs(np.diff(window, axis=0)).max(axis=1)
        near = np.sqrt(np.convolve(change**2, np.ones(22) / 22, mode="same"))[12 : 12 + 2 * reach]
        found.append(int(np.argmax(near > near.min() + 0.3 * (near.max() - near.min()))) - reach)
    return np.array(found)


def _clear_hits(loop):
    """Kicks and snares with nothing else close to them, in beats from the loop's start."""
    every = [(beat, kind) for beat, kind in notes(loop)]
    return [
        beat
        for beat, kind in every
        if kind in ("kick", "snare", "knock")
        and beat > 0
        and not any(0 < abs(beat - other) < Fraction(1, 8) for other, _ in every)
    ]


DRUMS = [
    (path.stem, part.layer.name)
    for path in PATHS
    for part in opened(path.stem).plan.parts
    if part.fit.role in ("drums", "percussion")
    and part.layer.speed == "nearest"
    and len(_clear_hits(part.fit.card.name)) > 2
]


@cache
def truth_of(loop, tempo):
    return np.tile(play(loop, float(tempo)), (2, 1))


def test_hits_are_measured_in_most_recipes():
    assert len({name for name, _ in DRUMS}) >= 6


@pytest.mark.parametrize(("name", "layer"), DRUMS)
def test_hits_are_heard_when_exact_arithmetic_says(name, layer):
    """The same hits, found by the same means, in the song and in the loop played anew at the song's tempo."""
    plan = opened(name).plan
    part = next(part for part in plan.parts if part.layer.name == layer)
    loop = part.fit.card.name
    beats = _clear_hits(loop)
    beat_frames = 60 / plan.frame.tempo_bpm * RATE_HZ
    cue = part.cues[0]
    first = (cue.enter_bar - 1 - cue.phase_bars) * plan.bar_frames
    loop_frames = part.fit.bars * plan.bar_frames
    repeats = range(int((cue.end_frame - first) / loop_frames))
    ours, theirs = [], []
    truth = truth_of(loop, plan.frame.tempo_bpm)
    sound = stem(name, layer)
    for beat in beats:
        expected = [float(first + repeat * loop_frames + beat * beat_frames) for repeat in repeats]
        expected = [at for at in expected if cue.start_frame < at - 1000 and at + 1000 < cue.end_frame]
        if expected:
            true = _starts(truth, [float(beat * beat_frames) + len(truth) / 2])[0]
            ours += list(_starts(sound, expected))
            theirs += [true] * len(expected)
    errors_ms = np.abs(np.array(ours) - np.array(theirs)) / RATE_HZ * 1000
    assert np.median(errors_ms) <= MEDIAN_MS
    assert np.quantile(errors_ms, 0.95) <= NEARLY_ALL_MS


@names
def test_no_click_at_bar_lines(songs, name):
    """Where layers enter and leave, the sound is not rougher than hits make it elsewhere.

    Roughness is the largest second difference within 1 ms; a click at a bar line without a hit would stand out above
    what the song's own hits reach.
    """
    samples, _ = soundfile.read(songs[name][1])
    rough = np.abs(np.diff(samples, 2, axis=0)).max(axis=1)
    plan = opened(name).plan
    lines = {mark.start_frame for mark in plan.marks if mark.start_frame}
    lines |= {cue.end_frame for part in plan.parts for cue in part.cues if cue.end_frame < len(samples)}
    edge = round(0.012 * RATE_HZ)
    usual = np.quantile(rough.reshape(-1)[: len(rough) // 441 * 441].reshape(-1, 441).max(axis=1), 0.995)
    for line in lines:
        assert rough[line - edge : line - 30].max() <= usual  # just before the line, where nothing is struck


def test_taking_the_drums_out_lowers_the_loudness_of_their_bars():
    """Common practice, no source."""
    plan = opened("harbour-lights").plan
    every = [part.layer.name for part in plan.parts]
    chorus = next(mark for mark in plan.marks if mark.name == "chorus")
    bar = float(plan.bar_frames)
    bars = slice(round((chorus.first_bar - 1) * bar), round((chorus.first_bar - 1 + chorus.bars) * bar))

    def loudness(layers):
        mix = Mix(plan, prepared("harbour-lights"), layers=layers)
        sound = np.concatenate([block.copy() for block in mix.blocks()])[bars]
        state = pyebur128.R128State(2, RATE_HZ, pyebur128.MeasurementMode.MODE_I)
        state.add_frames(np.ascontiguousarray(sound).reshape(-1), len(sound))
        return pyebur128.get_loudness_global(state)

    assert loudness([name for name in every if name != "big drums"]) < loudness(every) - 1


def test_a_loop_at_the_songs_tempo_and_key_passes_bit_for_bit():
    plan = opened("harbour-lights").plan
    part = next(part for part in plan.parts if part.layer.name == "piano")
    recorded, _ = soundfile.read(part.fit.card.path, dtype="float32", always_2d=True)
    assert part.layer.pitch != AS_RECORDED
    assert np.array_equal(prepared("harbour-lights")["piano"].samples, recorded)


def test_a_full_disk_or_a_forbidden_folder_is_told_in_words(tmp_path):
    (tmp_path / "file").write_text("in the way", encoding="utf-8")
    done = mixer("render", FOLDER / "ten-lines.yaml", "--out", tmp_path / "file" / "song.wav", cwd=tmp_path)
    assert done.returncode == 2
    assert "could not be written" in done.stderr
    assert "Traceback" not in done.stderr
