"""`mixer watch` with pages: one in a real browser, which stays where the listener is; a folder's beside recipes."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from contextlib import contextmanager

import pytest

from tests.browser import browser
from tests.cli.program import mixer
from tests.sounds import Made, loop_folder

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="Ctrl-C reaches a process there in another way")
TEXT = """title: Low Tide <b>
tempo: 120
layers:
  hum: hum
  box: ticks
sections:
  - intro, 2 bars: hum
  - chorus, 2 bars: hum, box
  - chorus, 4 bars: hum
"""
RIGHT = "\ue014"
NEWS = "document.getElementById('news').textContent"


@pytest.fixture
def room(tmp_path):
    loop_folder(tmp_path / "loops", Made("hum", "tone", role="bass", tempo_bpm="120"), Made("ticks", tempo_bpm="120"))
    (tmp_path / "song.yaml").write_text(TEXT, encoding="utf-8")
    return tmp_path


@contextmanager
def _watching(room, *given):
    command = [sys.executable, "-m", "mixer", "watch", *given]
    environment = {**os.environ, "PYTHONUNBUFFERED": "1", "PYTHONUTF8": "1"}
    with subprocess.Popen(
        command, cwd=room, env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as running:
        try:
            yield running
        finally:
            if running.poll() is None:
                running.send_signal(signal.SIGINT)
            _, errors = running.communicate(timeout=30)
    assert errors == ""


def test_the_page_takes_in_what_is_new_and_stays_at_the_listeners_place(room):
    recipe = room / "song.yaml"
    with _watching(room, "song.yaml", "--page") as running:
        running.stdout.readline()
        address = running.stdout.readline().rsplit(" ", 1)[1].strip()
        assert address.startswith("http://127.0.0.1:")
        with browser(address) as seen:
            seen.wait("(document.getElementById('sound') || {}).duration > 15", 30)
            assert seen.text("title") == "Low Tide <b>"
            assert seen.js("return document.getElementById('sound').paused")
            for _ in range(5):
                seen.press(RIGHT)
            assert seen.text("place").startswith("bar 6 of 8")  # bar 2 of the second chorus
            recipe.write_text(TEXT.replace("intro, 2", "intro, 4"), encoding="utf-8")
            seen.wait(f"{NEWS}.startsWith('The song was made again')", 30)
            seen.wait("document.getElementById('place').textContent.startsWith('bar 8 of 10')")
            assert seen.js("return document.getElementById('sound').paused")
            assert len(seen.js("return [...document.querySelectorAll('#table tr')]")) == 4
            recipe.write_text(TEXT.replace("- chorus, 4", "- outro, 4"), encoding="utf-8")
            seen.wait("document.getElementById('place').textContent.startsWith('bar 4 of 8')", 30)  # the one chorus
            recipe.write_text(TEXT.replace("chorus", "refrain"), encoding="utf-8")
            seen.wait(f"{NEWS}.endsWith('so you are at the start.')", 30)
            recipe.write_text(TEXT.replace("intro, 2", "intro, 4"), encoding="utf-8")
            seen.wait("document.getElementById('place').textContent.startsWith('bar 1 of 10')", 30)
            seen.press(" ")
            seen.wait("!document.getElementById('sound').paused")
            recipe.write_text(TEXT.replace("intro, 2", "intro, 4").replace("hum, box", "hum, <i>bax"), encoding="utf-8")
            seen.wait(f"{NEWS}.startsWith('There is something to look at')", 30)
            told = seen.text("mistakes")
            assert "song.yaml, line 8" in told
            assert "<i>bax" in told
            assert "last one without mistakes" in told
            assert not seen.js("return document.getElementById('sound').paused")  # the last good song goes on
            assert seen.barriers() == []
            recipe.write_text(TEXT.replace("intro, 2", "intro, 4"), encoding="utf-8")
            seen.wait(f"{NEWS}.startsWith('The mistakes are gone')", 30)
            assert seen.text("mistakes") == ""
            assert seen.complaints() == []
            assert all(url.startswith((address, "blob:", "data:")) for url in seen.requests())
            running.send_signal(signal.SIGINT)
            seen.wait(f"{NEWS}.startsWith('The program that made this page has stopped')", 30)


def test_where_there_is_no_song_yet_the_page_waits_and_tells_why(room):
    recipe = room / "song.yaml"
    recipe.write_text("tempo: 120\n", encoding="utf-8")
    with _watching(room, "song.yaml", "--page") as running:
        running.stdout.readline()
        with browser(running.stdout.readline().rsplit(" ", 1)[1].strip()) as seen:
            seen.wait("document.getElementById('mistakes').textContent.includes('song.yaml')", 30)
            recipe.write_text(TEXT, encoding="utf-8")
            seen.wait("(document.getElementById('sound') || {}).duration > 15", 30)
            assert seen.js("return document.getElementById('sound').paused")
            assert seen.text("mistakes") == ""


def test_in_a_folder_pages_and_mistakes_stand_beside_recipes(room):
    (room / "table 2").mkdir()
    (room / "table 2" / "tide.yaml").write_text(
        "tempo: 96\nlayers:\n  box: tin-roof\nsections:\n  - a, 1 bar: box, bux\n"
    )
    (room / "song.html").write_text("my own page", encoding="utf-8")
    command = [sys.executable, "-m", "mixer", "watch", "."]
    with subprocess.Popen(command, cwd=room, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True) as running:
        told = room / "table 2" / "tide (mistakes).txt"
        _wait(lambda: told.exists() and "song.html" in running.stderr.readline())
        assert "bux" in told.read_text(encoding="utf-8")
        page = (room / "table 2" / "tide.html").read_text(encoding="utf-8")
        assert '"soundType": "audio/ogg"' in page
        assert "connect-src" not in page
        assert "draft" in page
        (room / "table 2" / "tide.yaml").write_text(
            "tempo: 96\nlayers:\n  box: tin-roof\nsections:\n  - a, 1 bar: box\n"
        )
        _wait(lambda: not told.exists())
        running.send_signal(signal.SIGINT)
        running.communicate(timeout=30)
    assert (room / "song.html").read_text(encoding="utf-8") == "my own page"
    assert not list(room.rglob("*.part"))


def _wait(done, seconds=40):
    end = time.monotonic() + seconds
    while not done():
        assert time.monotonic() < end
        time.sleep(0.1)


def test_of_a_folder_no_page_is_served(room):
    done = mixer("watch", ".", "--page", cwd=room)
    assert done.returncode == 2
    assert "for one recipe" in done.stderr.replace("\n", " ").replace("│", " ").replace("  ", " ")
