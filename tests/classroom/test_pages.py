"""The pages that a class listens with, in a real browser: from files, by keyboard, with nothing asked of a network."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import numpy as np
import pytest
import soundfile

from mixer.classroom.pages import LEVEL_CHECK, SHEET, write_pages
from mixer.classroom.rubric import Rubric
from mixer.classroom.session import write_level_check
from mixer.classroom.tasks import Done
from mixer.pages.engrave import engrave
from mixer.pages.svg import as_svg
from mixer.song.charted import chart_of
from mixer.song.opened import open_bytes
from tests.browser import browser

HOSTILE = '<script>alert(1)</script></script><img src=x onerror=alert(2)> "\u202e\U0001f6a2 & ' + "long" * 60
RUBRIC = Rubric((("Energy", ("stays", "changes")),))


def song(number, **more):
    sections = [
        {"letter": "A", "name": "start", "first": 1, "last": 4, "bars": 4, "start": 0.0},
        {"letter": "B", "name": HOSTILE if number == 2 else "end", "first": 5, "last": 6, "bars": 2, "start": 4.0},
    ]
    shown = {
        "bars": 6,
        "barSeconds": 1.0,
        "sections": sections,
        "chart": "|[A]",
        "words": ["start, 4 bars"],
        "about": "",
    }
    facts = {"title": f"Song {number}", "by": f"Table {number}", "file": f"song {number}.wav", "seconds": 6.0}
    return Done(**{"name": f"song {number}", "state": "song", **facts, "shown": shown, **more})


@pytest.fixture
def room(tmp_path):
    songs = [song(1), song(2, title=HOSTILE, by=HOSTILE, why=HOSTILE, words=HOSTILE), song(3, state="draft")]
    songs = [*songs, Done("song 4", "none", title="Broken", why="line 1: no tempo", words="line 1: no tempo")]
    for number in (1, 2, 3):
        hum = 0.05 * np.sin(np.arange(6 * 8000) / 5)
        soundfile.write(tmp_path / f"song {number}.wav", hum, 8000)
    write_level_check(tmp_path / LEVEL_CHECK)
    (tmp_path / "excerpts").mkdir()
    soundfile.write(tmp_path / "excerpts" / "01 song 1.wav", np.zeros(2 * 8000), 8000)
    write_pages(songs, tmp_path, {"song 1": (tmp_path / "excerpts" / "01 song 1.wav", 4.0)}, RUBRIC)
    return tmp_path


RECIPE = """title: Tide
tempo: 96
layers:
  drums: tin-roof
  bass: slow-tide
  piano: paper-lantern
sections:
  - verse, 8 bars: piano, bass 5-8
  - chorus, 8 bars: everything
  - bridge, 4 bars: piano
  - refrain, 12 bars: everything
