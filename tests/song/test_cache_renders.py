"""A song has the same bytes whatever the cache holds, and what may not be kept is not."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import pytest

import mixer.loops.library
import mixer.store.cache
from mixer.loops.catalog import read_catalog
from mixer.material import kept, loop
from mixer.song.opened import open_recipe
from mixer.song.render import prepare, render_prepared
from mixer.store import makers
from mixer.store.cache import Cache, open_cache
from mixer.store.makers import makers_key
from tests.sounds import Made, loop_folder
from tests.tools import needs_tool

SONG = """tempo: 200
key: D minor
layers:
  box: ticks
  hum: hum
  hiss: hiss
sections:
  - verse, 2 bars: everything
"""
LOOPS = (
    Made("ticks", bars=1, tempo_bpm="192"),  # stretched
    Made("hum", kind="tone", role="harmony", bars=1, tempo_bpm="192", key="A minor"),  # stretched and transposed
    Made("hiss", kind="noise", role="background", bars=1, tempo_bpm="200"),  # as it is
)


@pytest.fixture(scope="module")
def made_once(tmp_path_factory):
    """A recipe whose loops are in another folder, as a class shares them; and its song made without any cache."""
    place = tmp_path_factory.mktemp("made")
    loop_folder(place / "shelf", *LOOPS)
    (place / "table").mkdir()
    (place / "table" / "song.yaml").write_text(SONG, encoding="utf-8")
    assert os.environ["MIXER_CACHE"] == "off"  # no test has begun
    return place, _song(place / "table" / "song.yaml", place / "shelf")


@pytest.fixture
def shelf(tmp_path, made_once):
    return shutil.copytree(made_once[0] / "shelf", tmp_path / "shelf")


@pytest.fixture
def recipe(tmp_path, made_once):
    (tmp_path / "table").mkdir()
    return Path(shutil.copy(made_once[0] / "table" / "song.yaml", tmp_path / "table"))


@pytest.fixture(autouse=True)
def _only_materials(monkeypatch):
    """Catalogs are not remembered here, so that what is counted are materials."""
    monkeypatch.setattr(mixer.loops.library, "cards_once", lambda folder, problems, _: read_catalog(folder, problems))


@pytest.fixture
def without(made_once):
    return made_once[1]


def _song(recipe, *loops):
    """Make a song as a program would that has just been started."""
    kept.LATELY.forget()
    plan = open_recipe(recipe, loops).plan
    materials, problems = prepare(plan)
    assert problems == []
    render_prepared(plan, materials, recipe.with_suffix(".wav"))
    return recipe.with_suffix(".wav").read_bytes()


@contextmanager
def _nothing_is_made(monkeypatch):
    def refuse(*_):
        raise AssertionError("it was made, not taken from the cache")

    with monkeypatch.context() as patch:
        patch.setattr(loop, "make", refuse)
        yield


def test_cold_and_warm(recipe, shelf, without, monkeypatch):
    assert _song(recipe, shelf) == without
    assert open_cache().usage().entries == len(LOOPS)
    with _nothing_is_made(monkeypatch):
        assert _song(recipe, shelf) == without


def test_the_next_song_of_a_program_takes_its_loops_from_memory(recipe, shelf, monkeypatch):
    plan = open_recipe(recipe, [shelf]).plan
    made, _ = prepare(plan)
    monkeypatch.setattr(Cache, "read", lambda *_: None)
    with _nothing_is_made(monkeypatch):
        again, _ = prepare(plan)
    assert {name: id(material.samples) for name, material in again.items()} == {
        name: id(material.samples) for name, material in made.items()
    }


def _flip(path):
    raw = bytearray(path.read_bytes())
    raw[len(raw) // 2] ^= 4
    path.write_bytes(raw)


def _swap(path):
    other = next(each for each in path.parent.iterdir() if each != path)
    raw = path.read_bytes()
    path.write_bytes(other.read_bytes())
    other.write_bytes(raw)


DAMAGES = {
    "a bit": _flip,
    "cut": lambda path: os.truncate(path, path.stat().st_size // 2),
    "empty": lambda path: os.truncate(path, 0),
    "swapped": _swap,
    "gone": Path.unlink,
}


@pytest.mark.parametrize("damage", DAMAGES)
def test_damaged_entries_are_made_anew(recipe, shelf, without, cache_folder, monkeypatch, damage):
    _song(recipe, shelf)
    for entry in sorted(cache_folder.iterdir())[: 1 if damage == "swapped" else None]:
        DAMAGES[damage](entry)
    assert _song(recipe, shelf) == without
    with _nothing_is_made(monkeypatch):
        assert _song(recipe, shelf) == without


def test_a_full_disk(recipe, shelf, without, cache_folder, monkeypatch):
    whole_file = mixer.store.cache.whole_file

    @contextmanager
    def full(path, **options):
        with whole_file(path, **options) as stream:
            stream.write(bytes(1000))
            raise OSError(28, "No space left on device")
        yield stream  # never

    monkeypatch.setattr(mixer.store.cache, "whole_file", full)
    assert _song(recipe, shelf) == without
    assert _song(recipe, shelf) == without
    assert list(cache_folder.iterdir()) == []


def test_a_file_where_the_cache_should_be(recipe, shelf, without, cache_folder):
    cache_folder.write_text("mine")
    try:
        assert _song(recipe, shelf) == without
        assert cache_folder.read_text() == "mine"
    finally:
        cache_folder.unlink()


def _render_command(*arguments):
    return [sys.executable, "-m", "mixer", "render", *map(str, arguments)]


def _environment(**variables):
    kept_ones = {name: value for name, value in os.environ.items() if name not in ("MIXER_CACHE", "XDG_CACHE_HOME")}
    return {**kept_ones, **variables}


@pytest.fixture
def open_place():
    """A folder that everybody may look into, as those of the tests are not."""
    with tempfile.TemporaryDirectory() as name:
        place = Path(name)
        place.chmod(0o755)
        yield place


@pytest.mark.skipif(os.name != "posix", reason="folders that may not be written are made with POSIX modes")
@pytest.mark.parametrize("home", ["read-only", "missing"])
def test_a_home_that_may_not_be_written(recipe, shelf, without, open_place, home):
    shutil.copytree(shelf, open_place / "shelf")
    shutil.copy(recipe, open_place)
    for name in ("out", "read-only"):
        (open_place / name).mkdir()
    (open_place / "read-only").chmod(0o555)
    start = []
    if os.geteuid() == 0:
        # Root may write anywhere, so somebody else renders; they may read every file, but write only into one folder.
        os.chown(open_place / "out", 65_534, 65_534)
        may_read = ["--inh-caps=+dac_read_search", "--ambient-caps=+dac_read_search"]
        start = [needs_tool("setpriv"), "--reuid=65534", "--regid=65534", "--clear-groups", *may_read]
    out = open_place / "out" / "song.wav"
    command = [*start, *_render_command(open_place / "song.yaml", "--loops", open_place / "shelf", "--out", out)]
    environment = _environment(HOME=str(open_place / home), PYTHONDONTWRITEBYTECODE="1")
    done = subprocess.run(command, env=environment, cwd="/", capture_output=True, text=True, check=False, timeout=60)
    assert (done.returncode, done.stderr) == (0, "")
    assert out.read_bytes() == without
    assert list((open_place / "read-only").iterdir()) == []
    assert not (open_place / "missing").exists()


def test_several_renders_at_once(recipe, shelf, without, tmp_path, cache_folder):
    outs = [tmp_path / f"{number}.wav" for number in range(3)]
    running = [subprocess.Popen(_render_command(recipe, "--loops", shelf, "--out", out)) for out in outs]
    assert [each.wait(60) for each in running] == [0, 0, 0]
    assert all(out.read_bytes() == without for out in outs)
    assert open_cache().usage().entries == len(LOOPS) + 1  # and the cards of the loops that come along
    assert all(path.suffix == ".kept" for path in cache_folder.iterdir())


def _layers(**roles):
    lines = [f"  {name}: {{loop: {name}, role: {role}}}" for name, role in roles.items()]
    return "\n".join(["tempo: 200", "layers:", *lines, "sections:", "  - verse, 2 bars: everything", ""])


def test_what_lies_beside_the_recipe_is_not_kept(recipe, shelf, tmp_path):
    beside = recipe.parent / "loops"
    shutil.copytree(shelf, beside)
    (tmp_path / "link").symlink_to(beside, target_is_directory=True)
    shutil.copytree(shelf, beside / "deeper")
    for named in ([], [beside], [tmp_path / "link"], [recipe.parent / ".." / "table" / "loops"], [beside / "deeper"]):
        _song(recipe, *named)
        assert open_cache().usage().entries == 0


def test_what_lies_in_the_recipes_own_folder_is_not_kept(recipe, shelf):
    shutil.copytree(shelf, recipe.parent, dirs_exist_ok=True)
    (recipe.parent / "takes").mkdir()
    (recipe.parent / "ticks.wav").rename(recipe.parent / "takes" / "ticks.wav")
    catalog = recipe.parent / "loops.yaml"
    catalog.write_text(catalog.read_text().replace("ticks.wav", "takes/ticks.wav"))
    _song(recipe)
    assert open_cache().usage().entries == 0


def test_what_lies_beside_the_recipe_is_not_kept_for_the_same_sound_elsewhere(recipe, shelf, monkeypatch):
    """Nor taken: whether a recording was used elsewhere is nobody's business."""
    _song(recipe, shelf)
    shutil.copytree(shelf, recipe.parent / "loops")
    monkeypatch.setattr(Cache, "read", None)
    _song(recipe)


