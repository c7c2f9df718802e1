"""A song's own page in a real browser: it plays, its chart can be clicked, it asks nothing of any network."""

from __future__ import annotations

import pytest

from mixer.cli.song_page import write_page
from mixer.song.opened import open_recipe
from tests.browser import browser
from tests.cli.program import mixer
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


def test_keys_alone_are_enough(page):
    """Left and right go by a bar, with shift by a section; at 120 beats a minute a bar of four beats takes 2 s."""
    with browser(page) as seen:
        seen.wait("document.getElementById('sound').duration > 7")
        left, right = "\ue012", "\ue014"
        steps = [(right, 2), (right, 4), (right, 6), (right, 6), (left, 4)]
        for key, seconds in [*steps, ("shift" + left, 0), ("shift" + right, 4), ("shift" + right, 4)]:
            _press(seen, key)
            at = seen.js("return document.getElementById('sound').currentTime")
            assert at == pytest.approx(seconds, abs=0.01), (key, at)
        seen.press("\ue004")  # tab
        assert seen.js("return document.activeElement !== document.body")
        assert seen.js("return document.getElementById('sound').paused")


def _press(seen, key):
    from selenium.webdriver.common.action_chains import ActionChains

    chain = ActionChains(seen.driver)
    if key.startswith("shift"):
        chain.key_down("\ue008").send_keys(key.removeprefix("shift")).key_up("\ue008").perform()
    else:
        chain.send_keys(key).perform()


# Listens to what goes out, on both sides, before the page's own scripts run.
TAP = """
const connect = AudioNode.prototype.connect;
AudioNode.prototype.connect = function (to, ...more) {
  if (to instanceof AudioDestinationNode) {
    const both = new GainNode(this.context, {channelCount: 2, channelCountMode: 'explicit'});
    const apart = new ChannelSplitterNode(this.context, {numberOfOutputs: 2});
    window.ears = [0, 1].map(() => new AnalyserNode(this.context, {fftSize: 32768}));
    connect.call(this, both); connect.call(both, apart);
    window.ears.forEach((ear, side) => connect.call(apart, ear, side));
  }
  return connect.call(this, to, ...more);
};
"""
HEARD = """
return window.ears.map((ear) => {
  const sound = new Float32Array(ear.fftSize); ear.getFloatTimeDomainData(sound);
  return Math.hypot(...sound);
});
"""


def test_mono_is_the_same_in_both_ears(tmp_path):
    """Mono is half the sum of both sides (W3C, Web Audio API, "up-mixing and down-mixing"): one side alone halves."""
    loop_folder(tmp_path / "loops", Made("hum", kind="tone", role="bass", tempo_bpm="120"))
    song = "tempo: 120\nlayers:\n  hum:\n    loop: hum\n    pan: left 100\nsections:\n  - one, 4 bars: hum\n"
    (tmp_path / "song.yaml").write_text(song, encoding="utf-8")
    assert write_page(open_recipe(tmp_path / "song.yaml"), tmp_path / "song.html") is not None
    with browser(tmp_path / "song.html") as seen:
        seen.driver.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": TAP})
        seen.driver.refresh()
        seen.wait("document.getElementById('sound').duration > 7")
        heard = []
        for _ in range(2):  # mono, then both sides again
            seen.driver.find_element("id", "mono").click()
            seen.js("document.getElementById('sound').currentTime = 0; document.getElementById('sound').play()")
            seen.wait("document.getElementById('sound').currentTime > 1.2")
            heard.append(seen.js(HEARD))
        # The two ears are read one after the other, while the sound goes on.
        (mono_left, mono_right), (left, right) = heard
        assert left > 1
        assert right < 0.01 * left
        assert mono_left == pytest.approx(mono_right, rel=0.002)
        assert mono_left == pytest.approx(left / 2, rel=0.02)
        assert seen.complaints() == []


def test_axe_finds_nothing(tmp_path):
    """With the real chart inside."""
    loop_folder(tmp_path / "loops", Made("ticks", tempo_bpm="120"))
    (tmp_path / "song.yaml").write_text(
        "tempo: 120\nlayers:\n  box: ticks\nsections:\n  - one, 4 bars: box\n  - two, 4 bars: box\n", encoding="utf-8"
    )
    done = mixer("chart", "song.yaml", "--out", "song.html", cwd=tmp_path)
    assert done.returncode == 0
    with browser(tmp_path / "song.html") as seen:
        assert seen.barriers() == []
        assert seen.complaints() == []
