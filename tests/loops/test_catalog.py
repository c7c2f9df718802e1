"""A folder's catalog: one card for each loop; a bad card does not spoil the others, and none leads outside."""

from __future__ import annotations

import os

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
        ("bad:\n  file: other.wav\n  tempo: 19\n  bars: 4\n  role: drums\n", "card-value"),
        ("bad:\n  file: other.wav\n  tempo: 401\n  bars: 4\n  role: drums\n", "card-value"),
        ("bad:\n  file: other.wav\n  tempo: 96\n  bars: 65\n  role: drums\n", "card-value"),
        ("bad:\n  file: other.wav\n  tempo: 96\n  bars: 4\n  role: drums\n  time: 4\n", "card-value"),
        ("bad:\n  file: other.wav\n  tempo: 96\n  bars: 4\n  role: drums\n  downbeat: 121\n", "card-value"),
        ("bad:\n  file:\n  tempo: 96\n  bars: 4\n  role: drums\n", "card-lacks"),
        ("bad: other.wav\n", "card-empty"),
        (f"bad:\n  file: {'x' * 300}.wav\n  tempo: 96\n  bars: 4\n  role: drums\n", "loop-gone"),
        ("bad:\n  file: inner\n  tempo: 96\n  bars: 4\n  role: drums\n", "loop-no-file"),
        ("bad:\n  file: pipe.wav\n  tempo: 96\n  bars: 4\n  role: drums\n", "loop-no-file"),
        ("bad:\n  file: round.wav\n  tempo: 96\n  bars: 4\n  role: drums\n", "loop-outside"),
        ("bad:\n  file: device.wav\n  tempo: 96\n  bars: 4\n  role: drums\n", "loop-outside"),
        ("bad:\n  file: inner/../../secret.wav\n  tempo: 96\n  bars: 4\n  role: drums\n", "loop-outside"),
        ("bad:\n  file: .\n  tempo: 96\n  bars: 4\n  role: drums\n", "loop-outside"),
        ("bad:\n  file: ../secret.wav\n  tempo: 96\n  bars: 4\n  role: drums\n", "loop-outside"),
        ("bad:\n  file: /etc/passwd\n  tempo: 96\n  bars: 4\n  role: drums\n", "loop-outside"),
        ("bad:\n  file: link.wav\n  tempo: 96\n  bars: 4\n  role: drums\n", "loop-outside"),
    ],
)
def test_a_bad_card_is_told_and_the_good_one_stays(folder, card, kind):
    (folder.parent / "secret.wav").write_bytes(b"secret")
    (folder / "link.wav").symlink_to(folder.parent / "secret.wav")
    (folder / "round.wav").symlink_to("round.wav")
    (folder / "device.wav").symlink_to("/dev/zero")
    (folder / "inner").mkdir()
    os.mkfifo(folder / "pipe.wav")
    cards, told = read(folder, card + GOOD)
    assert told == [kind]
    assert list(cards) == ["good"]


@pytest.mark.parametrize(
    ("line", "kind"),
    [
        ("  colour: red\n", "unknown-card-key"),
        ("  loudness: [-17, -16]\n", "one-value"),
        ("  bars: 8\n", "key-twice"),
    ],
)
def test_a_line_that_says_nothing_is_told_and_the_card_stays(folder, line, kind):
    cards, told = read(folder, GOOD + line)
    assert told == [kind]
    assert cards["good"].bars == 4


def test_the_first_of_two_cards_of_one_name_counts(folder):
    cards, told = read(folder, GOOD + GOOD.replace("good:", "GOOD:").replace("96", "70"))
    assert told == ["key-twice"]
    assert float(cards["good"].tempo_bpm) == 96


