"""`mixer chart` as a student meets it."""

from __future__ import annotations

import json
import re
from xml.etree import ElementTree as ET

import pytest

from tests.browser import browser
from tests.cli.program import mixer
from tests.sounds import Made, loop_folder

SONG = """title: Low Tide
by: Table 4
tempo: 240
layers:
  box: ticks
  hum: hum
sections:
  - start, 2 bars: box
  - end, 2 bars: everything
"""


@pytest.fixture
def place(tmp_path):
    loop_folder(tmp_path / "loops", Made("ticks", tempo_bpm="240"), Made("hum", "tone", "harmony", "240"))
    (tmp_path / "song.yaml").write_text(SONG, encoding="utf-8")
    return tmp_path


def test_without_a_file_it_is_text_of_80_columns(place):
    done = mixer("chart", "song.yaml", cwd=place)
    assert (done.returncode, done.stderr) == (0, "")
    lines = done.stdout.splitlines()
    assert lines[0] == "Low Tide, by Table 4: 240 beats a minute, 4/4, 0:04"
    assert [line.split("|")[0].strip() for line in lines[2:7]] == ["", "", "hum", "box", "fullest at bar 3"]
    assert lines[-1].startswith("energy ")
    assert max(map(len, lines)) <= 80
    assert {path.name for path in place.iterdir() if not path.name.startswith(".")} == {"loops", "song.yaml"}


@pytest.mark.parametrize(("ending", "begins"), [("svg", b"<svg "), ("pdf", b"%PDF-1.4"), ("PNG", b"\x89PNG")])
def test_the_ending_says_what_kind_of_file(place, ending, begins):
    if ending == "PNG":
        pytest.importorskip("PIL")
    done = mixer("chart", "song.yaml", "--out", f"new/chart.{ending}", "--paper", "letter", "--large", cwd=place)
    assert (done.returncode, done.stderr) == (0, "")
    assert re.fullmatch(rf"The chart is in new.chart\.{ending}( \(\d sheets\))?\n", done.stdout)
    content = (place / "new" / f"chart.{ending}").read_bytes()
    assert content.startswith(begins)
    if ending == "svg":
        assert any(each.text == "Low Tide" for each in ET.fromstring(content).iter())  # noqa: S314 - our own text


def test_json_has_the_chart_and_the_numbers_of_its_energy(place):
    done = mixer("chart", "song.yaml", "--json", "--out", "chart.svg", cwd=place)
    assert (done.returncode, done.stderr) == (0, "")
    answer = json.loads(done.stdout)
    assert [(each["letter"], each["first_bar"], each["bars"]) for each in answer["chart"]["sections"]] == [
        ("A", 1, 2),
        ("B", 3, 2),
    ]
    assert [each["heard"] for each in answer["chart"]["layers"]] == [[[1, 4]], [[3, 4]]]
    energy = [each["energy"] for each in answer["bars"]]
    assert len(energy) == 4
    assert min(energy[2:]) > max(energy[:2]) > 0  # a layer joins
    assert answer["chart"]["energy"] == pytest.approx([each["shape"] for each in answer["bars"]], abs=1e-6)
    assert (place / "chart.svg").exists()
    done = mixer("chart", "gone.yaml", "--json", cwd=place)
    assert (done.returncode, json.loads(done.stdout)["chart"]) == (2, None)


def test_a_draft_has_a_chart_too(place):
    (place / "song.yaml").write_text(SONG.replace("start, 2 bars: box", "start, 2 bars: box, bx"), encoding="utf-8")
    done = mixer("chart", "song.yaml", "--out", "chart.svg", cwd=place)
    assert (done.returncode, "bx" in done.stderr, (place / "chart.svg").exists()) == (1, True, True)
    done = mixer("chart", "song.yaml", "--json", cwd=place)
    assert (done.returncode, len(json.loads(done.stdout)["problems"])) == (1, 1)


def test_the_same_bytes_each_time(place):
    for name in ("a.svg", "b.svg"):
        assert mixer("chart", "song.yaml", "--out", name, cwd=place).returncode == 0
    assert (place / "a.svg").read_bytes() == (place / "b.svg").read_bytes()


def test_what_cannot_be_is_told(place):
    done = mixer("chart", "song.yaml", "--out", "chart.gif", cwd=place)
    assert (done.returncode, "ends in .svg, .png, .pdf or .html" in done.stderr) == (2, True)
    done = mixer("chart", "gone.yaml", cwd=place)
    assert (done.returncode, "there is no file" in done.stderr) == (2, True)
    (place / "song.yaml").write_text(SONG.replace("end, 2 bars: everything", "end, 2 bars: everyone"), encoding="utf-8")
    done = mixer("chart", "song.yaml", "--out", "chart.svg", cwd=place)
    assert (done.returncode, "line 9" in done.stderr, (place / "chart.svg").exists()) == (1, True, True)
    (place / "here").write_bytes(b"")
    done = mixer("chart", "song.yaml", "--out", "here/chart.svg", cwd=place)
    assert (done.returncode, "could not be written" in done.stderr, "Traceback" in done.stderr) == (2, True, False)


def test_other_scripts_are_told_of_in_a_pdf(place):
    (place / "song.yaml").write_text(SONG.replace("Low Tide", "港の夜"), encoding="utf-8")
    done = mixer("chart", "song.yaml", "--out", "chart.pdf", cwd=place)
    assert done.returncode == 0
    assert "港の夜 became dots" in done.stderr


def test_the_page_shows_the_chart_and_plays_where_it_is_clicked(place):
    done = mixer("chart", "song.yaml", "--out", "song.html", cwd=place)
    assert (done.returncode, done.stderr) == (0, "")
    with browser(place / "song.html") as seen:
        bars = seen.js("return [...document.querySelectorAll('svg [data-bar]')].map(each => each.dataset.bar)")
        assert bars == ["1", "2", "3", "4"]
        seen.wait("document.getElementById('sound').duration > 3")
        seen.driver.find_element("css selector", "[data-bar='3']").click()
        # Bar 3 begins after two bars of four beats at 240 beats a minute: 2 s.
        assert seen.wait("document.getElementById('sound').currentTime >= 2")
        seen.wait("document.getElementById('place').textContent.startsWith('bar 3')")
        assert seen.complaints() == []
        assert all(url.startswith(("file:", "data:", "blob:")) for url in seen.requests())
