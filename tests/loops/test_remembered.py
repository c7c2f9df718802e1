"""A catalog that was read once gives the same cards when it is not read again, and never other ones."""

import shutil

import pytest

from mixer.loops import remembered
from mixer.loops.catalog import FILE_NAME, read_catalog
from mixer.loops.library import demo_loops_folder
from mixer.loops.remembered import cards_once
from mixer.store.cache import open_cache
from mixer.words.problem import Problems

CATALOG = """tin roof:
  file: tin.wav
  tempo: 96.5
  time: 6/8
  bars: 4
  key: F# dorian
  downbeat: 0.125
  role: harmony
  chords: F#m | B
  may be: used in class
  slower up to: 20 %
  maker: Table 3  # checked
"""


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "tin.wav").write_bytes(b"sound")
    (tmp_path / FILE_NAME).write_text(CATALOG)
    return tmp_path


@pytest.fixture
def read(monkeypatch):
    """How often a catalog was really read."""
    done = []

    def counted(*given):
        done.append(given)
        return read_catalog(*given)

    monkeypatch.setattr(remembered, "read_catalog", counted)
    return done


def once(folder):
    problems = Problems()
    return cards_once(folder, problems, open_cache()), [problem.kind for problem in problems]


@pytest.fixture
def another_program(monkeypatch):
    """From here on nothing is remembered but what is in the cache."""
    return lambda: monkeypatch.setattr(remembered, "_LATELY", {})


@pytest.mark.parametrize("from_cache", [True, False])
@pytest.mark.parametrize("which", ["ours", "shipped"])
def test_the_same_cards_come_back(folder, read, another_program, which, from_cache):
    place = demo_loops_folder() if which == "shipped" else folder
    another_program()
    first = once(place)
    if from_cache:
        another_program()
    again = once(place)
    assert first == again == (read_catalog(place, Problems()), [])
    assert list(first[0]) == list(again[0])
    assert len(read) == 1


def test_another_text_is_read(folder, read):
    once(folder)
    (folder / FILE_NAME).write_text(CATALOG.replace("96.5", "97"))
    assert once(folder)[0]["tin roof"].tempo_bpm == 97
    assert len(read) == 2


def test_a_sound_that_has_gone_is_told(folder):
    once(folder)
    (folder / "tin.wav").unlink()
    assert once(folder) == ({}, ["loop-gone"])


def test_a_sound_that_leads_elsewhere_is_told(folder, tmp_path_factory):
    once(folder)
    elsewhere = tmp_path_factory.mktemp("elsewhere") / "tin.wav"
    shutil.move(folder / "tin.wav", elsewhere)
    (folder / "tin.wav").symlink_to(elsewhere)
    assert once(folder) == ({}, ["loop-outside"])


def test_what_there_is_to_tell_is_told_each_time(folder, read):
    (folder / FILE_NAME).write_text(CATALOG + "  colour: blue\n")
    assert once(folder)[1] == once(folder)[1] == ["unknown-card-key"]
    assert len(read) == 2


def test_what_was_damaged_is_read(folder, read, cache_folder, another_program):
    once(folder)
    another_program()
    for entry in cache_folder.iterdir():
        entry.write_bytes(b"nothing")
    assert once(folder)[0] == read_catalog(folder, Problems())
    assert len(read) == 2


def test_without_a_catalog_that_is_told(tmp_path):
    assert once(tmp_path) == ({}, ["no-catalog"])
