"""Briefs as a class meets them: in `check`, `render`, `batch` and `new`."""

from __future__ import annotations

import json

import pytest

from tests.cli.program import mixer
from tests.sounds import Made, loop_folder

SONG = "title: Ticks\ntempo: 96\nlayers:\n  x: ticks\nsections:\n  - a, 4 bars: x\n"
BRIEF = "brief: Ours\ngoal: Keep it short.\nlongest: 0:30\nsections: 2-\ncolour: blue\n"


@pytest.fixture
def place(tmp_path):
    loop_folder(tmp_path / "loops", Made("ticks"))
    (tmp_path / "song.yaml").write_text(SONG, encoding="utf-8")
    (tmp_path / "ours.yaml").write_text(BRIEF, encoding="utf-8")
    return tmp_path


NOT_YET = """\
Brief "Ours": Keep it short.
Kept: at most 0:30 long.
Not yet as the brief asks (the song is made all the same):
  line 6: the brief asks for at least two sections, and this song has one. What
    could come before, after or between?
"""


def test_check_tells_what_is_kept_and_what_not_and_it_is_no_mistake(place):
    done = mixer("check", "song.yaml", "--brief", "ours.yaml", cwd=place)
    assert done.returncode == 0
    assert done.stdout.endswith(f"\n\n{NOT_YET}")
    assert 'ours.yaml, line 5: a brief has no line called "colour"' in done.stderr


def test_a_recipe_names_its_brief_and_the_command_another(place):
    (place / "song.yaml").write_text(f"brief: OURS\n{SONG}", encoding="utf-8")
    done = mixer("check", "song.yaml", cwd=place)
    assert (done.returncode, 'Brief "Ours"' in done.stdout) == (0, True)
    assert "ours.yaml, line 5" in done.stderr
    done = mixer("check", "song.yaml", "--brief", "count to three", cwd=place)
    assert (done.returncode, 'Brief "Count to three"' in done.stdout, "Ours" in done.stdout) == (0, True, False)


def test_render_says_it_in_a_few_lines_and_makes_the_song(place):
    done = mixer("render", "song.yaml", "--brief", "ours.yaml", cwd=place)
    assert (done.returncode, (place / "song.wav").is_file()) == (0, True)
    assert '\nNot yet as the brief "Ours" asks:\n  line 6: the brief asks' in done.stdout
    (place / "ours.yaml").write_text("brief: Ours\nlongest: 1:00\n", encoding="utf-8")
    done = mixer("render", "song.yaml", "--brief", "ours.yaml", cwd=place)
    assert done.stdout.endswith('\nThe song does all that the brief "Ours" asks for.\n')


def test_other_programs_get_it_as_data(place):
    for command in ("check", "render"):
        answer = json.loads(mixer(command, "song.yaml", "--brief", "ours.yaml", "--json", cwd=place).stdout)
        assert [(each["key"], each["kept"], each["line"]) for each in answer["brief"]["limits"]] == [
            ("longest", True, None),
            ("sections", False, 6),
        ]
        assert answer["advice"] == []
        assert [each["kind"] for each in answer["brief"]["problems"]] == ["brief-unknown-key"]


@pytest.mark.parametrize("name", ["gone", "gone.yaml", "../x", "x" * 300, "a\x1bb"])
def test_one_that_is_not_there_is_told_with_those_that_are(place, name):
    done = mixer("check", "song.yaml", "--brief", name, cwd=place)
    assert (done.returncode, done.stdout) == (2, "")
    assert "First song, Coming in and leaving" in done.stderr
    assert "\x1b" not in done.stderr


def test_a_recipe_that_names_none_of_them_is_told_so(place):
    (place / "song.yaml").write_text(f"brief: frist song\n{SONG}", encoding="utf-8")
    done = mixer("check", "song.yaml", cwd=place)
    assert done.returncode == 1
    assert 'Did you mean "First song"?' in done.stderr
    assert "The briefs are ours, First song, Coming in and leaving" in done.stderr


def test_signs_that_steer_a_terminal_do_not_reach_it(place):
    (place / "ours.yaml").write_text("brief: a\x1b[31mb\ngoal: \u202ex\nfind out:\n  - q\x07\nsections: 9\n", "utf-8")
    done = mixer("check", "song.yaml", "--brief", "ours.yaml", cwd=place)
    assert [sign for sign in done.stdout + done.stderr if not (sign.isprintable() or sign == "\n")] == []


