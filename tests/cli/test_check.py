"""`check` whatever it is given: a sentence, an exit code, never a trace of the program's inside, and no waiting."""

from __future__ import annotations

import json
import os

import pytest

from tests.cli.program import mixer
from tests.sounds import Made, loop_folder

SONG = "tempo: 96\nlayers:\n  x: ticks\nsections:\n  - a, 4 bars: x\n"


@pytest.fixture
def place(tmp_path):
    loop_folder(tmp_path / "loops", Made("ticks"))
    (tmp_path / "song.yaml").write_text(SONG, encoding="utf-8")
    return tmp_path


def _odd_places(place):
    os.mkfifo(place / "pipe.yaml")
    (place / "round.yaml").symlink_to("round.yaml")
    (place / "device.yaml").symlink_to("/dev/zero")
    (place / "folder.yaml").mkdir()
    (place / "sound.yaml").write_bytes(b"RIFF\x00\x00\x00\x00WAVEfmt ")
    (place / "picture.yaml").write_text('<?xml version="1.0"?>\n<svg\n  width="9">tempo: 96</svg>', encoding="utf-8")
    (place / "huge.yaml").write_bytes(b"# x\n" * 200_000)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("pipe.yaml", "is no plain text"),
        ("device.yaml", "is no plain text"),
        ("sound.yaml", "is no plain text"),
        ("picture.yaml", "is no plain text"),
        ("huge.yaml", "is far too long"),
        ("folder.yaml", "is a folder"),
        ("round.yaml", "there is no file"),
        ("gone.yaml", "there is no file"),
        ("song.yaml/inside.yaml", "there is no file"),
        ("x" * 300, "there is no file"),
        ("a\x1b[31mb", "there is no file"),
    ],
)
def test_what_is_no_recipe_is_told_and_not_waited_for(place, name, words):
    _odd_places(place)
    done = mixer("check", name, cwd=place)
    assert (done.returncode, words in done.stderr, done.stdout) == (2, True, "")
    assert "Traceback" not in done.stderr
    assert "\x1b" not in done.stderr


def test_the_recipes_that_are_there_are_named(place):
    done = mixer("check", "sogn.yaml", cwd=place)
    assert "song.yaml" in done.stderr


def test_briefs_and_lists_of_loops_are_not_named_among_them(place):
    (place / "hand-in").mkdir()
    for name, text in (("a.yaml", "tempo: 96\n"), ("ours.yaml", "longest: 1:30\n"), ("loops.yaml", "x:\n")):
        (place / "hand-in" / name).write_text(text, encoding="utf-8")
    told = mixer("check", "hand-in/something.yaml", cwd=place).stderr
    assert "a.yaml" in told
    assert "ours.yaml" not in told
    assert "loops.yaml" not in told


@pytest.mark.parametrize("as_json", [[], ["--json"]])
def test_signs_that_steer_a_terminal_do_not_reach_it(place, as_json):
    nasty = "title: a\x1b[31mb\x9bc\u202ed\x07e\x7f\n" + SONG.replace("x", "x\x9b").replace("a,", "a\u202e,")
    (place / "song.yaml").write_text(nasty.replace("ticks", "ticks\x1b!"), encoding="utf-8")
    done = mixer("check", "song.yaml", *as_json, cwd=place)
    assert done.returncode == 1
    assert [sign for sign in done.stdout + done.stderr if not (sign.isprintable() or sign == "\n")] == []
    if as_json:
        assert json.loads(done.stdout)["problems"]


def test_guessed_letters_are_told_in_recipe_and_catalog(place):
    (place / "song.yaml").write_bytes(("title: Caf\u00e9\n" + SONG).encode("cp1252"))
    cards = (place / "loops" / "loops.yaml").read_text(encoding="utf-8")
    (place / "loops" / "loops.yaml").write_bytes((cards + "  maker: Zo\u00eb\n").encode("cp1252"))
    answer = json.loads(mixer("check", "song.yaml", "--json", cwd=place).stdout)
    told = [(each["file"], each["line"], each["kind"]) for each in answer["advice"]]
    lines = len(cards.splitlines()) + 1
    assert told == [("loops/loops.yaml", lines, "guessed-letters"), ("song.yaml", 1, "guessed-letters")]


def test_utf_16_and_windows_line_ends_are_one_recipe(place):
    plans = []
    for raw in (SONG.encode(), SONG.encode("utf-16"), SONG.replace("\n", "\r\n").encode("utf-8-sig")):
        (place / "song.yaml").write_bytes(raw)
        answer = json.loads(mixer("check", "song.yaml", "--json", cwd=place).stdout)
        assert (answer["problems"], answer["advice"]) == ([], [])
        plans.append(answer["plan"])
    assert plans[0] == plans[1] == plans[2]


def test_several_recipes_are_told_one_after_the_other_and_the_worst_code_counts(place):
    (place / "other.yaml").write_text(SONG.replace("96", "fast"), encoding="utf-8")
    done = mixer("check", "song.yaml", "other.yaml", "gone.yaml", "--json", cwd=place)
    answers = json.loads(done.stdout)
    assert done.returncode == 2
    assert [[each["kind"] for each in answer["problems"]] for answer in answers] == [
        [],
        ["tempo-number"],
        ["recipe-missing"],
    ]


def test_thousands_of_mistakes_are_not_all_told(place):
    (place / "song.yaml").write_text(SONG + "".join(f"x{n}: y\n" for n in range(2_000)), encoding="utf-8")
    done = mixer("check", "song.yaml", cwd=place)
    assert done.returncode == 1
    assert len(done.stderr.splitlines()) < 3_000
    assert "more things to tell" in done.stderr


@pytest.mark.parametrize(
    ("begins", "what"),
    [  # ISO/IEC 21320-1, which .docx and .odt are packed by; [MS-CFB] 2.2, which .doc is; ISO 32000-2, 7.5.2
        (b"PK\x03\x04\x14\x00", "a word processor's file"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "a word processor's file"),
        (b"%PDF-1.7\n", "a PDF"),
    ],
)
def test_what_a_word_processor_saved_is_told_with_what_to_do(place, begins, what):
    (place / "words.yaml").write_bytes(begins + bytes(100))
    done = mixer("check", "words.yaml", cwd=place)
    assert done.returncode == 2
    assert f'"words.yaml" is {what} and no plain text' in done.stderr
    assert "Copy the words of the recipe into a new file" in done.stderr


@pytest.mark.parametrize("command", ["check", "render"])
def test_where_no_recipe_is_named_those_that_are_here_are(tmp_path, command):
    done = mixer(command, cwd=tmp_path)
    assert (done.returncode, "To make a first one: mixer new my-song" in done.stderr) == (2, True)
    assert "Traceback" not in done.stderr
    (tmp_path / "my song.yaml").write_text("tempo: 96\n", encoding="utf-8")
    assert f'Type: mixer {command} "my song.yaml"' in mixer(command, cwd=tmp_path).stderr
    (tmp_path / "a.yaml").write_text("tempo: 96\n", encoding="utf-8")
    assert f"Here are a.yaml and my song.yaml. Type: mixer {command} a.yaml" in mixer(command, cwd=tmp_path).stderr
