"""`mixer watch` as a process: it tells what was saved, and stops cleanly."""

from __future__ import annotations

import os
import signal
import subprocess
import sys

import pytest

from tests.cli.program import mixer

TEXT = "tempo: 96\nlayers:\n  box: tin-roof\nsections:\n  - verse, 2 bars: box\n"


@pytest.mark.skipif(sys.platform == "win32", reason="Ctrl-C reaches a process there in another way")
def test_it_tells_and_stops(tmp_path):
    (tmp_path / "song.yaml").write_text(TEXT, encoding="utf-8")
    command = [sys.executable, "-m", "mixer", "watch", "song.yaml"]
    environment = {**os.environ, "PYTHONUNBUFFERED": "1", "PYTHONUTF8": "1"}
    with subprocess.Popen(
        command, cwd=tmp_path, env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as running:
        assert "Ctrl-C" in running.stdout.readline()
        assert running.stdout.readline() == "song.yaml:\n"
        assert "song.wav" in running.stdout.readline()
        (tmp_path / "song.yaml").write_text(TEXT.replace("96", "120"), encoding="utf-8")
        assert running.stdout.readline() == "song.yaml: tempo 96 to 120, so everything is 20 % shorter\n"
        assert "song.wav" in running.stdout.readline()
        (tmp_path / "song.yaml").write_text(TEXT.replace("box\n", "bex, box\n"), encoding="utf-8")
        running.stdout.readline()
        assert running.stdout.readline().startswith("  1 mistake (line 5; mixer check tells more); a draft is in")
        running.send_signal(signal.SIGINT)
        rest, errors = running.communicate(timeout=30)
    assert rest.startswith("Stopped.")
    assert errors == ""
    assert running.returncode == 0
    assert not list(tmp_path.glob("*.part"))


def test_what_is_not_there_is_told(tmp_path):
    done = mixer("watch", "gone.yaml", cwd=tmp_path)
    assert done.returncode == 2
    assert "no file or folder" in done.stderr


@pytest.mark.skipif(sys.platform == "win32", reason="Ctrl-C reaches a process there in another way")
def test_a_song_that_cannot_be_written_is_no_mistake_of_the_recipe(tmp_path):
    (tmp_path / "song.yaml").write_text(TEXT, encoding="utf-8")
    (tmp_path / "song.wav").mkdir()
    command = [sys.executable, "-m", "mixer", "watch", "song.yaml"]
    environment = {**os.environ, "PYTHONUNBUFFERED": "1", "PYTHONUTF8": "1"}
    with subprocess.Popen(
        command, cwd=tmp_path, env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as running:
        told = running.stderr.readline()
        running.send_signal(signal.SIGINT)
        said, _ = running.communicate(timeout=30)
    assert '"song.wav" could not be written' in told
    assert "mistake" not in said


def test_a_try_that_cannot_be_written_is_named_and_not_the_recipe(tmp_path):
    (tmp_path / "song.yaml").write_text(TEXT, encoding="utf-8")
    (tmp_path / "song (try).wav").mkdir()
    done = mixer("try", "song.yaml", "verse: nothing", cwd=tmp_path)
    assert done.returncode == 2
    assert '"song (try).wav" could not be written' in done.stderr
