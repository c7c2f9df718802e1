"""The chart as PDF and PNG, judged by poppler and Pillow."""

from __future__ import annotations

import re
import subprocess
import sys
from dataclasses import replace
from io import BytesIO

import numpy as np
import pytest

from mixer.pages import png
from mixer.pages.engrave import MARGIN, engrave
from mixer.pages.pdf import as_pdf, missing
from mixer.pages.png import NoPillowError, as_png
from tests.pages.charts import ferry, hostile, jig
from tests.tools import needs_tool


@pytest.fixture
def pdf(tmp_path):
    place = tmp_path / "chart.pdf"
    place.write_bytes(as_pdf(engrave(ferry(), large=True), "Harbour Lights"))
    return place


def _poppler(tool, *arguments):
    done = subprocess.run([needs_tool(tool), *map(str, arguments)], capture_output=True, text=True, check=True)
    assert done.stderr == ""
    return done.stdout


def test_poppler_reads_the_pdf_without_a_complaint(pdf):
    shown = _poppler("pdfinfo", pdf)
    assert re.search(r"Title: +Harbour Lights", shown)
    assert re.search(r"Pages: +3", shown)
    assert "(A4)" in shown
    text = _poppler("pdftotext", "-layout", pdf, "-")
    for word in ("Harbour Lights", "big drums", "chorus", "“nobody is there yet”", "energy"):
        assert word in text


def test_pdf_and_png_show_the_same(tmp_path):
    """Poppler's picture of the PDF beside Pillow's, both so small that which fonts a machine has does not count."""
    image = pytest.importorskip("PIL.Image")
    pictures = {}
    for name, chart in (("ferry", ferry()), ("jig", jig())):
        place = tmp_path / f"{name}.pdf"
        place.write_bytes(as_pdf(engrave(chart), name))
        _poppler("pdftoppm", "-r", "150", "-gray", "-png", "-singlefile", place, tmp_path / name)
        with image.open(tmp_path / f"{name}.png") as shown, image.open(BytesIO(as_png(engrave(chart)))) as own:
            small = [each.convert("L").resize((124, 175), image.Resampling.BOX) for each in (shown, own)]
            pictures[name] = [np.asarray(each, float) for each in small]
    (ferry_pdf, ferry_png), (jig_pdf, jig_png) = pictures.values()
    assert _alike(ferry_pdf, ferry_png) > 0.9
    assert _alike(jig_pdf, jig_png) > 0.9
    assert _alike(ferry_pdf, jig_png) < 0.6


def _alike(one, other):
    return np.corrcoef(one.ravel(), other.ravel())[0, 1]


def test_right_edges_stand_where_they_should(pdf):
    """Poppler's own widths of Times: the maker's name ends at the right margin."""
    shown = _poppler("pdftotext", "-bbox", pdf, "-")
    width = float(re.search(r'page width="([\d.]+)"', shown)[1])
    table, number = re.findall(r'xMax="([\d.]+)" yMax="[\d.]+">(?:Table|2)</word>', shown)[:2]
    assert float(number) == pytest.approx(width - MARGIN, abs=0.3)
    assert float(table) < float(number)


def test_the_table_at_the_end_says_where_each_object_begins():
    content = as_pdf(engrave(ferry()), "x")
    table = int(content.rsplit(b"startxref\n", 1)[1].split()[0])
    assert content[table : table + 4] == b"xref"
    places = re.findall(rb"(\d{10}) 00000 n", content)
    for number, place in enumerate(places, start=1):
        assert content[int(place) :].startswith(b"%d 0 obj" % number)


def test_signs_that_a_pdf_cannot_show_are_known():
    assert missing(engrave(ferry())) == ""
    assert "ف" in missing(engrave(hostile()))
    assert as_pdf(engrave(hostile()), hostile().title).startswith(b"%PDF-1.4")


def test_a_png_is_the_sheet_at_150_dots_an_inch():
    image = pytest.importorskip("PIL.Image")
    with image.open(BytesIO(as_png(engrave(ferry())))) as picture:
        # A4 upright: 210 mm x 297 mm.
        assert picture.size == (round(210 / 25.4 * 150), round(297 / 25.4 * 150))
        assert picture.mode == "L"
        assert picture.getextrema() == (0, 255)
        share = sum(picture.histogram()[:128]) / (picture.width * picture.height)
    assert 0.02 < share < 0.2  # ink on paper


def test_signs_that_this_machine_cannot_draw_are_known():
    """Cuneiform and a letter of Linear B: no serif font for text holds them (common practice, no source)."""
    pytest.importorskip("PIL")
    assert png.missing(engrave(ferry())) == ""
    assert png.missing(engrave(replace(ferry(), title="Été \U00012000 \U00010000 e\u0301"))) == "\U00012000\U00010000"


def test_without_pillow_it_is_told(monkeypatch):
    monkeypatch.setitem(sys.modules, "PIL", None)
    with pytest.raises(NoPillowError):
        as_png(engrave(ferry()))