@pytest.mark.parametrize("said_by", ["the card", "the layer"])
def test_a_voice_is_not_kept(recipe, tmp_path, said_by):
    by_card = said_by == "the card"
    shelf = loop_folder(
        tmp_path / "voices", Made("hum", kind="tone", role="voice" if by_card else "melody", bars=1, tempo_bpm="192")
    )
    recipe.write_text(_layers(hum="melody" if by_card else "voice"))
    _song(recipe, shelf)
    assert open_cache().usage().entries == 0
    recipe.write_text(_layers(hum="melody"))
    _song(recipe, shelf)
    assert open_cache().usage().entries == (0 if by_card else 1)


def test_the_programs_own_loops_are_kept(recipe):
    recipe.write_text("tempo: 110\nlayers:\n  knock: hull-knock\nsections:\n  - verse, 2 bars: knock\n")
    _song(recipe)
    assert open_cache().usage().entries == 1


def test_another_sound_under_the_same_name_makes_another_song(recipe, shelf, without):
    _song(recipe, shelf)
    loop_folder(shelf, *(replace(each, pitch_hz=330.0) for each in LOOPS))
    assert _song(recipe, shelf) != without


def test_one_entry_serves_all_layers_whatever_they_are_called(recipe, shelf):
    recipe.write_text(_layers(ticks="drums"))
    _song(recipe, shelf)
    recipe.write_text(_layers(ticks="percussion").replace("layers:", "key: C minor\nlayers:"))
    _song(recipe, shelf)
    assert open_cache().usage().entries == 1


def test_what_cannot_be_used_is_told_each_time(recipe, shelf):
    (shelf / "hum.wav").write_bytes(b"no sound at all")
    plan = open_recipe(recipe, [shelf]).plan
    told = [prepare(plan)[1] for _ in range(2)]
    assert len(told[0]) == 1
    assert told[0] == told[1]


def test_without_source_texts_nothing_is_kept(recipe, shelf, without, monkeypatch, tmp_path):
    monkeypatch.setattr(makers, "HOUSE", tmp_path / "nowhere")
    makers_key.cache_clear()
    kept._code_version.cache_clear()
    try:
        assert _song(recipe, shelf) == without
        assert open_cache().usage().entries == 0
    finally:
        makers_key.cache_clear()
        kept._code_version.cache_clear()
