"""What was measured is known again by its content, and only by it, its name and the code that measures."""

from __future__ import annotations

import shutil

import pytest

from mixer.loops.measure import known, measured
from mixer.loops.measure.known import measured_once
from mixer.store import makers, recalled
from mixer.store.cache import open_cache
from mixer.store.content import content_key
from tests.sounds import Made, loop_folder


@pytest.fixture
def loop(tmp_path):
    folder = loop_folder(tmp_path / "loops", Made("ticks"), Made("hum", "tone", "harmony", key="A minor"))
    return {name: folder / f"{name}.wav" for name in ("ticks", "hum")}


@pytest.fixture
def counted(monkeypatch):
    """Counts how often something is listened to."""
    calls = []
    own = measured.measure
    monkeypatch.setattr(measured, "measure", lambda path: calls.append(path.name) or own(path))
    return calls


@pytest.mark.parametrize("name", ["ticks", "hum"])
def test_what_is_known_is_what_was_measured(loop, counted, name):
    first = measured_once(loop[name])
    assert first == measured.measure(loop[name])
    del counted[:]
    assert measured_once(loop[name]) == first
    assert counted == []


def test_the_same_sound_elsewhere_is_known_and_with_a_name_that_says_more_it_is_not(loop, counted, tmp_path):
    first = measured_once(loop["ticks"])
    (tmp_path / "other").mkdir()
    copy = shutil.copy(loop["ticks"], tmp_path / "other" / "bells.wav")
    again = measured_once(copy)
    assert (counted, again.path, again.tempo_bpm) == (["ticks.wav"], copy, first.tempo_bpm)
    named = shutil.copy(loop["ticks"], tmp_path / "other" / "bells 120bpm.wav")
    assert "name tempo" in {kind for kind, _ in measured_once(named).problems}
    assert counted == ["ticks.wav", "bells 120bpm.wav"]


def test_another_sound_or_other_code_is_measured(loop, counted, monkeypatch):
    measured_once(loop["ticks"])
    monkeypatch.setattr(recalled, "makers_key", lambda *_: "other")
    measured_once(loop["ticks"])
    monkeypatch.undo()
    assert known.known(loop["ticks"], content_key(loop["hum"]), open_cache()) is None
    assert len(counted) == 2


def test_with_another_library_it_is_measured(loop, counted, monkeypatch):
    measured_once(loop["ticks"])
    monkeypatch.setattr(makers, "_version", lambda library: f"{library} 99")
    monkeypatch.setattr(makers, "_libraries", makers._libraries.__wrapped__)
    monkeypatch.setattr(recalled, "makers_key", makers.makers_key.__wrapped__)
    measured_once(loop["ticks"])
    measured_once(loop["ticks"])
    assert counted == ["ticks.wav"] * 2


def test_without_a_cache_and_with_a_damaged_one_it_is_measured(loop, counted, monkeypatch):
    measured_once(loop["ticks"])
    cache = open_cache()
    for path in cache.folder.iterdir():
        path.write_bytes(b"nothing")
    measured_once(loop["ticks"])
    monkeypatch.setenv("MIXER_CACHE", "off")
    measured_once(loop["ticks"])
    assert len(counted) == 3


def test_nothing_that_is_kept_names_anything(loop):
    measured_once(loop["ticks"].rename(loop["ticks"].with_name("Mira 96bpm.wav")))
    (kept,) = open_cache().folder.iterdir()
    assert b"Mira" not in kept.read_bytes()


def test_what_cannot_be_read_is_not_kept(tmp_path):
    path = tmp_path / "notes.wav"
    path.write_text("bring the shaker", encoding="utf-8")
    assert not measured_once(path).is_loop
    assert not measured_once(tmp_path / "gone.wav").is_loop
    assert open_cache().usage().entries == 0
