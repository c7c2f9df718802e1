"""`mixer render` as a student meets it."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time

import numpy as np
import pytest
import soundfile

from mixer.song.carried import read_carried
from mixer.song.mix import Mix
from mixer.song.opened import open_recipe
from mixer.song.render import prepare
from tests.cli.program import mixer
from tests.sounds import Made, loop_folder

SONG = """title: Harbour Lights
by: Table 2
tempo: 96
layers:
  box: ticks
  hum: hum
sections:
  - intro, 4 bars: hum
  - verse, 4 bars: box, hum 3-4
ending: last hit
"""


@pytest.fixture
def folder(tmp_path):
    loop_folder(tmp_path / "loops", Made("ticks"), Made("hum", kind="tone", role="harmony"))
    (tmp_path / "song.yaml").write_text(SONG, encoding="utf-8")
    return tmp_path


def test_a_recipe_becomes_a_song_beside_it(folder):
    done = mixer("render", "song.yaml", cwd=folder)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.splitlines()[0] == "Your song is in song.wav"
    assert "0:21 long, -16.0 LUFS" in done.stdout
    samples, rate = soundfile.read(folder / "song.wav")
    assert (rate, samples.shape[1]) == (44_100, 2)
    assert len(samples) == round((8 * 4 + 2) * 60 / 96 * 44_100)


@pytest.mark.parametrize("tempo_bpm", [96, 104], ids=["as it is", "stretched"])
def test_a_loop_with_silence_and_an_upbeat_in_front_lands_on_the_beat(tmp_path, tempo_bpm):
    """Its first downbeat stands on the first beat of the section, and its upbeat before that and each round after."""
    own = Made("ticks", tempo_bpm="96").samples()
    beat = round(len(own) / 16)
    loop_folder(tmp_path / "loops", Made("ticks"))
    whole = np.concatenate([np.zeros((20_000, 2)), own[-beat:], own[: 15 * beat]])
    soundfile.write(tmp_path / "loops" / "ticks.wav", whole, 44_100, subtype="FLOAT")
    with (tmp_path / "loops" / "loops.yaml").open("a", encoding="utf-8") as catalog:
        catalog.write(f"  downbeat: {(20_000 + beat) / 44_100:.6f}\n")
    song = f"tempo: {tempo_bpm}\nlayers:\n  box: ticks\nsections:\n  - a, 1 bar: nothing\n  - b, 8 bars: box\n"
    (tmp_path / "song.yaml").write_text(song, encoding="utf-8")
    done = mixer("render", "song.yaml", cwd=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    samples, rate = soundfile.read(tmp_path / "song.wav")
    level = np.abs(samples[:, 0])
    on_beats = [round(n * 60 / tempo_bpm * rate) for n in range(3, 36)]  # the upbeat, and eight bars of four
    for at in on_beats:  # silence, and from the beat on a click
        assert level[at - 1000 : at - 100].max() < 0.05 * level[at : at + 500].max()
    assert level[: on_beats[0] - 100].max() < 0.01


def test_json_says_the_same(folder):
    done = mixer("render", "song.yaml", "--json", cwd=folder)
    answer = json.loads(done.stdout)
    assert answer["song"] == "song.wav"
    assert answer["seconds"] == pytest.approx(21.25, abs=1e-4)
    assert answer["loudness_lufs"] == pytest.approx(-16, abs=0.2)
    assert answer["true_peak_dbtp"] <= -0.95
    assert answer["sections"] == [
        {"name": "intro", "start_seconds": 0.0, "bars": 4},
        {"name": "verse", "start_seconds": 10.0, "bars": 4},
    ]
    assert (answer["problems"], answer["advice"]) == ([], [])


def test_several_recipes_give_a_list_and_go_into_a_folder(folder):
    (folder / "other.yaml").write_text(SONG.replace("96", "100"), encoding="utf-8")
    done = mixer("render", "song.yaml", "other.yaml", "--out", "songs", "--json", cwd=folder)
    assert done.returncode == 0
    assert [answer["song"] for answer in json.loads(done.stdout)] == ["songs/song.wav", "songs/other.wav"]
    there = {path.name for path in (folder / "songs").iterdir()}
    assert there == {"other.wav", "song.wav", "other (credits).txt", "song (credits).txt", "versions"}


def test_a_song_is_the_same_alone_and_after_others(folder):
    tempos = ["96", "100", "96"]  # what one program has in memory is of use to the last
    names = [f"song {number}" for number in range(len(tempos))]
    for name, tempo in zip(names, tempos, strict=True):
        (folder / f"{name}.yaml").write_text(SONG.replace("96", tempo), encoding="utf-8")
        assert mixer("render", f"{name}.yaml", "--out", "alone", cwd=folder).returncode == 0
    assert mixer("render", *(f"{name}.yaml" for name in names), "--out", "together", cwd=folder).returncode == 0
    for name in names:
        assert (folder / "alone" / f"{name}.wav").read_bytes() == (folder / "together" / f"{name}.wav").read_bytes()


def test_two_recipes_of_one_name_do_not_meet(folder):
    for table in ("a", "b"):
        (folder / table).mkdir()
        (folder / table / "Song.yaml").write_text(SONG, encoding="utf-8")
    done = mixer("render", "a/Song.yaml", "b/Song.yaml", "--out", "songs", "--loops", "loops", "--json", cwd=folder)
    assert [answer["song"] for answer in json.loads(done.stdout)] == ["songs/Song.wav", "songs/Song (2).wav"]


def test_a_draft_leaves_out_what_could_not_be_read(folder):
    (folder / "song.yaml").write_text(SONG.replace("box, hum", "box, piano, hum"), encoding="utf-8")
    done = mixer("render", "song.yaml", cwd=folder)
    assert done.returncode == 1
    assert 'there is no layer called "piano".' in done.stderr
    assert "A draft of the song is in song (draft).wav" in done.stdout
    assert "What could not be read in line 9 is not in it." in done.stdout
    assert done.stdout.endswith("Start with line 9: put it right, save, and render again.\n")
    assert (folder / "song (draft).wav").exists()
    assert not (folder / "song.wav").exists()


def test_one_loop_may_be_several_layers(folder):
    more = SONG.replace("sections:", "  low hum:\n    loop: hum\n    pitch: -12\n  spare: hum\nsections:")
    (folder / "song.yaml").write_text(more.replace("box, hum", "box, low hum, hum"), encoding="utf-8")
    done = mixer("render", "song.yaml", cwd=folder)
    assert (done.returncode, done.stderr.count("not heard anywhere")) == (0, 1)
    assert set(read_carried(folder / "song.wav").loops) == {"ticks", "hum"}


def test_much_advice_is_told_shortly_from_the_fourth_on(folder):
    spare = "".join(f"  spare {name}: hum\n" for name in "pqrst")
    (folder / "song.yaml").write_text(SONG.replace("sections:", f"{spare}sections:", 1), encoding="utf-8")
    done = mixer("render", "song.yaml", cwd=folder)
    assert done.returncode == 0
    assert done.stderr.count("is not heard anywhere in the song.") == 5
    assert done.stderr.count("Let it play in a section") == 3


def test_a_loop_whose_card_cannot_be_used_is_told_once_and_where(folder):
    (folder / "loops" / "hum.wav").unlink()
    done = mixer("render", "song.yaml", "--json", cwd=folder)
    answer = json.loads(done.stdout)
    assert [problem["kind"] for problem in answer["problems"]] == ["loop-unusable"]
    assert [problem["kind"] for problem in answer["advice"]] == ["loop-gone"]
    cards = (folder / "loops" / "loops.yaml").read_text(encoding="utf-8").splitlines()
    (line,) = (number for number, card in enumerate(cards, 1) if "hum.wav" in card)
    assert answer["problems"][0]["hint"] == f"The reason is told at line {line} of loops/loops.yaml."


def test_without_a_tempo_there_is_no_draft(folder):
    (folder / "song.yaml").write_text(SONG.replace("tempo: 96\n", ""), encoding="utf-8")
    done = mixer("render", "song.yaml", cwd=folder)
    assert done.returncode == 1
    assert 'there is no "tempo" in this recipe' in done.stderr
    assert done.stderr.endswith("No song was made.\nPut it right, save, and render again.\n")
    assert not list(folder.glob("*.wav"))


def test_a_missing_recipe_names_those_that_are_there(folder):
    done = mixer("render", "sonng.yaml", cwd=folder)
    assert done.returncode == 2
    assert 'there is no file called "sonng.yaml".' in done.stderr
    assert "song.yaml" in done.stderr


def test_one_broken_recipe_does_not_stop_the_others(folder):
    (folder / "empty.yaml").write_text("", encoding="utf-8")
    done = mixer("render", "empty.yaml", "song.yaml", cwd=folder)
    assert done.returncode == 1
    assert (folder / "song.wav").exists()


@pytest.mark.parametrize("odd", ["song.m4a", "song.yaml"])
def test_a_song_ends_as_songs_do(folder, odd):
    before = (folder / "song.yaml").read_text(encoding="utf-8")
    done = mixer("render", "song.yaml", "--out", odd, cwd=folder)
    assert done.returncode == 2
    assert ".wav" in done.stderr
    assert (folder / "song.yaml").read_text(encoding="utf-8") == before


def test_loops_without_a_catalog_are_an_error_that_says_what_to_do(folder):
    (folder / "mine").mkdir()
    done = mixer("render", "song.yaml", "--loops", "mine", cwd=folder)
    assert done.returncode == 1
    assert 'the folder "mine" has no list of its loops (loops.yaml)' in done.stderr
    assert 'type "mixer measure"' in done.stderr


def test_a_broken_loop_is_named(folder):
    (folder / "loops" / "ticks.wav").write_text("not a sound", encoding="utf-8")
    done = mixer("render", "song.yaml", cwd=folder)
    assert done.returncode == 1
    assert 'the loop "ticks" was left out: ticks.wav is no sound file, or of a kind that cannot be read.' in done.stderr


@pytest.mark.parametrize(("bits", "subtype"), [("16", "PCM_16"), ("24", "PCM_24"), ("float", "FLOAT")])
def test_bits(folder, bits, subtype):
    assert mixer("render", "song.yaml", "--bits", bits, cwd=folder).returncode == 0
    assert soundfile.info(folder / "song.wav").subtype == subtype


def test_the_same_bytes_each_time_whatever_the_threads(folder):
    songs = []
    for threads in ("1", "2"):
        os.environ["OPENBLAS_NUM_THREADS"] = threads
        try:
            assert mixer("render", "song.yaml", cwd=folder).returncode == 0
        finally:
            del os.environ["OPENBLAS_NUM_THREADS"]
        songs.append((folder / "song.wav").read_bytes())
    assert songs[0] == songs[1]


def test_an_interrupted_render_leaves_the_last_song_and_nothing_half_made(folder):
    long = SONG.replace("4 bars", "64 bars")
    assert mixer("render", "song.yaml", cwd=folder).returncode == 0
    before = (folder / "song.wav").read_bytes()
    (folder / "song.yaml").write_text(long, encoding="utf-8")
    code = (
        "import sys, time, mixer.signal.wav as r\n"
        "write = r.WavWriter.write\n"
        "def slowly(self, block):\n"
        "    print('writing', flush=True); time.sleep(0.5); write(self, block)\n"
        "r.WavWriter.write = slowly\n"
        "sys.argv = ['mixer', 'render', 'song.yaml']\n"
        "import mixer.cli; mixer.cli.main()\n"
    )
    run = subprocess.Popen(
        [sys.executable, "-c", code], cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    assert run.stdout.readline() == "writing\n"
    time.sleep(0.2)
    run.send_signal(signal.SIGINT)
    _, errors = run.communicate(timeout=30)
    assert run.returncode != 0
    assert "Traceback" not in errors
    assert (folder / "song.wav").read_bytes() == before
    there = {path.name for path in folder.iterdir()}
    assert there == {"loops", "song.wav", "song.yaml", "song (credits).txt", "versions"}


def test_silence_is_a_song_too(folder):
    (folder / "song.yaml").write_text(
        "tempo: 96\nlayers:\n  box: ticks\nsections:\n  - rest, 4 bars: nothing\n", encoding="utf-8"
    )
    done = mixer("render", "song.yaml", cwd=folder)
    assert done.returncode == 1
    assert "nobody plays" in done.stderr


def test_signs_that_steer_a_terminal_never_reach_it(folder):
    (folder / "song.yaml").write_text(SONG.replace("box, hum 3-4", "b\x1b[31mx, hum"), encoding="utf-8")
    done = mixer("render", "song.yaml", cwd=folder)
    assert "\x1b" not in done.stdout + done.stderr


def test_a_song_is_finished_as_songs_are(folder):
    """-16 LUFS and at most -1 dBTP (AES TD1008, as agreed by trade pages), by libebur128 through pyebur128."""
    import pyebur128

    assert mixer("render", "song.yaml", cwd=folder).returncode == 0
    samples, rate = soundfile.read(folder / "song.wav", dtype="float32")
    state = pyebur128.R128State(2, rate, pyebur128.MeasurementMode.MODE_I | pyebur128.MeasurementMode.MODE_TRUE_PEAK)
    state.add_frames(np.ascontiguousarray(samples).reshape(-1), len(samples))
    peak = max(pyebur128.get_true_peak(state, side) for side in (0, 1))
    assert pyebur128.get_loudness_global(state) == pytest.approx(-16, abs=0.2)
    assert 20 * np.log10(peak) <= -0.95


def test_stems_add_up_to_the_unfinished_mix(folder):
    """Within the rounding of float32."""
    done = mixer("render", "song.yaml", "--stems", "--json", cwd=folder)
    answer = json.loads(done.stdout)
    assert answer["stems"] == ["song (stems)/01 box.wav", "song (stems)/02 hum.wav"]
    sounds = [soundfile.read(folder / stem, dtype="float32")[0] for stem in answer["stems"]]
    plan = open_recipe(folder / "song.yaml").plan
    mix = np.concatenate([block.copy() for block in Mix(plan, prepare(plan)[0]).blocks()])
    assert {len(sound) for sound in sounds} == {len(mix)}
    assert np.abs(sum(sounds) - mix).max() < 1e-6


def test_a_stem_has_its_roles_level_by_an_independent_meter(folder):
    """-21 LUFS for harmony within 0.2 LU, by libebur128 (through pyebur128)."""
    import pyebur128

    (folder / "song.yaml").write_text(
        SONG.replace("box, hum 3-4", "hum").replace("ending: last hit", ""), encoding="utf-8"
    )
    mixer("render", "song.yaml", "--stems", cwd=folder)
    samples, rate = soundfile.read(folder / "song (stems)" / "01 hum.wav", dtype="float32")
    state = pyebur128.R128State(2, rate, pyebur128.MeasurementMode.MODE_I)
    state.add_frames(np.ascontiguousarray(samples).reshape(-1), len(samples))
    assert pyebur128.get_loudness_global(state) == pytest.approx(-21, abs=0.2)


def test_earlier_versions_are_kept_numbered_and_without_sound(folder):
    for tempo in ("96", "96", "100"):
        (folder / "song.yaml").write_text(SONG.replace("96", tempo), encoding="utf-8")
        assert mixer("render", "song.yaml", cwd=folder).returncode == 0
    versions = sorted((folder / "versions").iterdir())
    assert [path.name for path in versions] == ["song 001.yaml", "song 002.yaml"]
    assert versions[0].read_text(encoding="utf-8") == SONG


def test_credits_stand_beside_the_song_and_in_it(folder):
    card = (folder / "loops" / "loops.yaml").read_text(encoding="utf-8")
    card = card.replace("role: drums", "role: drums\n  maker: Table 9\n  licence: CC0-1.0")
    (folder / "loops" / "loops.yaml").write_text(card, encoding="utf-8")
    mixer("render", "song.yaml", cwd=folder)
    told = (folder / "song (credits).txt").read_text(encoding="utf-8").splitlines()
    assert told == [
        "Harbour Lights, by Table 2",
        "Loop ticks by Table 9 (CC0-1.0)",
        "Loop hum, maker unknown (licence unknown: ask before you pass it on)",
        "",
        "Whether hum may be used in class, played to parents, taken home inside a song or passed on "
        "is not known here: ask your school.",
    ]
    assert b"Loop ticks by Table 9 (CC0-1.0)" in (folder / "song.wav").read_bytes()


@pytest.mark.parametrize("name", [".", "/", ""])
def test_a_folder_without_a_name_is_told_as_a_folder(tmp_path, name):
    done = mixer("render", name, cwd=tmp_path)
    assert done.returncode == 2
    assert f'"{name or "."}" is a folder, and a recipe is a file.' in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize(
    ("time", "what"),
    [
        ("3/4", "Choose a loop in 3/4, such as wooden-horse, or make it a song in 4/4: time: 4/4"),  # drums, as it is
        ("7/8", "No loop here is in 7/8. Make it a song in 4/4: time: 4/4"),
    ],
)
def test_where_a_loop_is_counted_otherwise_one_that_fits_is_named(tmp_path, time, what):
    recipe = f"tempo: 96\ntime: {time}\nlayers:\n  box: tin-roof\nsections:\n  - verse, 2 bars: box\n"
    (tmp_path / "song.yaml").write_text(recipe, encoding="utf-8")
    assert what in mixer("check", "song.yaml", cwd=tmp_path).stderr
