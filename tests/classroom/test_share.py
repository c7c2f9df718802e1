"""What goes home: only what may, and with numbers no name of the class in any byte."""

from __future__ import annotations

import io
import json
import subprocess

import pytest
import soundfile
from PIL import Image

from mixer.classroom.share import _people, nameless
from mixer.classroom.tasks import Done
from mixer.pages.chart import Beat, Chart, ChartLayer, ChartSection
from mixer.pages.drawing import Text
from mixer.pages.engrave import engrave
from tests.cli.program import mixer
from tests.sounds import Made, loop_folder
from tests.tools import needs_tool

PEOPLE = ("Ottilie", "Jarek", "Wilhelmina")
SONG = (
    "title: {by}s Lullaby\nby: {by}\nabout: for {by}\nmay be heard: {heard}\n# {by} wrote this\ntempo: 96\n"
    "layers:\n  {by}s box: {loop}\nsections:\n  - {by} verse, 4 bars: everything\n"
)


@pytest.fixture
def room(tmp_path):
    loop_folder(tmp_path / "loops", Made("ticks"), Made("mine", kind="noise"))
    cards = (tmp_path / "loops" / "loops.yaml").read_text(encoding="utf-8").split("mine:")
    cards[0] += "  licence: CC0-1.0\n  maker: Jarek\n"
    (tmp_path / "loops" / "loops.yaml").write_text("mine:".join(cards), encoding="utf-8")
    for by, heard, loop in zip(PEOPLE, ("home", "home", "school"), ("ticks", "mine", "ticks"), strict=True):
        (tmp_path / "in" / by).mkdir(parents=True)
        text = SONG.format(by=by, heard=heard, loop=loop)
        (tmp_path / "in" / by / f"{by}.yaml").write_text(text, encoding="utf-8")
    return tmp_path


def run(room, *more):
    return mixer("batch", "in", "--out", "out", "--loops", "loops", "--share", "home", *more, cwd=room)


def test_only_what_may_leaves_and_the_rest_is_told_why(room):
    done = run(room)
    assert done.returncode == 0, done.stderr
    assert [path.name for path in (room / "home").iterdir()] == ["Ottilies Lullaby.mp3"]
    assert "whether mine may be taken home is not known: ask your school" in done.stderr
    assert "to be heard by the school only" in done.stderr
    assert "allowed" not in done.stderr
    assert soundfile.info(room / "home" / "Ottilies Lullaby.mp3").format == "MP3"


def forms(name):
    for text in (name, name.lower(), name.upper()):
        yield from (text.encode(coding) for coding in ("utf-8", "utf-16-le", "utf-16-be"))


def test_the_chart_is_the_cover_and_the_credits_are_the_text(room):
    """Read by ffprobe and Pillow."""
    run(room)
    song = room / "home" / "Ottilies Lullaby.mp3"
    asked = [
        needs_tool("ffprobe"),
        "-v",
        "error",
        "-show_entries",
        "format_tags:stream=codec_name",
        "-of",
        "json",
        song,
    ]
    told = json.loads(subprocess.run(asked, capture_output=True, check=True).stdout)
    assert [stream["codec_name"] for stream in told["streams"]] == ["mp3", "png"]
    assert "ticks" in told["format"]["tags"]["comment"]
    content = song.read_bytes()
    picture = Image.open(io.BytesIO(content[content.index(b"\x89PNG") :]))
    picture.load()
    assert picture.convert("L").getextrema() == (0, 255)  # something is drawn


def test_on_a_cover_with_numbers_nobody_is_named():
    """Letters in a picture are no bytes to search, so it is the drawing that is looked through, before it is one."""
    sections = (
        ChartSection("A", "Ottilie's verse", 1, 4, meant="for Jarek"),
        ChartSection("B", "wilhelminas", 5, 4),
        ChartSection("C", "chorus", 9, 4),
    )
    layers = (ChartLayer("JAREKS box", "drums", ((1, 12),)), ChartLayer("low", "bass", ((1, 12),)))
    chart = Chart("Ottilies", "Ottilie", "96", "", "4/4", Beat(), 4, 2.5, "0:30", sections, layers)
    people = _people([Done(name, "song", by=name) for name in PEOPLE])

    def letters(chart):
        found = (item for sheet in engrave(chart) for item in sheet.items if isinstance(item, Text))
        return " ".join(f"{item.text} {item.full}" for item in found).lower()

    assert all(name.lower() in letters(chart) for name in PEOPLE)
    without = letters(nameless(chart, "07", people))
    assert not any(name.lower() in without for name in PEOPLE)
    assert all(word in without for word in ("07", "chorus", "low"))
    assert nameless(chart, "07", people).layers[0].name == "drums"


def test_names_of_folders_are_names_and_common_words_are_none():
    people = _people([Done("Ottilie - song", "song"), Done("week 3 - Table 4 - x", "song", by="Table 4")])
    assert "ottilie" in people
    assert not people & {"table", "song", "week", "4"}


def test_with_numbers_no_byte_names_anyone(room):
    run(room, "--numbers", "--shuffle", "3")
    files = sorted((room / "home").iterdir())
    assert len(files) == 1
    assert files[0].stem.isdigit()
    content = files[0].read_bytes()
    for name in PEOPLE:
        assert not any(form in content for form in forms(name))
    # The check can see: the same song with its names holds them.
    run(room)
    assert any(form in (room / "home" / "Ottilies Lullaby.mp3").read_bytes() for form in forms("Ottilie"))
    assert json.loads(run(room, "--json").stdout)[0]["state"] == "song"
