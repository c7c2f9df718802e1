"""The page of all loops in a real browser: from a file, by keyboard, silent until asked, with no network."""

from __future__ import annotations

import base64
import json
import re
from fractions import Fraction

import numpy as np
import pytest
import soundfile

from mixer.classroom.loop_page import LEAD_SECONDS, LOUDNESS_LUFS, Wish, write_loop_page
from mixer.loops.library import open_library
from mixer.music.keys import Key
from mixer.signal.loudness import integrated_loudness
from tests.browser import browser
from tests.cli.program import mixer
from tests.sounds import Made, loop_folder

HOSTILE = "<img src=x onerror=alert(1)></script>"


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    folder = loop_folder(
        tmp_path_factory.mktemp("loops") / "loops",
        Made("ticks", bars=1),
        Made("hum", "tone", "bass", bars=1, key="A minor", tempo_bpm="120"),
    )
    catalog = folder / "loops.yaml"
    text = catalog.read_text(encoding="utf-8").replace("ticks:", f"'{HOSTILE}':", 1)
    catalog.write_text(f"{text}  maker: '{HOSTILE}'\n", encoding="utf-8")
    path = folder.parent / "loops.html"
    cards = [card for card in open_library(folder.parent).cards.values() if card.path.parent == folder]
    write_loop_page(path, list({card.name: card for card in cards}.values()), Wish())
    return path


def data(page):
    found = re.search(r'<script type="application/json" id="data">(.*?)</script>', page.read_text("utf-8"), re.DOTALL)
    return json.loads(found[1])


def decoded(text, place):
    file = place / "sound.mp3"
    file.write_bytes(base64.b64decode(text))
    return soundfile.read(file)


def test_every_loop_is_there_round_and_at_one_loudness(page, tmp_path):
    loops = data(page)["loops"]
    assert len(loops) == 2
    for loop in loops:
        samples, rate_hz = decoded(loop["sound"], tmp_path)
        frames = round(loop["seconds"] * rate_hz)
        assert len(samples) >= frames + 2 * LEAD_SECONDS * rate_hz
        lead = round(LEAD_SECONDS * rate_hz)
        round_trip = samples[lead : lead + frames]
        assert np.abs(samples[lead + frames :][:2000] - round_trip[:2000]).max() < 0.1
        if np.abs(round_trip).max() * loop["gain"] < 0.8:  # not held back by its peaks
            played = np.tile(round_trip * loop["gain"], (4, 1)).astype(np.float32)
            assert integrated_loudness(played, rate_hz) == pytest.approx(LOUDNESS_LUFS, abs=0.5)


def test_the_page_in_a_browser(page):
    with browser(page) as seen:
        assert seen.js("return document.querySelectorAll('.play').length") == 2
        assert seen.js("return document.querySelectorAll('img').length") == 0
        assert seen.text("told") == ""
        names = seen.js("return [...document.querySelectorAll('h3')].map(each => each.textContent)")
        assert sorted(names) == sorted(["hum", HOSTILE])
        seen.js("document.querySelectorAll('.play')[1].focus()")
        seen.press(" ")
        seen.wait("document.querySelectorAll('[aria-pressed=true]').length === 1")
        assert seen.text("told").startswith("Playing ")
        seen.press("\ue00c")  # Escape
        seen.wait("document.querySelectorAll('[aria-pressed=true]').length === 0")
        seen.js("const box = document.getElementById('search'); box.value = 'HUM bass'; "
                "box.dispatchEvent(new Event('input'))")  # fmt: skip
        assert seen.js("return document.querySelectorAll('.loop:not([hidden])').length") == 1
        assert seen.text("told") == "1 loop"
        assert seen.barriers() == []
        assert [url for url in seen.requests() if not url.startswith(("file:", "data:"))] == []
        assert seen.complaints() == []


def test_stop_stays_in_reach_and_names_stay_whole_on_narrow_screens(page):
    with browser(page, 800, 400) as seen:
        seen.js("window.scrollTo(0, document.body.scrollHeight)")
        assert seen.js("return window.scrollY") > 200
        assert seen.js("return document.getElementById('stop').getBoundingClientRect().top") >= 0
        phone = {"width": 360, "height": 640, "deviceScaleFactor": 1, "mobile": True}
        seen.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", phone)
        seen.driver.refresh()
        assert seen.js("return document.documentElement.scrollWidth") <= 360
        assert seen.js("return document.querySelector('h3').getBoundingClientRect().width") > 250
        assert seen.barriers() == []


