"""What is told of a recipe, on a page: as a terminal shows it, however narrow the screen."""

from __future__ import annotations

import html

from mixer.pages.document import as_told, asset, document
from tests.browser import browser

HOSTILE = "  7 | </span></pre><script>alert(1)</script>\n      ^^^"
TOLD = f"""song.yaml, line 13: there is no layer called "drumms" in this song, told in a line longer than a phone.

   13 |   - the second verse, 8 bars: piano, guitar, voice, drumms, bass 5-8
                                                            ^^^^^^
Write it like this:
   13 |   - the second verse, 8 bars: piano, guitar, voice, drums, bass 5-8
      |     meant: calm

{HOSTILE}"""


def test_not_a_sign_is_lost_and_none_is_markup():
    text = as_told(TOLD).partition(">")[2].removesuffix("</pre>").replace("<span>", "").replace("</span>", "")
    assert html.unescape(text) == f"{TOLD}\n"
    assert "<script>" not in text


def test_a_mark_stands_below_its_word_on_a_narrow_screen(tmp_path):
    (tmp_path / "x.html").write_text(
        document("x", f"<main><h1>x</h1>{as_told(TOLD)}</main>", asset("listen.css"), "", {}), "utf-8"
    )
    with browser(tmp_path / "x.html") as page:
        page.narrow()
        at = """
            const lines = [...document.querySelectorAll('.told span')][0].firstChild, range = document.createRange();
            const place = (text) => { const at = lines.data.indexOf(text); range.setStart(lines, at);
              range.setEnd(lines, at + text.length); return range.getBoundingClientRect(); };
            const word = place('drumms'), mark = place('^^^^^^');
            return [word.left - mark.left, mark.top - word.bottom];
        """
        across, down = page.js(at)
        assert abs(across) < 1
        assert abs(down) < 8  # in the next line
        assert page.js("return document.documentElement.scrollWidth <= innerWidth")
        first = "const range = document.createRange(); range.selectNode(document.querySelector('.told').firstChild);"
        assert page.js(f"{first} return range.getBoundingClientRect().right <= innerWidth")  # words are all in sight
        assert page.barriers() == []
