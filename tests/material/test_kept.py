"""What material is kept, and that the key under which it lies holds all that it depends on."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from mixer.loops.card import Card
from mixer.material import kept, loop
from mixer.material.fit import Frame, Material, Remark
from mixer.material.kept import kept_or_made
from mixer.music.keys import Key
from mixer.music.meter import Meter
from mixer.recipe.model import Layer, LoopSource
from mixer.store import makers
from mixer.store.cache import open_cache
from mixer.store.makers import makers_key
from tests.sounds import Made, loop_folder

FRAME = Frame(Fraction(200), Meter(), Key("D", "minor"))


@pytest.fixture
def fit(tmp_path):
    loop_folder(tmp_path, Made("hum", kind="tone", role="harmony", bars=1, tempo_bpm="192", key="A minor"))
    card = Card("hum", tmp_path / "hum.wav", Fraction(192), Meter(), 1, "harmony", key=Key("A", "minor"))
    return loop.fit(Layer("hum", LoopSource("hum")), card, FRAME)


def _other_card(**changes):
    return lambda fit: (replace(fit, card=replace(fit.card, **changes)), FRAME, 44_100)


ANOTHER = {
    "rate": lambda fit: (fit, FRAME, 48_000),
    "bars": lambda fit: (replace(fit, bars=Fraction(2)), FRAME, 44_100),
    "semitones": lambda fit: (replace(fit, semitones=fit.semitones + 1), FRAME, 44_100),
    "song's tempo": lambda fit: (fit, replace(FRAME, tempo_bpm=Fraction(201)), 44_100),
    "song's meter": lambda fit: (fit, replace(FRAME, meter=Meter(3, 4)), 44_100),
    "card's tempo": _other_card(tempo_bpm=Fraction(193)),
    "card's meter": _other_card(meter=Meter(3, 4)),
    "card's bars": _other_card(bars=2),
    "downbeat": _other_card(downbeat_seconds=Fraction(1, 10)),
}


@pytest.mark.parametrize("what", ANOTHER)
def test_all_that_the_sound_depends_on_is_in_its_key(fit, what):
    assert kept._asked_for(*ANOTHER[what](fit)) != kept._asked_for(fit, FRAME, 44_100)


def _kept(fit, material, key="0" * 32):
    cache = open_cache()
    kept.LATELY.forget()
    kept_or_made(cache, fit, FRAME, 44_100, lambda *_: replace(material, content_key=key))
    return cache.usage().entries


def test_a_file_that_changes_while_it_is_read_is_not_kept(fit):
    material = loop.make(fit, FRAME, 44_100)
    assert _kept(fit, material) == 0
    assert _kept(fit, material, material.content_key) == 1


def test_what_there_is_to_tell_is_told_each_time(fit):
    material = replace(loop.make(fit, FRAME, 44_100), remarks=(Remark("loop-short", {"file": "hum.wav"}),))
    assert _kept(fit, material, material.content_key) == 0


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no pipes with names")
def test_a_pipe_is_not_waited_for(fit):
    fit.card.path.unlink()
    os.mkfifo(fit.card.path)
    with pytest.raises(loop.UnreadableLoopError):
        kept_or_made(open_cache(), fit, FRAME, 44_100, loop.make)


@pytest.mark.parametrize("room", ["signal/fit.py", "material/loop.py", "music/meter.py", "signal/onsets.py"])
def test_other_code_makes_other_keys(tmp_path, monkeypatch, room):
    house = Path(kept.__file__).parents[1]
    for name in ("signal", "material", "music"):
        shutil.copytree(house / name, tmp_path / name, ignore=shutil.ignore_patterns("__pycache__"))
    key = makers_key.__wrapped__
    now = key(*kept._ROOMS)
    monkeypatch.setattr(makers, "HOUSE", tmp_path)
    assert key(*kept._ROOMS) == now
    with (tmp_path / room).open("a") as source:
        source.write("# other\n")
    assert key(*kept._ROOMS) != now


def test_the_rooms_that_make_material_are_all_in_the_key():
    """What `make` loads of this program lies in those rooms, or says nothing about sound."""
    script = "import sys, mixer.material.loop, mixer.signal.fit, mixer.signal.loudness, mixer.signal.files\n"
    script += "print(*{name.split('.')[1] for name in sys.modules if name.startswith('mixer.')})"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    silent = {
        "loops",
        "recipe",
        "store",
        "words",
        "text",
        "pattern",
        "record",
    }  # cards, recipes, files, texts, how values are kept
    assert set(done.stdout.split()) - silent == set(kept._ROOMS)


def test_kept_material_is_what_was_made(fit):
    cache = open_cache()
    made = kept_or_made(cache, fit, FRAME, 44_100, loop.make)
    kept.LATELY.forget()
    found = kept_or_made(cache, fit, FRAME, 44_100, None)
    assert isinstance(found, Material)
    assert found.samples.dtype == made.samples.dtype
    assert found.samples.shape == made.samples.shape
    assert found.samples.tobytes() == made.samples.tobytes()
    assert (found.loudness_lufs, found.content_key) == (made.loudness_lufs, made.content_key)
