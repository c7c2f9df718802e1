"""A song's own page in a real browser: it plays, its chart can be clicked, it asks nothing of any network."""

from __future__ import annotations

import pytest

from mixer.cli.song_page import write_page
from mixer.song.opened import open_recipe
from tests.browser import browser
from tests.sounds import Made, loop_folder

HOSTILE = "<script>alert(1)</script> \u202e \U0001f6a2 & <b>"
SONG = (
    f"title: Low Tide {HOSTILE}\nby: Table 4\nabout: calm\ntempo: 120\nlayers:\n  box: ticks\n  hum <b>: hum\n"
    "sections:\n  - start, 2 bars: box\n  - end <b>, 2 bars: everything\n"
)
SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 10">'
    + "".join(f'<rect data-bar="{bar}" x="{10 * bar - 10}" y="0" width="10" height="10"/>' for bar in (1, 2, 3, 4))
    + "</svg>"
)


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    room = tmp_path_factory.mktemp("page")
    loop_folder(room / "loops", Made("ticks", tempo_bpm="120"), Made("hum", kind="tone", role="bass", tempo_bpm="120"))
    (room / "song.yaml").write_text(SONG, encoding="utf-8")
    made = write_page(open_recipe(room / "song.yaml"), room / "song.html", lambda _plan, _seen: SVG, mood=True)
    assert made is not None
    assert {path.name for path in room.iterdir()} == {"loops", "song.yaml", "song.html"}
    return room / "song.html"


def test_it_plays_and_shows_where_it_is(page):
    with browser(page) as seen:
        assert seen.text("title").startswith("Low Tide <script>alert(1)</script>")
        assert seen.js("return document.getElementById('sound').paused")
        seen.wait("document.getElementById('sound').duration > 7")
        seen.press(" ")
        seen.wait("document.getElementById('sound').currentTime > 0.2")
        assert seen.text("place").startswith("bar 1 of 4")
        assert seen.js("return [...document.querySelectorAll('.now')].map(each => each.dataset.bar)") == ["1"]
        seen.js("document.querySelector('[data-bar=\"3\"]').dispatchEvent(new MouseEvent('click', {bubbles: true}))")
        seen.wait("document.getElementById('place').textContent.startsWith('bar 3')")
        assert seen.js("return [...document.querySelectorAll('.now')].map(each => each.dataset.bar)") == ["3"]
        seen.driver.find_elements("css selector", "#sections button")[0].click()
        seen.wait("document.getElementById('place').textContent.startsWith('bar 1')")
        seen.driver.find_element("id", "mono").click()
        assert seen.js("return document.getElementById('mono').getAttribute('aria-pressed')") == "true"
        seen.wait("document.getElementById('sound').currentTime > 0.1")
        assert seen.complaints() == []
        assert all(url.startswith(("file:", "data:", "blob:")) for url in seen.requests())


def test_what_is_told_stands_there_and_as_a_table(page):
    with browser(page) as seen:
        text = seen.js("return document.body.textContent")
        for head in ("What the sections do", "Questions", "Credits", "75 dBA", "calm", "Loop ticks"):
            assert head in text
        rows = seen.js("return [...document.querySelectorAll('tbody tr')].map(each => each.textContent)")
        assert len(rows) == 2
        assert "end <b>" in rows[1]
        assert seen.js("return document.querySelectorAll('main script, main b').length") == 0