"""


def wall_chart(folder, text):
    plan = open_bytes(text.encode(), folder / "song.yaml", folder).plan
    return as_svg(engrave(replace(chart_of(plan), title="", by=""), "wall")[:1], "Tide", places=True)


def begun(page):
    page.driver.find_element("id", "begin").click()
    page.wait("document.getElementById('title').textContent")


def test_a_session_by_keyboard_alone(room):
    with browser(room / "listen.html") as page:
        assert "75 dBA" in page.js("return document.querySelector('.care').textContent")
        assert page.js("return [...document.querySelectorAll('audio')].every(each => each.paused && !each.autoplay)")
        page.press("\ue004" * 2 + "\ue007")  # tab, tab (past the level check), enter
        for _ in range(12):
            if page.js("return !document.getElementById('listen').hidden"):
                break
            page.press("\ue004\ue007")
        page.wait("!document.getElementById('listen').hidden")
        assert page.text("title") == "Song 1"
        assert page.text("count") == "1 of 3"
        page.press(" ")
        page.wait("!document.getElementById('sound').paused")
        page.wait("document.getElementById('place').textContent.startsWith('bar 5')")  # the part begins there
        page.press("w")
        page.wait("document.getElementById('sound').duration > 5")
        assert page.js("return document.getElementById('sound').paused")
        page.press("\ue014")  # right
        page.wait("document.getElementById('count').textContent == '2 of 3'")
        assert page.text("title") == HOSTILE
        page.press("\ue014\ue014\ue014")
        assert page.text("count") == "3 of 3"
        assert not page.js("return document.getElementById('draft').hidden")
        page.press("\ue012")
        assert page.text("count") == "2 of 3"
        assert page.complaints() == []
        assert all(url.startswith(("file:", "data:")) for url in page.requests())


def test_a_click_on_a_section_goes_there(room):
    with browser(room / "listen.html") as page:
        begun(page)
        page.press("w")
        page.wait("document.getElementById('sound').duration > 5")
        page.driver.find_elements("css selector", "#sections button")[1].click()
        page.wait("document.getElementById('sound').currentTime == 4")
        assert page.text("place").split("\u2003")[0].startswith("bar 5 of 6")
        page.press("w")  # its part has that section alone
        page.wait("document.getElementById('sound').duration < 5")
        page.driver.find_elements("css selector", "#sections button")[0].click()
        page.wait("document.getElementById('sound').duration > 5")


def test_an_order_by_number_can_be_had_again(room):
    with browser(room / "listen.html") as page:
        begun(page)
        orders = []
        for number in ("3", "4", "5", "6", "3"):
            page.js("document.getElementById('order').value = arguments[0]", number)
            page.js("document.getElementById('reorder').click()")
            titles = []
            for _ in range(3):
                titles.append(page.text("title"))
                page.js("document.getElementById('after').click()")
            orders.append(tuple(titles))
        assert orders[0] == orders[-1]
        assert len(set(orders)) > 1
        assert all(len(set(each)) == 3 for each in orders)


def test_comments_are_kept_saved_and_read_back(room):
    with browser(room / "teacher.html") as page:
        assert HOSTILE in page.js("return document.querySelector('table').textContent")
        begun(page)
        page.press("c")
        page.js(
            "const mark = document.querySelector('#marks input'); mark.value = 'here <b>it</b> opens';"
            "mark.dispatchEvent(new Event('input'))"
        )
        page.js(
            "const choice = document.querySelector('#rubric select'); choice.value = 'changes';"
            "choice.dispatchEvent(new Event('change'))"
        )
        page.js(
            "const said = document.getElementById('remark'); said.value = 'Calm.';"
            "said.dispatchEvent(new Event('input'))"
        )
        page.js(
            "window.saved = null; const make = URL.createObjectURL;"
            "URL.createObjectURL = (blob) => {"
            "  blob.text().then((text) => { window.saved = text; }); return make(blob); };"
            "document.getElementById('save').click()"
        )
        saved = json.loads(page.wait("window.saved"))
        assert saved["mixer comments"] == 1
        assert saved["songs"]["song 1"] == {
            "title": "Song 1",
            "by": "Table 1",
            "marks": [{"bar": 5, "section": "end", "words": "here <b>it</b> opens"}],
            "heard": "",
            "remark": "Calm.",
            "rubric": {"Energy": "changes"},
        }
        page.driver.get(page.url)  # the browser has kept them
        begun(page)
        assert page.js("return document.querySelector('#marks input').value") == "here <b>it</b> opens"
        other = {**saved, "songs": {"song 1": {**saved["songs"]["song 1"], "remark": "Bright.", "marks": "spoilt"}}}
        (room / "other.json").write_text(json.dumps(other), encoding="utf-8")
        page.driver.find_element("id", "open").send_keys(str(room / "other.json"))
        page.wait("document.getElementById('remark').value.includes('Bright.')")
        assert page.js("return document.getElementById('remark').value") == "Calm.\nBright."
        page.js("window.confirm = () => true; document.getElementById('erase').click()")
        assert page.js("return localStorage.length") == 0
        assert page.js("return document.getElementById('remark').value") == ""
        assert page.complaints() == []


def test_comments_are_kept_in_a_file_while_they_are_typed(room):
    """The asking and the file are stood in for, as nobody sits at this browser; all else is the page's own."""
    with browser(room / "teacher.html") as page:
        begun(page)
        assert page.js("return window.isSecureContext && !document.getElementById('keep-in-file').hidden")
        page.js(
            "window.text = ''; window.showSaveFilePicker = async (asked) => ({ name: asked.suggestedName,"
            " createWritable: async () => { let all = ''; return {"
            " write: async (part) => { all += part; }, close: async () => { window.text = all; } }; } });"
        )
        page.driver.find_element("id", "keep-in-file").click()
        page.wait("window.text.includes('mixer comments')")
        page.driver.find_element("id", "heard").send_keys("Energy: it opens")
        page.wait("window.text.includes('it opens')")
        page.wait("document.getElementById('kept').textContent.startsWith('Kept in comments.json')")
        assert json.loads(page.js("return window.text"))["songs"]["song 1"]["heard"] == "Energy: it opens"
        leaving = "const event = new Event('beforeunload', { cancelable: true }); window.dispatchEvent(event);"
        assert not page.js(f"{leaving} return event.defaultPrevented")  # all is in the file
        page.js("window.showSaveFilePicker = null")
        page.js("Object.defineProperty(window, 'localStorage', { get() { throw new Error('no'); } })")
        page.js("window.confirm = () => true; document.getElementById('erase').click()")
        page.driver.find_element("id", "heard").send_keys("Mood: warm")
        page.wait("document.getElementById('kept').textContent.startsWith('This browser keeps nothing')")
        assert page.js(f"{leaving} return event.defaultPrevented")
        assert page.complaints() == []


