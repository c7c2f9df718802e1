"""Both versions on one page, in a real browser: in step, equally loud, changed between at the same section and bar."""

from __future__ import annotations

import base64
import io
import json
import re

import numpy as np
import pyloudnorm
import pytest
import soundfile

from tests.browser import browser
from tests.classroom.test_paper import pages_of
from tests.cli.program import mixer
from tests.sounds import Made, loop_folder

# At 120 beats a minute a bar of four beats takes 2 s, at 96 it takes 2.5 s.
OLD = """title: Low Tide <b>
tempo: 120
layers:
  hum: low
  box: ticks
sections:
  - start, 2 bars: hum
  - bridge, 2 bars: box
    meant: </script><script>alert(1)</script>
  - end, 2 bars: hum, box
"""
NEW = """title: Low Tide <b>
tempo: 96
layers:
  hum: high
  box: ticks
sections:
  - start, 4 bars: hum
  - end, 2 bars: hum, box 2
"""
UP, DOWN, LEFT, RIGHT = "\ue013", "\ue015", "\ue012", "\ue014"
AT = "return [mixerVersions.heard(), mixerVersions.position(), mixerVersions.playing()]"
# Listens to what goes out before the page's own script runs.
TAP = """
const connect = AudioNode.prototype.connect;
AudioNode.prototype.connect = function (to, ...more) {
  if (to instanceof AudioDestinationNode) {
    window.ear = new AnalyserNode(this.context, {fftSize: 8192});
    connect.call(this, window.ear);
  }
  return connect.call(this, to, ...more);
};
"""
HEARD = """
const sound = new Float32Array(window.ear.fftSize); window.ear.getFloatTimeDomainData(sound); return [...sound];
"""


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    room = tmp_path_factory.mktemp("two")
    tones = [
        Made(name, "tone", role="bass", tempo_bpm="120", pitch_hz=hz) for name, hz in (("low", 220), ("high", 880))
    ]
    loop_folder(room / "loops", *tones, Made("ticks", tempo_bpm="120"))
    (room / "old.yaml").write_text(OLD, encoding="utf-8")
    (room / "new.yaml").write_text(NEW, encoding="utf-8")
    done = mixer("compare", "old.yaml", "new.yaml", "--page", "two.html", cwd=room)
    assert done.returncode == 0, done.stderr
    assert "two.html" in done.stdout
    return room / "two.html"


def _pitch_hz(sound):
    found = np.abs(np.fft.rfft(np.asarray(sound) * np.hanning(len(sound))))
    return found.argmax() * 44_100 / len(sound)


def test_it_goes_from_one_to_the_other_at_the_same_section_and_bar(page):
    with browser(page) as seen:
        assert seen.js(AT) == [0, 0, False]
        seen.press(RIGHT)
        seen.press(DOWN)  # bar 2 of the start
        assert seen.js(AT) == [1, pytest.approx(2.5), False]
        assert seen.text("place") == "new version: start, bar 2 of 4 (bar 2 of 6)"
        seen.press(RIGHT + RIGHT)  # bar 4 of the start, of which the old version has two
        seen.press(UP)
        assert seen.js(AT)[:2] == [0, pytest.approx(2.0)]
        assert "There this section ends earlier; you hear start, bar 2." in seen.text("said")
        seen.press(RIGHT)  # the bridge, which the new version has not
        assert seen.text("place").startswith("old version: bridge, bar 1 of 2")
        seen.driver.find_element("id", "switch").click()
        assert seen.text("said") == (
            "Now the new version. It has no section like bridge; the nearest place is start, bar 2."
        )
        assert seen.js("return document.querySelector('#new').getAttribute('aria-current')") == "true"
        marked = "return [...document.querySelectorAll(arguments[0])].map((each) => each.dataset.bar)"
        assert (seen.js(marked, "#new .now"), seen.js(marked, "#old .there")) == (["2"], ["2"])
        seen.js("document.querySelector('#old [data-bar=\"5\"]').dispatchEvent(new MouseEvent('click'))")
        assert seen.js(AT) == [0, pytest.approx(8.0), False]
        seen.press(DOWN)
        assert seen.js(AT) == [1, pytest.approx(10.0), False]
        assert seen.barriers() == []
        assert seen.complaints() == []
        assert all(url.startswith(("file:", "data:")) for url in seen.requests())
        assert "<b>" in seen.js("return document.querySelector('#old p').textContent")
        assert seen.js("return document.querySelectorAll('main script, main b').length") == 0


