"""Earlier weeks: found by the names of their folders, matched by maker, told in the words of `mixer compare`."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from mixer.classroom.earlier import Before, Week, earlier_of, song_before, weeks_before
from mixer.classroom.feedback import sheets
from mixer.classroom.gather import Found
from mixer.classroom.songs import read_done
from mixer.words.english.because import because_of, names_recipe, revision
from tests.cli.program import mixer
from tests.sounds import Made, loop_folder

SONG = "title: {title}\nby: {by}\ntempo: 96\nlayers:\n  box: ticks\nsections:\n  - start, {bars} bars: everything\n"


def write(place, by, bars, title="Ferry"):
    place.mkdir(parents=True, exist_ok=True)
    (place / f"{by}.yaml").write_text(SONG.format(by=by, bars=bars, title=title), encoding="utf-8")


@pytest.fixture
def room(tmp_path):
    loop_folder(tmp_path / "loops", Made("ticks"))
    for week, bars in ((1, 2), (2, 4), (10, 5)):
        write(tmp_path / "in" / f"week {week}", "Ilse", bars)
    write(tmp_path / "in" / "week 1", "Bo", 2)
    write(tmp_path / "in" / "week 10", "Bo", 2)
    return tmp_path


def run(room, week, *more):
    done = mixer("batch", f"in/week {week}", "--out", f"out/week {week}", "--loops", "loops", *more, cwd=room)
    assert done.returncode == 0, done.stderr
    return done


def since(room, week, name):
    return read_done(room / "out" / f"week {week}", name).shown["since"]


def test_what_changed_from_week_to_week_is_told_with_reasons(room):
    run(room, 1)
    for path in sorted((room / "in" / "week 1").glob("*")):
        path.unlink()  # the songs are enough: each carries its recipe
    run(room, 2)
    told = "start (from bar 1): 1 bar longer, 5 instead of 4"
    because = revision("Ilse 001.yaml", "Ilse.yaml", [told]).replace("because ...", "because it ended too soon")
    (room / "in" / "week 10" / "why.md").write_text(because, encoding="utf-8")
    assert "since week 1 and week 2" in run(room, 10).stderr
    assert since(room, 10, "Ilse") == [
        {"week": "week 2", "lines": [f"{told}, because it ended too soon"]},
        {"week": "week 1", "lines": ["start (from bar 1): 2 bars longer, 4 instead of 2"]},
    ]
    assert [step["week"] for step in since(room, 10, "Bo")] == ["week 1"]
    assert since(room, 10, "Bo")[0]["lines"] == ["Nothing has changed: both sound the same."]
    teacher = (room / "out" / "week 10" / "teacher.html").read_text(encoding="utf-8")
    assert "What changed since week 2" in teacher
    (sheet,) = sheets([read_done(room / "out" / "week 10", "Ilse")], {})
    assert dict(sheet.parts)["What changed since week 2"] == (f"{told}, because it ended too soon",)
    assert run(room, 10).stdout.count("as before") == 2
    (room / "in" / "week 10" / "why.md").unlink()
    assert "because" not in json.dumps([run(room, 10).stdout, since(room, 10, "Ilse")])


def test_earlier_weeks_can_be_named_and_be_recipes(room):
    run(room, 10, "--earlier", "in/week 1")
    assert [step["week"] for step in since(room, 10, "Ilse")] == ["week 1"]
    done = mixer("batch", "in/week 10", "--out", "x", "--earlier", "nowhere", cwd=room)
    assert (done.returncode, "nowhere" in done.stderr) == (2, True)


def test_a_loop_that_is_gone_is_told_and_no_change_is_made_up(room):
    write(room / "in" / "week 2", "Ilse", 4)
    old = (room / "in" / "week 2" / "Ilse.yaml").read_text(encoding="utf-8").replace("ticks", "gone")
    (room / "in" / "week 2" / "Ilse.yaml").write_text(old, encoding="utf-8")
    run(room, 10, "--earlier", "in/week 2")
    assert since(room, 10, "Ilse") == [
        {"week": "week 2", "lines": ["It cannot be compared: some of its loops are not here any more."]}
    ]


def test_folders_are_weeks_where_only_lower_numbers_differ(tmp_path):
    for name in ("2026-09-07", "2026-08-31", "2026-09-21", "2026-09", "7a 2026-09-07"):
        write(tmp_path / name, "Ilse", 2)
    write(tmp_path / "2026-09-14", "Ilse", 2)
    weeks = weeks_before(tmp_path / "out", [tmp_path / "2026-09-14"])
    assert [week.called for week in weeks] == ["2026-08-31", "2026-09-07"]
    assert weeks_before(tmp_path / "songs", [tmp_path]) == []


def test_other_numbers_may_be_other_people(tmp_path):
    for name in ("grade 7", "grade 8", "table1", "table2"):
        write(tmp_path / name, "Ilse", 2)
    assert weeks_before(tmp_path / "out", [tmp_path / "grade 8", tmp_path / "table2"]) == []


@pytest.mark.parametrize(
    ("found", "songs", "wanted"),
    [
        (("a", "Ilse"), [("b", "ilse")], "b"),
        (("a", "Ilse"), [("a", "Ilse"), ("b", "Ilse")], "a"),
        (("c", "Ilse"), [("a", "Ilse"), ("b", "Ilse")], None),  # not plain which
        (("a", "Ilse"), [("a", "Bo")], None),  # another student's file of the same name
        (("a", ""), [("a", "Ilse")], "a"),
        (("a", "Ilse"), [], None),
    ],
)
def test_songs_belong_together_by_maker_and_then_by_name(found, songs, wanted):
    week = Week("w", tuple(Before(Path(name), name, by) for name, by in songs))
    path = song_before(Found(Path("x"), *found), week)
    assert (path and path.name) == wanted
    assert earlier_of(Found(Path("x"), *found), [week]) == ((("w", path),) if path else ())


def test_reasons_are_read_as_they_are_filled_in():
    text = revision("a.yaml", "song.yaml", ["one", "two", "three", "four"])
    assert names_recipe(text, "song.yaml")
    assert not names_recipe(text, "a.yaml")
    assert because_of(text) == {}
    for gap in ("because it was loud.", "it felt right\n   and long", "BECAUSE of Bo"):
        text = text.replace("because ...", gap, 1)
    assert because_of(text.replace("\n", "\r\n")) == {
        "one": "because it was loud",
        "two": "because it felt right and long",
        "three": "because of Bo",
    }
