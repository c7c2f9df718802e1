"""`mixer measure`, run as a user runs it."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest
import yaml

from mixer.loops.library import demo_loops_folder
from mixer.loops.measure.many import inner_folders, sound_files
from mixer.signal.riff import chunk
from tests.cli.program import mixer
from tests.sounds import Made, loop_folder

TEXTS = {"type": "array", "items": {"type": "string"}}
FORM = {
    "type": "array",
    "items": {
        "type": "object",
        "additionalProperties": False,
        "required": ["file", "tempo_bpm", "bars", "time", "first_downbeat_seconds", "key", "chords", "role"],
        "properties": {
            "file": {"type": "string"},
            "tempo_bpm": {"type": ["number", "null"]},
            "bars": {"type": ["integer", "null"]},
            "time": {"type": ["string", "null"]},
            "first_downbeat_seconds": {"type": ["number", "null"]},
            "key": {"type": ["string", "null"]},
            "chords": TEXTS,
            "role": {"type": ["string", "null"]},
            "loudness_lufs": {"type": ["number", "null"]},
            "true_peak_dbtp": {"type": ["number", "null"]},
            "sure": TEXTS,
            "or": {"type": "object", "additionalProperties": {"type": "array"}},
            "problems": {"type": "array", "items": {"type": "object"}},
        },
    },
}


def _folder(tmp_path):
    folder = tmp_path / "found loops"
    folder.mkdir()
    for name in ("tin-roof", "paper-lantern"):
        shutil.copy(demo_loops_folder() / f"{name}.flac", folder)
    return folder


def test_a_folder_is_measured_written_and_left_alone(tmp_path):
    folder = _folder(tmp_path)
    done = mixer("measure", folder, "--write", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "96 beats a minute, 4 bars of 4/4" in done.stdout
    catalog = folder / "loops.yaml"
    cards = yaml.safe_load(catalog.read_text(encoding="utf-8"))
    assert cards["tin-roof"]["role"] == "drums"
    assert cards["paper-lantern"]["chords"] == "Am | F | C | G"
    before = catalog.read_bytes()
    again = mixer("measure", folder, "--write", cwd=tmp_path)
    assert "nothing was changed" in again.stdout
    assert catalog.read_bytes() == before
    listed = mixer("loops", "--loops", folder, cwd=tmp_path)
    assert listed.returncode == 0


@pytest.mark.skipif(sys.platform == "win32", reason="a signal cannot be sent to one program alone there")
def test_ctrl_c_loses_nothing(tmp_path):
    folder = loop_folder(tmp_path / "many", *(Made(f"loop {n}", tempo_bpm=str(80 + n)) for n in range(12)))
    (folder / "loops.yaml").unlink()
    command = [sys.executable, "-m", "mixer", "measure", "many", "--write"]
    with subprocess.Popen(
        command, cwd=tmp_path, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True
    ) as running:
        first = running.stdout.readline()  # it is told of as soon as it is measured
        os.killpg(running.pid, signal.SIGINT)
        said, wrong = running.communicate(timeout=60)
    assert first == "loop 0.wav\n"
    assert running.returncode == 1
    done = yaml.safe_load((folder / "loops.yaml").read_text(encoding="utf-8"))
    assert 0 < len(done) < 12
    assert wrong == f"Stopped: {len(done)} of 12 are measured and stay so. The same command goes on with the others.\n"
    assert "loops.yaml: " in said
    again = mixer("measure", "many", "--write", cwd=tmp_path)
    assert f"{len(done)} {'loop is' if len(done) == 1 else 'loops are'} listed with all" in again.stdout
    now = yaml.safe_load((folder / "loops.yaml").read_text(encoding="utf-8"))
    assert len(now) == 12
    assert list(now)[: len(done)] == list(done)


def test_maker_and_licence_come_from_the_tags(tmp_path):
    loops = loop_folder(tmp_path / "mine", *(Made(name) for name in ("free", "shared", "closed")))
    (loops / "loops.yaml").unlink()
    for name, licence in (("free", "CC0"), ("shared", "licenses/by-sa/4.0/"), ("closed", "All rights reserved")):
        text = f"https://creativecommons.org/{licence}" if "/" in licence else licence
        info = b"INFO" + chunk(b"IART", b"Table 4\0") + chunk(b"ICOP", text.encode() + b"\0")
        with (loops / f"{name}.wav").open("ab") as file:
            file.write(chunk(b"LIST", info))
    done = mixer("measure", "mine", "--write", cwd=tmp_path)
    assert "Its tags say: by Table 4 and licence CC-BY-SA-4.0." in done.stdout
    assert 'Its tags say about its use: "All rights reserved". Ask your school what that means.' in done.stdout
    text = (loops / "loops.yaml").read_text(encoding="utf-8")
    cards = yaml.safe_load(text)
    assert {name: card.get("licence") for name, card in cards.items()} == {
        "free": "CC0",
        "shared": "CC-BY-SA-4.0",
        "closed": None,
    }
    assert text.count("maker: Table 4  # from its tags") == 3


def test_folders_inside_are_named_and_not_looked_into(tmp_path):
    folder = _folder(tmp_path)
    loop_folder(folder / "from June", Made("ticks"))
    (folder / "papers").mkdir()
    done = mixer("measure", folder, "--write", cwd=tmp_path)
    assert "from June too. To measure them, name that folder." in done.stderr
    assert "papers" not in done.stderr
    assert set(yaml.safe_load((folder / "loops.yaml").read_text(encoding="utf-8"))) == {"tin-roof", "paper-lantern"}


def test_a_folder_that_may_not_be_looked_into_is_no_trouble(tmp_path, monkeypatch):
    folder = loop_folder(tmp_path / "mine", Made("ticks"))
    (folder / "locked").mkdir()
    usual = Path.iterdir

    def iterdir(path):
        if path.name == "locked":
            raise PermissionError
        return usual(path)

    monkeypatch.setattr(Path, "iterdir", iterdir)
    assert inner_folders(folder) == []
    assert [path.name for path in sound_files(folder)] == ["ticks.wav"]
    assert sound_files(folder / "locked") == []


def test_loops_whose_file_has_gone_are_named_and_kept(tmp_path):
    folder = _folder(tmp_path)
    catalog = folder / "loops.yaml"
    catalog.write_text("gone one:\n  file: gone.wav\n  tempo: 90\n  bars: 4\n  role: bass\n", encoding="utf-8")
    done = mixer("measure", folder / "tin-roof.flac", "--write", cwd=tmp_path)
    assert "gone one" in done.stderr
    assert catalog.read_text(encoding="utf-8").startswith("gone one:\n  file: gone.wav\n")


def test_json_has_the_form_it_promises(tmp_path):
    folder = _folder(tmp_path)
    (folder / "no sound.wav").write_text("hello", encoding="utf-8")
    done = mixer("measure", folder, "--json", cwd=tmp_path)
    found = json.loads(done.stdout)
    jsonschema.validate(found, FORM)
    assert [one["tempo_bpm"] for one in found] == [None, 96, 96]
    assert done.returncode == 1


def test_a_file_that_is_named_in_two_ways_is_measured_once(tmp_path):
    folder = _folder(tmp_path)
    again = tmp_path / "found loops" / ".." / "found loops" / "tin-roof.flac"
    found = json.loads(mixer("measure", folder, again, "--json", cwd=tmp_path).stdout)
    assert len(found) == 2


def test_a_catalog_in_another_encoding_is_not_touched(tmp_path):
    folder = _folder(tmp_path)
    own = "tür:\n  file: tin-roof.flac\n".encode("latin-1")
    (folder / "loops.yaml").write_bytes(own)
    done = mixer("measure", folder / "tin-roof.flac", "--write", cwd=tmp_path)
    assert done.returncode == 1
    assert "UTF-8" in done.stderr
    assert (folder / "loops.yaml").read_bytes() == own


def test_paths_that_lead_nowhere(tmp_path):
    assert mixer("measure", "nowhere", cwd=tmp_path).returncode == 2
    loop_folder(tmp_path / "x", Made("ticks"))
    (tmp_path / "x" / "ticks.wav").unlink()
    assert mixer("measure", "x", cwd=tmp_path).returncode == 1
