"""What comes out of the printer, read back by poppler: whole, on as many sheets as meant, and no buttons on it."""

from __future__ import annotations

import re
import subprocess

import pytest

from mixer.classroom.feedback import TOGETHER, Sheet, write_sheets
from mixer.classroom.pages import SHEET, listening_sheet, write_pages
from mixer.classroom.rubric import Rubric
from tests.browser import browser
from tests.classroom.test_pages import HOSTILE, song
from tests.tools import needs_tool

LONGEST_TITLE = "The Night in Which the Ferry Did Not Come Back to Us at All " * 2


def pages_of(page, place):
    """The words on each sheet."""
    place.write_bytes(page.printed())
    done = subprocess.run([needs_tool("pdftotext"), "-layout", place, "-"], capture_output=True, check=True)
    return done.stdout.decode().split("\f")[:-1]


@pytest.mark.parametrize(("count", "sheets"), [(8, 1), (30, 1), (75, 3)])
def test_thirty_songs_fit_on_one_listening_sheet(tmp_path, count, sheets):
    songs = [(f"Ferry to Island {number}", f"Table {number}") for number in range(1, count + 1)]
    (tmp_path / SHEET).write_text(listening_sheet(songs), encoding="utf-8")
    with browser(tmp_path / SHEET) as page:
        assert page.barriers() == []
        printed = pages_of(page, tmp_path / "x.pdf")
        assert page.complaints() == []
    assert len(printed) == sheets
    found = re.findall(r"Island (\d+)", "".join(printed))
    assert found == [str(number) for number in range(1, count + 1)]
    for each in printed:
        assert all(head in each for head in ("Energy", "Mood", "Flow"))  # on every sheet, for whoever turns over


def test_nothing_of_a_long_title_is_cut_off(tmp_path):
    (tmp_path / SHEET).write_text(listening_sheet([(LONGEST_TITLE, "x" * 80), (HOSTILE, "")]), encoding="utf-8")
    with browser(tmp_path / SHEET) as page:
        text = " ".join("".join(pages_of(page, tmp_path / "x.pdf")).split())
        wide = "return [...document.querySelectorAll('th, td')].some((each) => each.scrollWidth > each.clientWidth + 1)"
        assert not page.js(wide)
    assert text.count("Ferry") == 2
    assert "<script>alert(1)" in text.replace(" ", "")


def test_all_feedback_is_printed_with_one_student_on_each_sheet(tmp_path):
    parts = (("What the class heard", ("It waits.", "Then it opens like a door.")), ("A question", (HOSTILE,)))
    sheets = [Sheet(f"s{number}", f"Song {number}", f"Table {number}", parts) for number in range(1, 31)]
    write_sheets(sheets, tmp_path)
    with browser(tmp_path / TOGETHER) as page:
        assert page.barriers() == []
        printed = pages_of(page, tmp_path / "x.pdf")
        assert page.complaints() == []
    assert len(printed) == 30
    for number, each in enumerate(printed, 1):
        assert f"Table {number}" in each
        assert each.count("Table") == 1
        assert "opens like a door" in each


def test_the_session_is_printed_without_its_buttons(tmp_path):
    write_pages([song(1)], tmp_path, {}, Rubric((("Energy", ("stays", "changes")),)))
    with browser(tmp_path / "teacher.html") as page:
        page.driver.find_element("id", "begin").click()
        page.js(
            "const said = document.getElementById('remark'); said.value = 'Calm and bold.';"
            "said.dispatchEvent(new Event('input'))"
        )
        text = "".join(pages_of(page, tmp_path / "x.pdf"))
    assert "Song 1" in text
    assert "Calm and bold." in text
    for control in ("Play", "Next song", "Save to a file", "Erase all", "Mark this bar", "Put in order", "Space"):
        assert control not in text