def test_a_file_that_cannot_be_written_any_more_is_told(room):
    with browser(room / "teacher.html") as page:
        begun(page)
        page.js(
            "window.showSaveFilePicker = async () => ({ name: 'c.json',"
            " createWritable: async () => { throw new Error('the stick is gone'); } });"
            "document.getElementById('keep-in-file').click()"
        )
        page.wait("document.getElementById('kept').textContent.startsWith('c.json cannot be written')")
        page.driver.find_element("id", "heard").send_keys("x")
        page.wait("document.getElementById('kept').textContent.startsWith('Kept in this browser')")


def titles(page):
    return page.js("return [...document.querySelectorAll('#order-list .song')].map((each) => each.textContent)")


def test_an_order_by_hand_needs_no_mouse_and_is_kept_for_both_pages(room):
    with browser(room / "teacher.html") as page:
        begun(page)
        page.js("document.querySelector('.order-by-hand').open = true")
        first = titles(page)
        page.js("document.querySelectorAll('#order-list .song')[0].focus()")
        page.chord("\ue00a", "\ue015\ue015")  # Alt and twice down
        assert titles(page) == [first[1], first[2], first[0], first[3]]
        assert page.text("count") == "3 of 4"  # the song that is shown stays
        assert page.text("order-said") == "Song 1 is number 3 of 4 now."
        assert page.js("return document.activeElement.textContent") == first[0]
        page.js("document.querySelectorAll('#order-list li')[1].querySelector('[aria-label^=Earlier]').focus()")
        page.press("\ue007")
        assert titles(page) == [first[2], first[1], first[0], first[3]]
        page.js(
            "const [from, to] = [3, 0].map((at) => document.querySelectorAll('#order-list li')[at]);"
            "const dataTransfer = new DataTransfer();"
            "from.dispatchEvent(new DragEvent('dragstart', { dataTransfer, bubbles: true }));"
            "to.dispatchEvent(new DragEvent('drop', { dataTransfer, bubbles: true, cancelable: true }));"
        )
        assert titles(page) == [first[3], first[2], first[1], first[0]]
        page.js(
            "const make = URL.createObjectURL; URL.createObjectURL = (blob) => {"
            "  blob.text().then((text) => { window.saved = text; }); return make(blob); };"
            "document.getElementById('order-save').click()"
        )
        assert page.wait("window.saved") == "song 4\nsong 3\nsong 2\nsong 1\n"
        assert page.barriers() == []
        page.driver.get((room / "listen.html").as_uri())
        begun(page)
        assert page.text("title") == "Song 3"
        page.js("document.querySelector('.order-by-hand').open = true; document.getElementById('as-given').click()")
        assert titles(page) == first[:3]
        assert page.js("return localStorage.length") == 0
        assert page.complaints() == []


def test_with_numbers_the_class_sees_nobody_named(tmp_path):
    songs = [song(number, by=f"Ilse{number}", title=f"Tide of Ilse{number}") for number in (1, 2)]
    songs = [replace(each, shown={**each.shown, "about": "for Ilse1"}) for each in songs]
    write_pages(songs, tmp_path, {}, RUBRIC, numbers=True)
    assert "Ilse" not in (tmp_path / SHEET).read_text(encoding="utf-8")
    with browser(tmp_path / "listen.html") as page:
        begun(page)
        page.js("document.querySelector('.order-by-hand').open = true")
        assert page.text("title") == "Song 1"
        assert titles(page) == ["Song 1", "Song 2"]
        assert "Ilse" not in page.js("return document.body.innerText")
        assert page.js("return document.querySelector('.maker').clientHeight") == 0
    assert "Ilse1" in (tmp_path / "teacher.html").read_text(encoding="utf-8")