def test_loops_are_brought_to_a_tempo_and_a_key(page, tmp_path):
    folder = page.parent / "loops"
    card = open_library(page.parent).find("hum")
    assert card.path.parent == folder
    out = tmp_path / "fitted.html"
    write_loop_page(out, [card], Wish(Fraction(96), Key("C", "minor")))
    (loop,) = data(out)["loops"]
    assert loop["seconds"] == pytest.approx(4 * 60 / 96, abs=1e-4)
    samples, rate_hz = decoded(loop["sound"], tmp_path)
    spectrum = np.abs(np.fft.rfft(samples[:, 0] * np.hanning(len(samples))))
    heard_hz = spectrum.argmax() * rate_hz / len(samples)
    assert 12 * np.log2(heard_hz / 220) == pytest.approx(3, abs=0.1)  # A minor to C minor: three semitones up


def test_the_command_says_where_it_is(page, tmp_path):
    done = mixer("loops", "hum", "--loops", page.parent / "loops", "--page", tmp_path / "x.html", cwd=tmp_path)
    assert "1 loops are in" not in done.stdout
    assert "x.html" in done.stdout
    assert (tmp_path / "x.html").is_file()
    assert mixer("loops", "--key", "H dull", "--page", "y.html", cwd=tmp_path).returncode == 2
    nothing = mixer("loops", "zzz", cwd=tmp_path)
    assert (nothing.returncode, nothing.stderr.strip()) == (1, "No loop has all of that.")


SONG = (
    "tempo: 96\nlayers:\n  box: ticks\nsections:\n"
    "  - intro, 2 bars: nothing\n  - chorus, 4 bars: box\n  - outro, 2 bars: box\n"
)
COUNT_STARTS = (
    "window.started = []; const own = AudioBufferSourceNode.prototype.start; "
    "AudioBufferSourceNode.prototype.start = function (when, lead) {"
    " window.started.push([when, lead, this.loopEnd - this.loopStart]); return own.call(this, when, lead); };"
)


def test_loops_are_heard_together_with_the_songs_chorus(tmp_path):
    loop_folder(
        tmp_path / "loops", Made("ticks"), Made("hum", "tone", "bass", tempo_bpm="120"), Made("waltz", time="3/4")
    )
    (tmp_path / "song.yaml").write_text(SONG, encoding="utf-8")
    done = mixer("loops", "--page", "loops.html", "--for", "song.yaml", "--loops", "loops", cwd=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    found = data(tmp_path / "loops.html")
    assert found["together"]["seconds"] == pytest.approx(4 * 4 * 60 / 96, abs=1e-4)
    chorus, rate_hz = decoded(found["together"]["sound"], tmp_path)
    assert (
        np.abs(chorus[: round(rate_hz * (LEAD_SECONDS + 0.2))]).max() > 0.1
    )  # its first bar, and not the silent intro
    loops = {loop["name"]: loop for loop in found["loops"]}
    assert loops["waltz"]["gainTogether"] == 0
    with browser(tmp_path / "loops.html") as seen:
        seen.js(COUNT_STARTS)
        seen.js("document.getElementById('together').focus()")
        seen.press(" ")
        play = "document.querySelector('[data-loop=\"{}\"] .play').click()"
        for name, count in (("hum", 2), ("waltz", 1)):
            seen.js("window.started = []")
            seen.js(play.format(list(loops).index(name)))
            seen.wait(f"window.started.length === {count}")
        seen.js("window.started = []")
        seen.js(play.format(list(loops).index("hum")))
        seen.wait("window.started.length === 2")
        (when, lead, length), (song_when, song_lead, song_length) = seen.js("return window.started")
        assert (when, lead) == (song_when, song_lead)
        assert song_length == pytest.approx(length, rel=1e-4)  # four bars of the song each
        seen.press("\ue00c")
        seen.wait("document.querySelectorAll('[aria-pressed=true]').length === 0")
        assert seen.complaints() == []


def test_what_is_for_the_page_is_told_where_there_is_none(tmp_path):
    for option in (("--key", "A minor"), ("--tempo", "96")):
        done = mixer("loops", *option, cwd=tmp_path)
        assert (done.returncode, "add --page" in done.stderr) == (2, True)
