"""A whole made-up class, with all that is handed in by accident and on purpose: what comes of it, and what may not."""

from __future__ import annotations

import json
import shutil
from contextlib import suppress

import pytest

from benchmarks.robustness import classes, harm
from mixer.classroom.gather import gather
from tests.cli.program import mixer


@pytest.fixture(scope="module")
def room(tmp_path_factory):
    """A class with every way of handing in, odd texts and odd names, and what all commands made of it."""
    room = tmp_path_factory.mktemp("class")
    made = classes.write_class(room, students=len(classes.WAYS), weeks=1)
    for folder, files in (("texts", classes.every_text(4)), ("names", classes.every_name(3))):
        (room / folder).mkdir()
        for each in files:
            with suppress(OSError):  # a name that this system cannot hold
                (room / folder / each.path).write_bytes(each.content)
    return room, made


def outs(room):
    return [room / name for name in ("out", "share", "pack", "cache")]


@pytest.fixture(scope="module")
def told(room):
    """Run every command over the class; gives their results, and what changed outside the folders they were given."""
    place, _ = room
    before = harm.tree(place, *outs(place))
    common = ("--loops", "loops", "--out", "out")
    results = [mixer("batch", "week 1", "texts", "names", *common, cwd=place)]
    before |= last_week(place)
    more = ("--earlier", "last", "--json", "--share", "share")
    results.append(mixer("batch", "week 1", "texts", "names", *common, *more, cwd=place))
    songs = json.loads(results[1].stdout)
    said = {each["name"]: comments(odd) for each, odd in zip(songs, 9 * classes.ODD, strict=False)}
    said |= {odd: comments(odd) for odd in (*classes.ODD, "\ud800")}
    (place / "out" / "said.json").write_text(json.dumps({"mixer comments": 1, "songs": said}), encoding="utf-8")
    results += [
        mixer("feedback", "out/said.json", cwd=place),
        mixer("pack", "--loops", "loops", "--out", "pack", cwd=place),
        mixer("forget", classes.MARKUP[1], "out", "texts", cwd=place),
    ]
    after = harm.tree(place, *outs(place))
    return results, songs, {name for name in before.keys() | after.keys() if before.get(name) != after.get(name)}


def last_week(place):
    """Make the songs of odd texts those of the week before, with some that are none, and change their recipes."""
    (place / "last").mkdir()
    for recipe in (place / "texts").iterdir():
        with suppress(FileNotFoundError):
            shutil.copy(place / "out" / f"{recipe.stem}.wav", place / "last")
        recipe.write_bytes(recipe.read_bytes().replace(b"tempo: 120", b"tempo: 110"))
    for number, sound in enumerate(classes.BROKEN_SOUNDS):
        (place / "last" / f"broken {number}.wav").write_bytes(sound)
    classes.links(place / "last", place / "secret")
    return harm.tree(place, *outs(place))


def comments(odd):
    marks = [{"bar": 1, "section": odd, "words": odd}]
    return {"title": odd, "by": odd, "marks": marks, "heard": odd, "remark": odd, "rubric": {odd: odd, "Energy": odd}}


def test_what_came_of_each_is_what_must(room, told):
    place, made = room
    found = gather([place / "week 1", place / "texts", place / "names"], place / "out")
    state = {each.path: song["state"] for each, song in zip(found.recipes, told[1], strict=True)}
    wanted = {path: wish for path, wish in made.states.items() if wish != "any" and path in state}
    assert {path.name: state[path] for path in wanted} == {path.name: wish for path, wish in wanted.items()}
    assert sum(wish == "song" for wish in wanted.values()) > len(classes.WAYS) // 3
    assert not [song["why"] for song in told[1] if "mistake of its own" in song["why"] or "ended twice" in song["why"]]


def test_a_second_run_makes_only_what_was_changed(room, told):
    changed = {path.stem for path in (room[0] / "last").glob("[0-9]*.wav")}
    assert {song["name"] for song in told[1] if song["fresh"] and song["file"]} >= changed
    texts = {each.path.removesuffix(".yaml") for each in classes.every_text(4)}
    assert {song["name"] for song in told[1] if song["fresh"] and song["file"]} <= texts | {f"{t} (2)" for t in texts}


def test_last_weeks_songs_are_read_and_their_words_stay_words(room, told):
    sheets = [path.read_text(encoding="utf-8") for path in (room[0] / "out" / "feedback").glob("*.html")]
    assert sum("110" in sheet for sheet in sheets) > 5
    assert told


def test_nothing_of_a_stranger_steers_a_terminal(told):
    results, *_ = told
    assert [result.returncode for result in results] == [1, 1, 0, 0, 1]  # the last waits for a yes
    assert [harm.terminal_harm(result.stdout + result.stderr) for result in results] == [[]] * 5
    assert not [result.stderr for result in results if "Traceback" in result.stderr]


def test_nothing_of_a_stranger_is_markup_or_a_formula(room, told):
    place, _ = room
    assert told
    assert [found for out in outs(place) for found in harm.written_harm(out)] == []
    pages = list((place / "out").rglob("*.html"))
    assert len(pages) > len(classes.WAYS)
    assert classes.SCRIPT in (place / "out" / "teacher.html").read_text(encoding="utf-8")  # as a text it is there


def test_nothing_is_read_or_written_outside_its_place(room, told):
    place, _ = room
    assert told[2] == set()
    assert harm.leaks(*outs(place)) == []
    assert harm.leaks(place / "secret")  # where it is, it is found


def test_what_looks_for_harm_finds_it():
    for odd in classes.MARKUP[:2] + classes.MARKUP[3:4]:
        page = f'<p><a href="">{odd}</a>' if odd.startswith("<") else f'<p title="{odd}">'
        assert harm.page_harm(page), odd
    assert harm.page_harm("<a href='javascript:x()'>")
    assert harm.page_harm("<p onclick='x()'>")
    assert harm.sheet_harm("a,=1+1\n")
    assert not harm.sheet_harm("a,'=1+1\n")
    assert harm.terminal_harm("\x1b[2J")
    assert harm.terminal_harm("\u202e")


def test_a_class_is_the_same_by_the_same_seed():
    first, second = (classes.handed_in(3, 40, 2) for _ in range(2))
    assert first == second
    assert classes.handed_in(4, 40, 2) != first
    weeks = [{each.path: each.content for each in classes.handed_in(3, 40, week)[0]} for week in range(3)]
    same = sum(weeks[2].get(path) == content for path, content in weeks[1].items())
    assert 0 < same < len(weeks[1])