@pytest.mark.parametrize(
    ("raw", "kind"),
    [
        (b"", "empty-catalog"),
        (b"# only a note\n", "empty-catalog"),
        (b"- a\n- b\n", "empty-catalog"),
        (b"x" * 2_001 + b"\n" + GOOD.encode(), "line-too-long"),
        (b"# a\n" * 125_001, "catalog-long"),
        (GOOD.replace("drums", "drums\n  maker: Zo\u00eb").encode("cp1252"), "guessed-letters"),
    ],
)
def test_what_is_no_list_of_loops_is_told(folder, raw, kind):
    (folder / "loops.yaml").write_bytes(raw)
    problems = Problems()
    read_catalog(folder, problems)
    assert [problem.kind for problem in problems] == [kind]


def test_a_catalog_that_leads_elsewhere_is_not_followed(folder):
    (folder / "loops.yaml").rename(folder.parent / "loops.yaml")
    (folder / "loops.yaml").symlink_to(folder.parent / "loops.yaml")
    problems = Problems()
    assert read_catalog(folder, problems) == {}
    assert [problem.kind for problem in problems] == ["catalog-outside"]


def test_a_catalog_that_is_a_pipe_is_not_waited_for(folder):
    (folder / "loops.yaml").unlink()
    os.mkfifo(folder / "loops.yaml")
    problems = Problems()
    assert read_catalog(folder, problems) == {}
    assert [problem.kind for problem in problems] == ["no-catalog"]


def test_a_catalog_that_may_not_be_read_is_told(folder, monkeypatch):
    def locked(*_arguments):
        raise PermissionError(13, "no")

    monkeypatch.setattr("pathlib.Path.open", locked)
    problems = Problems()
    assert read_catalog(folder, problems) == {}
    assert [problem.kind for problem in problems] == ["catalog-locked"]


def test_a_folder_of_loops_that_leads_elsewhere_is_not_followed(tmp_path):
    loop_folder(tmp_path / "elsewhere", Made("secret"))
    (tmp_path / "song").mkdir()
    (tmp_path / "song" / "loops").symlink_to(tmp_path / "elsewhere", target_is_directory=True)
    library = open_library(tmp_path / "song")
    assert [problem.kind for problem in library.problems] == ["loops-outside"]
    assert library.find("secret") is None
    # A command may name it, though: then it was meant.
    named = open_library(tmp_path / "song", [tmp_path / "song" / "loops"])
    assert named.find("secret") is not None


def test_a_lost_card_does_not_hide_the_one_of_another_folder(tmp_path):
    named = loop_folder(tmp_path / "named", Made("tin-roof", tempo_bpm="50"))
    (named / "tin-roof.wav").unlink()
    library = open_library(None, [named])
    assert [problem.kind for problem in library.problems] == ["loop-gone"]
    assert library.find("tin-roof").path.parent == demo_loops_folder()


def test_anchors_are_refused(folder):
    cards, told = read(
        folder, GOOD.replace("96", "&t 96") + "more:\n  file: other.wav\n  tempo: *t\n  bars: 4\n  role: drums\n"
    )
    assert told.count("anchor") == 2
    assert list(cards) == ["good"]


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


def test_a_catalog_that_is_read_again_tells_the_same_and_looks_for_its_files_anew(folder):
    text = GOOD + "  colour: red\nother:\n  file: other.wav\n  tempo: 96\n  bars: 4\n  role: drums\n"
    first = read(folder, text)
    assert read(folder, text) == first
    assert first[1] == ["unknown-card-key"]
    (folder / "other.wav").unlink()
    cards, told = read(folder, text)
    assert list(cards) == ["good"]
    assert told == ["unknown-card-key", "loop-gone"]
    assert read(folder, GOOD.replace("96", "97"))[0]["good"].tempo_bpm == 97


def test_what_is_told_of_the_text_of_a_catalog_is_told_each_time(folder):
    text = GOOD.replace("tempo: 96", "tempo:\t96").replace("  bars", "\tbars")
    first = read(folder, text)
    assert first[1]
    assert read(folder, text) == first