def test_what_changed_stands_on_paper_and_both_heads_are_black_there(page, tmp_path):
    with browser(page) as seen:
        told = seen.js("return [...document.querySelectorAll('.changes li')].map((each) => each.textContent)")
        text = " ".join("".join(pages_of(seen, tmp_path / "x.pdf")).split())
        seen.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
        heads = "return [...document.querySelectorAll('.version h2')].map((each) => getComputedStyle(each).color)"
        assert seen.js(heads) == ["rgb(0, 0, 0)"] * 2
    assert len(told) > 1
    assert [each for each in told if each not in text] == []


def test_what_is_heard_changes_in_step_and_a_change_plays_from_a_bar_before(page):
    with browser(page) as seen:
        seen.driver.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": TAP})
        seen.driver.refresh()
        assert seen.js("return window.ear === undefined && !mixerVersions.playing()")
        seen.press(" ")
        seen.wait("mixerVersions.position() > 0.4")
        low = seen.js(HEARD)
        before = seen.js(
            "const was = mixerVersions.position(); document.getElementById('switch').click(); "
            "return [was, mixerVersions.position(), mixerVersions.playing()]"
        )
        assert before[2] is True
        assert before[1] == pytest.approx(before[0] * 120 / 96, abs=0.05)  # as far in the bar
        seen.wait("mixerVersions.position() > 1.2")
        high = seen.js(HEARD)
        assert _pitch_hz(low) == pytest.approx(220, abs=12)
        assert _pitch_hz(high) == pytest.approx(880, abs=12)
        seen.press(" ")
        assert seen.js(AT)[2] is False
        changes = seen.driver.find_elements("css selector", ".changes button")
        said = [each.text for each in changes]
        assert len(said) == len(set(said)) >= 4
        (box,) = [each for each in changes if each.text.startswith("end (from bar 5)")]
        seen.js("mixerSeen = null; arguments[0].click(); mixerSeen = mixerVersions.position()", box)
        assert seen.js("return mixerSeen") == pytest.approx(7.5)  # bar 4 of the new version
        seen.wait("mixerVersions.playing()")
        (bridge,) = [each for each in changes if each.text.startswith("bridge")]
        bridge.click()  # only the old version has it
        assert seen.js(AT)[0] == 0
        assert seen.text("said").startswith("Now the old version, start, bar 2")
        assert seen.complaints() == []


def test_both_are_equally_loud_by_a_meter_that_is_not_ours(page):
    (content,) = re.findall(r'id="data">(.*?)</script>', page.read_text(encoding="utf-8"), re.DOTALL)
    loudness = []
    for side in json.loads(content)["sides"]:
        sound, rate = soundfile.read(io.BytesIO(base64.b64decode(side["sound"])))
        loudness.append(pyloudnorm.Meter(rate).integrated_loudness(sound * side["gain"]))
    assert loudness[0] == pytest.approx(loudness[1], abs=0.2)


def test_what_a_person_made_is_not_written_over(page):
    room = page.parent
    (room / "mine.html").write_text("<p>my own page</p>", encoding="utf-8")
    done = mixer("compare", "old.yaml", "new.yaml", "--page", "mine.html", cwd=room)
    assert done.returncode == 2
    assert "is there already" in done.stderr
    assert (room / "mine.html").read_text(encoding="utf-8") == "<p>my own page</p>"
    done = mixer("compare", "old.yaml", "old.yaml", "--page", "new.yaml", cwd=room)
    assert done.returncode == 2
    assert (room / "new.yaml").read_text(encoding="utf-8") == NEW


def test_two_that_are_the_same_make_a_page_too_and_ours_is_written_anew(page):
    done = mixer("compare", "new.yaml", "new.yaml", "--page", "two.html", cwd=page.parent)
    assert done.returncode == 0, done.stderr
    assert "Nothing has changed" in page.read_text(encoding="utf-8")
