"""What goes home: only what may, and with numbers no name of the class in any byte."""

from __future__ import annotations

import json

import pytest
import soundfile

from tests.cli.program import mixer
from tests.sounds import Made, loop_folder

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