def test_a_class_sees_who_keeps_it(place):
    (place / "hand-in").mkdir()
    (place / "hand-in" / "one.yaml").write_text(SONG, encoding="utf-8")
    two = SONG + "  - b, 4 bars: x\n"
    (place / "hand-in" / "two.yaml").write_text(two, encoding="utf-8")
    asked = ("batch", "hand-in", "--out", "out", "--loops", "loops", "--jobs", "1", "--brief", "ours.yaml")
    done = mixer(*asked, cwd=place)
    assert done.returncode == 0
    lines = done.stdout.splitlines()
    assert lines[0].endswith("not yet: at least two sections")
    assert lines[1].endswith("brief kept")
    kept = json.loads((place / "out" / "details" / "one.json").read_text(encoding="utf-8"))
    assert kept["shown"]["brief"][0] == 'Brief "Ours": Keep it short.'
    (place / "ours.yaml").write_text("brief: Ours\nsections: 1\n", encoding="utf-8")
    lines = mixer(*asked, cwd=place).stdout.splitlines()
    assert lines[0].endswith("brief kept")
    assert lines[1].endswith("not yet: one section")


def test_a_brief_is_said_back(place):
    done = mixer("check", "ours.yaml", cwd=place)
    assert done.returncode == 1
    assert 'ours.yaml, line 5: a brief has no line called "colour"' in done.stderr
    assert done.stdout == (
        'Brief "Ours": Keep it short.\nIt asks for a song that is, or has:\n  at most 0:30 long\n'
        "  at least two sections\nTo look at a song with it: mixer check SONG.yaml --brief ours.yaml\n"
    )
    (place / "ours.yaml").write_text("goal: Try.\n", encoding="utf-8")
    done = mixer("check", "ours.yaml", "--json", cwd=place)
    assert (done.returncode, json.loads(done.stdout)["brief"]["goal"]) == (0, "Try.")


def test_loops_and_sets_that_a_brief_names_and_nobody_has_are_told(place):
    asked = "goal: Try.\nloops: tickz, tin-roof\nloops from: Fery Town, Moon\nkey: a-moll\n"
    (place / "ours.yaml").write_text(asked, encoding="utf-8")
    told = mixer("check", "ours.yaml", cwd=place).stderr
    assert 'there is no loop called "tickz" here, so no song can play it.\nDid you mean "ticks"?' in told
    assert 'of a set called "Fery Town", so no song can play one.\nDid you mean "ferry town"?' in told
    assert 'of a set called "Moon", so no song can play one.\nLoops of your own' in told
    assert "tin-roof" not in told
    assert 'Did you mean "A minor"?' in told
    data = json.loads(mixer("check", "ours.yaml", "--json", cwd=place).stdout)["brief"]
    assert [each["kind"] for each in data["advice"]] == ["brief-loop-unknown"] + ["brief-set-unknown"] * 2


def test_a_brief_among_what_was_handed_in_is_no_song(place):
    (place / "hand-in").mkdir()
    (place / "hand-in" / "one.yaml").write_text(f"brief: ours\n{SONG}", encoding="utf-8")
    (place / "hand-in" / "ours.yaml").write_text("brief: Ours\ntempo: 60-120\nsections: 1-3\nlongest: 1:00\n", "utf-8")
    done = mixer("batch", "hand-in", "--out", "out", "--loops", "loops", "--jobs", "1", cwd=place)
    assert (done.returncode, done.stdout.splitlines()[0].endswith("brief kept")) == (0, True)
    assert "1 recipe found" in done.stderr
    page = (place / "out" / "teacher.html").read_text(encoding="utf-8")
    assert "<summary>brief kept</summary>" in page


def test_a_song_begins_with_its_brief(place):
    done = mixer("new", "mine", "--brief", "first song", cwd=place)
    assert (done.returncode, "mixer check mine/mine.yaml" in done.stdout) == (0, True)
    assert "\nbrief: First song\n" in (place / "mine" / "mine.yaml").read_text(encoding="utf-8")
    done = mixer("check", "mine/mine.yaml", cwd=place)
    assert (done.returncode, 'Brief "First song"' in done.stdout) == (0, True)
    mixer("new", "theirs", "--blank", "--brief", "ours.yaml", cwd=place)
    assert (place / "theirs" / "ours.yaml").read_text(encoding="utf-8") == BRIEF
    assert "\nbrief: ours\n" in (place / "theirs" / "theirs.yaml").read_text(encoding="utf-8")
    assert mixer("new", "no", "--brief", "nothing", cwd=place).returncode == 2
    assert not (place / "no").exists()