@pytest.mark.parametrize(("width", "height"), [(1920, 1080), (1024, 768)])
def test_it_can_be_read_from_the_last_row(tmp_path, width, height):
    """Capitals are at least a fiftieth of the picture's height: 3 cm on a picture 1.5 m high, for eyes 8 m away.

    A letter for each 250 to 300 of its heights of distance is common practice for signs, no source.
    """
    songs = [song(1), song(2)]
    chart = wall_chart(tmp_path, RECIPE)
    for each in songs:
        each.shown["svg"] = chart
    write_pages(songs, tmp_path, {}, RUBRIC)
    with browser(tmp_path / "listen.html", width, height) as page:
        begun(page)
        sizes = page.js(
            "return ['#title', '#maker', '#place', '#count', '#sections button', '#play'].map((each) => ["
            " each, parseFloat(getComputedStyle(document.querySelector(each)).fontSize) / innerHeight])"
        )
        capitals = 0.69  # of the size of the letters, in Georgia and the fonts that stand in for it
        assert {name: round(size * capitals, 4) for name, size in sizes if size * capitals < 1 / 50} == {}
        letters = page.js(
            "return [...document.querySelectorAll('#chart text')].filter((each) => /^(drums|bass|piano|verse)$/"
            ".test(each.textContent)).slice(0, 4).map((each) => each.getBoundingClientRect().height / innerHeight)"
        )  # of the line, of which a capital is about six tenths; the legend below is smaller
        assert len(letters) == 4
        assert min(letters) * 0.6 > 1 / 55
        assert page.js("return document.documentElement.scrollWidth <= innerWidth")


@pytest.mark.parametrize("name", ["listen.html", "teacher.html"])
def test_on_a_narrow_screen_nothing_stands_outside_and_short_names_stay_whole(tmp_path, name):
    write_pages([song(1, title="Regentropfen", by="Maximiliane"), song(2, title="long " * 20)], tmp_path, {}, RUBRIC)
    with browser(tmp_path / name) as page:
        page.narrow()
        assert page.js("return document.documentElement.scrollWidth <= innerWidth")
        lines = (
            "const all = document.createRange(); all.selectNodeContents(arguments[0]);"
            "return all.getClientRects().length"
        )
        cells = page.driver.find_elements("css selector", "tbody tr:first-child td:nth-child(-n+2)")
        assert [page.js(lines, cell) for cell in cells] == [1] * len(cells)
        begun(page)
        assert page.js("return document.documentElement.scrollWidth <= innerWidth")
        assert page.js(lines, page.driver.find_element("id", "title")) == 1


def test_no_key_is_named_that_does_nothing(room, tmp_path):
    assert "the whole song, or only its part" in (room / "listen.html").read_text("utf-8")
    write_pages([song(1)], tmp_path / "whole", {}, RUBRIC)
    for name in ("listen.html", "teacher.html"):
        assert "only its part" not in (tmp_path / "whole" / name).read_text("utf-8")


def test_a_long_title_leaves_room_for_the_count(tmp_path):
    write_pages([song(1, title="m" * 200)], tmp_path, {}, RUBRIC)
    with browser(tmp_path / "listen.html") as page:
        begun(page)
        gap = page.js(
            "const all = document.createRange(); all.selectNodeContents(document.getElementById('title'));"
            "const count = document.createRange(); count.selectNodeContents(document.getElementById('count'));"
            "return count.getBoundingClientRect().left - all.getClientRects()[0].right"
        )
        assert gap > 10


@pytest.mark.parametrize("name", ["listen.html", "teacher.html"])
def test_axe_finds_nothing(room, name):
    with browser(room / name) as page:
        assert page.barriers() == []
        begun(page)
        if name == "teacher.html":
            page.press("c")
        assert page.barriers() == []


def test_two_hundred_songs(tmp_path):
    songs = [song(number) for number in range(1, 201)]
    write_level_check(tmp_path / LEVEL_CHECK)
    hum = 0.05 * np.sin(np.arange(6 * 8000) / 5)
    for each in songs:
        soundfile.write(tmp_path / each.file, hum, 8000)
    write_pages(songs, tmp_path, {}, RUBRIC)
    with browser(tmp_path / "teacher.html", 1920, 1080) as page:
        begun(page)
        for _ in range(199):
            page.press("\ue014")
        assert page.text("count") == "200 of 200"
        assert page.text("title") == "Song 200"
        page.press(" ")
        page.wait("document.getElementById('sound').currentTime > 0")
        assert page.js("return document.querySelectorAll('tbody tr').length") == 200
        assert page.complaints() == []


def test_words_of_strangers_are_never_markup(room):
    for name in ("listen.html", "teacher.html"):
        text = (room / name).read_text(encoding="utf-8")
        assert "<script>alert" not in text
        assert "<img" not in text
        assert len(re.findall(r"<script", text)) == 2


def test_the_projector_page_says_nothing_of_mistakes(room):
    text = (room / "listen.html").read_text(encoding="utf-8")
    assert "no tempo" not in text
    assert "Broken" not in text
