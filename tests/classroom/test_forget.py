"""Everything that bears a name goes on yes, what belongs to others stays, and nothing goes without yes."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

from mixer.classroom.forget import Name
from tests.cli.program import mixer
from tests.sounds import Made, loop_folder

SONG = (
    "title: Low Tide\nby: {by}\nabout: {about}\ntempo: 96\nlayers:\n  box: ticks\nsections:\n  - verse, 2 bars: box\n"
)


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    room = tmp_path_factory.mktemp("class")
    loop_folder(room / "loops", Made("ticks"))
    for name, by, about in (
        ("one", "Zo\u00eb", "calm"),
        ("two", "Tom", "made with ZO\u00cb"),
        ("three", "Zo\u00ebla", "x"),
    ):
        (room / "in").mkdir(exist_ok=True)
        (room / "in" / f"{name}.yaml").write_text(SONG.format(by=by, about=about), encoding="utf-8")
    for kind in ("wav", "mp3", "ogg", "flac"):
        done = mixer("batch", "in", "--out", f"out-{kind}", "--loops", "loops", "--format", kind, cwd=room)
        assert done.returncode == 0, done.stderr
    songs = {"one": {"by": "Zo\u00eb", "remark": "x"}, "two": {"by": "Tom", "remark": "y"}}
    (room / "in" / "comments.json").write_text(json.dumps({"mixer comments": 1, "songs": songs}), encoding="utf-8")
    assert mixer("feedback", "in/comments.json", "--songs", "out-wav", "--out", "sheets", cwd=room).returncode == 0
    return room


def texts(room):
    return {path: path.read_bytes() for path in room.rglob("*") if path.is_file() and "loops" not in path.parts}


def test_nothing_goes_without_yes(made):
    before = texts(made)
    for answer in ("no\n", "\n", "y\n"):
        command = [sys.executable, "-m", "mixer", "forget", "zoe\u0308", "in", "out-wav", "sheets"]
        done = subprocess.run(command, cwd=made, input=answer.encode(), capture_output=True, check=False)
        assert "Nothing was changed." in done.stdout.decode()
    assert texts(made) == before


def test_a_name_that_is_not_there_and_one_that_is_everywhere(made):
    assert "Nothing there bears that name." in mixer("forget", "Nobody", "in", cwd=made).stdout
    assert mixer("forget", "a", "in", cwd=made).returncode == 2
    assert mixer("forget", "Tom", "nowhere", cwd=made).returncode == 2


@pytest.mark.parametrize(
    ("name", "text", "found"),
    [
        ("Tom", "tomorrow", False),
        ("Tom", "TOM_song.yaml", True),
        ("Tom", "by: tom", True),
        ("Table 2", "Table 21", False),
        ("Table 2", "table-2", True),
        ("Zo\u00eb", "ZOE\u0308", True),
        ("\u7f8e\u9999", "by: \u7f8e\u9999", True),
        ("A.B", "AxB", False),
    ],
)
def test_names_are_found_as_words(name, text, found):
    assert Name(name).is_in(text) == found


def test_all_that_bears_the_name_goes_and_the_rest_stays(made):
    folders = ["in", "sheets", *(f"out-{kind}" for kind in ("wav", "mp3", "ogg", "flac"))]
    done = mixer("forget", "Zo\u00eb", *folders, "--yes", cwd=made)
    assert done.returncode == 0, done.stderr
    left = texts(made)
    names = {str(path.relative_to(made)) for path in left}
    for kind in ("wav", "mp3", "ogg", "flac"):
        assert f"out-{kind}/three.{kind}" in names
        assert f"out-{kind}/one.{kind}" not in names
    assert "in/one.yaml" not in names
    assert {"in/two.yaml", "in/three.yaml"} <= names
    assert set(json.loads(left[made / "in" / "comments.json"])["songs"]) == {"two"}
    assert b"Tom" in left[made / "sheets" / "levels.csv"]
    # Another's recipe and song that mention the name are told, for a person to look at.
    told = done.stdout.split("These mention the name")[1]
    assert "in/two.yaml" in names
    assert all(f"out-{kind}/two.{kind}" in told for kind in ("wav", "mp3", "ogg", "flac"))
    bearing = [str(path.relative_to(made)) for path, text in left.items() if "Zo\u00eb\n".encode() in text]
    assert bearing == []
