"""A folder's catalog: one card for each loop; a bad card does not spoil the others, and none leads outside."""

from __future__ import annotations

import pytest

from mixer.loops.catalog import read_catalog
from mixer.loops.library import demo_loops_folder, open_library
from mixer.words.problem import Problems
from tests.sounds import Made, loop_folder

GOOD = "good:\n  file: good.wav\n  tempo: 96\n  bars: 4\n  role: drums\n"


@pytest.fixture
def folder(tmp_path):
    loop_folder(tmp_path / "loops", Made("good"), Made("other"))
    return tmp_path / "loops"


def read(folder, text):
    (folder / "loops.yaml").write_text(text, encoding="utf-8")
    problems = Problems()
    return read_catalog(folder, problems), [problem.kind for problem in problems]


def test_a_card_is_read_as_it_stands(folder):
    text = GOOD + "  time: 3/4\n  key: A minor\n  chords: Am | F | C | G\n  downbeat: 0.25\n  set: ferry town\n"
    text += "  maker: Table 4\n  licence: CC0-1.0\n  may be: played to parents, taken home in a song\n"
    cards, told = read(folder, text)
    card = cards["good"]
    assert told == []
    assert (str(card.meter), str(card.key), card.chords) == ("3/4", "A minor", ("Am", "F", "C", "G"))
    assert (float(card.downbeat_seconds), card.set, card.maker, card.licence) == (
        0.25,
        "ferry town",
        "Table 4",
        "CC0-1.0",
    )
    assert card.may_be == ("played to parents", "taken home in a song")


@pytest.mark.parametrize(
    ("card", "kind"),
    [
        ("bad:\n", "card-empty"),
        ("bad:\n  file: other.wav\n  tempo: 96\n  bars: 4\n", "card-lacks"),
        ("bad:\n  file: other.wav\n  tempo: fast\n  bars: 4\n  role: drums\n", "card-value"),
        ("bad:\n  file: other.wav\n  tempo: 96\n  bars: 2.5\n  role: drums\n", "card-value"),
        ("bad:\n  file: other.wav\n  tempo: 96\n  bars: 4\n  role: singing\n", "card-value"),
        ("bad:\n  file: other.wav\n  tempo: 96\n  bars: 4\n  role: drums\n  key: H\n", "card-value"),
        ("bad:\n  file: gone.wav\n  tempo: 96\n  bars: 4\n  role: drums\n", "loop-gone"),
        ("bad:\n  file: ../secret.wav\n  tempo: 96\n  bars: 4\n  role: drums\n", "loop-outside"),
        ("bad:\n  file: /etc/passwd\n  tempo: 96\n  bars: 4\n  role: drums\n", "loop-outside"),
        ("bad:\n  file: link.wav\n  tempo: 96\n  bars: 4\n  role: drums\n", "loop-outside"),
    ],
)
def test_a_bad_card_is_told_and_the_good_one_stays(folder, card, kind):
    (folder.parent / "secret.wav").write_bytes(b"secret")
    (folder / "link.wav").symlink_to(folder.parent / "secret.wav")
    cards, told = read(folder, card + GOOD)
    assert kind in told
    assert list(cards) == ["good"]


def test_anchors_are_refused(folder):
    cards, told = read(
        folder, GOOD.replace("96", "&t 96") + "more:\n  file: other.wav\n  tempo: *t\n  bars: 4\n  role: drums\n"
    )
    assert "anchor" in told
    assert cards == {}


def test_folders_without_a_catalog_and_none_at_all(tmp_path):
    problems = Problems()
    assert read_catalog(tmp_path, problems) == {}
    assert read_catalog(tmp_path / "nowhere", problems) == {}
    assert [problem.kind for problem in problems] == ["no-catalog", "no-folder"]


def test_the_first_folder_that_has_a_name_counts(tmp_path):
    named = loop_folder(tmp_path / "named", Made("tin-roof", tempo_bpm="50"))
    loop_folder(tmp_path / "song" / "loops", Made("tin-roof", tempo_bpm="60"), Made("own", tempo_bpm="70"))
    loop_folder(tmp_path / "song", Made("own", tempo_bpm="80"), Made("beside", tempo_bpm="90"))
    library = open_library(tmp_path / "song", [named])
    tempos = [float(library.find(name).tempo_bpm) for name in ("tin-roof", "own", "beside", "beside.wav", "slow-tide")]
    assert tempos == [50, 70, 90, 90, 96]
    assert library.problems == ()
    assert library.find("slow-tide").path.parent == demo_loops_folder()
