"""A class's songs on several processes: each by itself, whatever happens to the others."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time

import pytest
import soundfile

from mixer.classroom import batch as batch_module
from mixer.classroom.batch import make_all
from mixer.classroom.gather import gather
from mixer.classroom.pages import LEVEL_CHECK
from mixer.classroom.songs import make_song, read_done
from mixer.classroom.tasks import Task
from mixer.store.lock import NAME
from mixer.words.english.classroom import table as lines_for
from mixer.words.say import columns
from tests.cli.program import mixer
from tests.sounds import Made, loop_folder

SONG = (
    "title: {title}\nby: {by}\ntempo: 96\nlayers:\n  box: ticks\n"
    "sections:\n  - verse, 4 bars: box\n  - end, 2 bars: box\n"
)


@pytest.fixture
def room(tmp_path):
    loop_folder(tmp_path / "loops", Made("ticks"))
    for table in "abc":
        (tmp_path / "in" / table).mkdir(parents=True)
        text = SONG.format(title=f"Song {table}", by=f"Table {table}")
        (tmp_path / "in" / table / "song.yaml").write_text(text, encoding="utf-8")
    return tmp_path


def songs_in(folder):
    return [path for path in folder.glob("*.wav") if path.name != LEVEL_CHECK]


def run(room, *more):
    return mixer("batch", "in", "--out", "out", "--loops", "loops", *more, cwd=room)


def test_a_class_is_made_and_only_what_changed_is_made_again(room):
    (room / "in" / "b" / "song.yaml").write_text(SONG.replace("box\n  - end", "bax\n  - end"), encoding="utf-8")
    (room / "in" / "d.yaml").write_text("tempo: fast\n", encoding="utf-8")
    (room / "in" / "e.yaml").write_bytes(b"")
    done = run(room, "--jobs", "2")
    assert done.returncode == 1
    lines = done.stdout.splitlines()
    assert [line.split("  ")[0].strip() for line in lines[:5]] == ["a - song", "b - song", "c - song", "d", "e"]
    assert "draft" in lines[1] and 'there is no layer called "bax"' in lines[1]  # noqa: PT018 - one line
    assert lines[3].count("not made") == lines[4].count("not made") == 1
    assert lines[5] == "2 songs and 1 draft in out; 2 could not be made."
    songs = {path.name: path.stat().st_mtime_ns for path in songs_in(room / "out")}
    assert set(songs) == {"a - song.wav", "b - song (draft).wav", "c - song.wav"}

    (room / "in" / "b" / "song.yaml").write_text(SONG, encoding="utf-8")
    answer = json.loads(run(room, "--json").stdout)
    assert [each["fresh"] for each in answer] == [False, True, False, False, False]
    now = {path.name: path.stat().st_mtime_ns for path in songs_in(room / "out")}
    assert set(now) == {"a - song.wav", "b - song.wav", "c - song.wav"}
    assert now["a - song.wav"] == songs["a - song.wav"]


def test_what_can_be_no_recipe_is_known_too_so_that_a_sheet_says_what_to_do(room):
    (room / "in" / "d.yaml").write_bytes(b"%PDF-1.7\n\x00\x00\x00")
    run(room)
    known = read_done(room / "out", "d")
    assert known is not None
    assert (known.state, "no plain text" in known.why) == ("none", True)


def test_with_a_brief_named_by_the_command_it_does_not_matter_what_recipes_name(room):
    (room / "brief.yaml").write_text("brief: Rain\nlongest: 0:01\n", encoding="utf-8")
    place = room / "in" / "a" / "song.yaml"
    place.write_text(f"brief: nowhere to be found\n{place.read_text('utf-8')}", encoding="utf-8")
    lines = run(room, "--brief", "brief.yaml").stdout.splitlines()
    assert lines[0].split()[:4] == ["a", "-", "song", "song"]
    assert "at most 0:01 long" in lines[0]


def test_lines_stand_below_each_other_and_sentences_are_joined_without_their_stop():
    rows = [("雨の音", "draft", 61.0, "it was left out.", True, "not yet: a fade in")]
    first, second = lines_for([*rows, ("rain - and more of it", "song", 61.0, "", True, "")])
    assert columns(first[: first.index("1:01")]) == columns(second[: second.index("1:01")])
    assert first.endswith("it was left out; not yet: a fade in")


def test_what_changed_since_the_version_before_is_kept(room):
    assert run(room).returncode == 0
    text = SONG.format(title="Song a", by="Table a")
    (room / "in" / "a" / "song.yaml").write_text(text.replace("tempo: 96", "tempo: 104"), encoding="utf-8")
    assert run(room).returncode == 0
    changed = {name: read_done(room / "out", f"{name} - song").shown["since"] for name in "ab"}
    assert changed["b"] == []
    assert len(changed["a"]) == 1
    assert "96" in changed["a"][0]["lines"][0]
    assert "104" in changed["a"][0]["lines"][0]


def test_a_song_that_was_cut_is_made_again(room):
    task = tasks(room)[0]
    first = make_song(task)
    whole = (room / "out" / first.file).read_bytes()
    (room / "out" / first.file).write_bytes(whole[:-100])
    assert make_song(task).fresh
    assert (room / "out" / first.file).read_bytes() == whole
    assert not make_song(task).fresh


def test_a_changed_loop_is_a_change(room):
    assert run(room).returncode == 0
    loop_folder(room / "loops", Made("ticks", kind="tone"))
    assert all(each["fresh"] for each in json.loads(run(room, "--json").stdout))


def test_the_same_whatever_the_number_of_processes_and_the_order(room):
    """Not the songs alone: all that is known of them, too, which one process tells with others' loops in mind."""
    for name, bars in (("short", 2), ("odd", 3)):
        text = SONG.replace("4 bars", f"{bars} bars").format(title=name, by="Table d")
        (room / "in" / f"{name}.yaml").write_text(text, encoding="utf-8")
    for out, jobs in (("one", "1"), ("three", "3")):
        assert mixer("batch", "in", "--out", out, "--loops", "loops", "--jobs", jobs, cwd=room).returncode == 0
    found = gather([room / "in"], room / "out").recipes
    wanted = [Task(each.path.resolve(), each.name, room / "back", loops=(room / "loops",)) for each in found]
    make_all(wanted[::-1], 2, lambda *_: None)
    one, three, back = (made_in(room / which) for which in ("one", "three", "back"))
    assert one == three == back
    assert sum(name.endswith(".wav") for name in one) == 5


def made_in(out):
    """All files of a class's folder but the pages, which know where they are, and what belongs to no song."""
    files = [path for path in out.rglob("*") if path.is_file() and path.suffix != ".html"]
    return {path.name: path.read_bytes() for path in files if path.name not in (LEVEL_CHECK, NAME)}


def test_a_song_is_what_render_makes(room):
    assert run(room).returncode == 0
    assert mixer("render", "in/a/song.yaml", "--loops", "loops", "--out", "alone.wav", cwd=room).returncode == 0
    assert (room / "alone.wav").read_bytes() == (room / "out" / "a - song.wav").read_bytes()


def tasks(room):
    return [Task(room / "in" / table / "song.yaml", table, room / "out", loops=(room / "loops",)) for table in "abc"]


def test_a_process_that_is_killed_loses_nothing(room, monkeypatch):
    """The process kills itself at its first song, once; another takes the song over."""
    mark = room / "killed"
    start = (
        "import sys; sys.path.pop(0); import os, signal, pathlib\n"
        f"mark = pathlib.Path({str(mark)!r})\n"
        "import mixer.classroom.songs as songs\n"
        "make = songs.make_song\n"
        "def once(task):\n"
        "    if task.name == 'b' and not mark.exists():\n"
        "        mark.touch(); os.kill(os.getpid(), signal.SIGTERM)\n"
        "    return make(task)\n"
        "songs.make_song = once\n"
        "from mixer.classroom.worker import main; main()"
    )
    monkeypatch.setattr(batch_module, "_START", start)
    told = []
    done = make_all(tasks(room), 2, lambda result, done, of: told.append((result.name, done, of)))
    assert mark.exists()
    assert [each.state for each in done] == ["song"] * 3
    assert [each[1:] for each in told] == [(1, 3), (2, 3), (3, 3)]


def test_a_song_that_kills_every_process_is_told_and_the_others_are_made(room, monkeypatch):
    start = (
        "import sys; sys.path.pop(0); import os\n"
        "import mixer.classroom.songs as songs\n"
        "make = songs.make_song\n"
        "songs.make_song = lambda task: os._exit(9) if task.name == 'b' else make(task)\n"
        "from mixer.classroom.worker import main; main()"
    )
    monkeypatch.setattr(batch_module, "_START", start)
    done = make_all(tasks(room), 1, lambda *_: None)
    assert [each.state for each in done] == ["song", "none", "song"]
    assert "ended" in done[1].why


def test_a_song_that_takes_too_long_is_given_up(room, monkeypatch):
    monkeypatch.setattr(batch_module, "LONGEST_SECONDS", 0.3)
    monkeypatch.setattr(batch_module, "_START", "import time; time.sleep(60)")
    done = make_all(tasks(room)[:1], 1, lambda *_: None)
    assert done[0].state == "none"


@pytest.mark.skipif(os.name != "posix", reason="Ctrl-C is sent as POSIX sends it")
def test_stopping_leaves_what_is_finished_and_no_process(room):
    for number in range(5):
        text = SONG.replace("4 bars", "64 bars").format(title=f"Long {number}", by=f"Table {number}")
        (room / "in" / f"long {number}.yaml").write_text(text, encoding="utf-8")
    command = [sys.executable, "-m", "mixer", "batch", "in", "--out", "out", "--loops", "loops", "--jobs", "1"]
    with subprocess.Popen(command, cwd=room, stderr=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as running:
        until = time.monotonic() + 30
        while not (songs_in(room / "out")) and time.monotonic() < until:
            time.sleep(0.01)
        running.send_signal(signal.SIGINT)
        out, err = running.communicate(timeout=30)
    assert running.returncode == 1, out
    assert "Stopped." in err
    finished = sorted(songs_in(room / "out"))
    assert 0 < len(finished) < 8
    assert all(soundfile.info(path).frames for path in finished)
    assert mixer("batch", "in", "--out", "out", "--loops", "loops", cwd=room).returncode == 0
    assert len(songs_in(room / "out")) == 8
    assert not list((room / "out").glob(".*"))


def test_what_is_kept_beside_the_songs_may_be_spoilt(room):
    task = tasks(room)[0]
    first = make_song(task)
    odd = [{"name": "a", "hear": 3}, {"name": "a", "state": "song", "hear": [], "file": 7, "shown": []}]
    texts = [b"", b"{}", b"\xff", b'{"name": "other"}', b"[" * 9999, *(json.dumps(each).encode() for each in odd)]
    for spoilt in texts:
        (room / "out" / "details" / "a.json").write_bytes(spoilt)
        assert make_song(task) == first
    assert not make_song(task).fresh


def test_a_module_in_the_classs_folder_is_not_run(room):
    (room / "json.py").write_text("raise SystemExit(7)\n", encoding="utf-8")
    (room / "mixer").mkdir()
    (room / "mixer" / "__init__.py").write_text("raise SystemExit(7)\n", encoding="utf-8")
    code = "import sys; sys.path.pop(0); sys.argv = ['mixer', 'batch', 'in', '--out', 'out', '--loops', 'loops']\n"
    done = subprocess.run(
        [sys.executable, "-c", f"{code}from mixer.cli import main; main()"], cwd=room, capture_output=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert len(songs_in(room / "out")) == 3


def test_nothing_to_make_is_said(room):
    (room / "empty").mkdir()
    done = mixer("batch", "empty", "--out", "out", cwd=room)
    assert done.returncode == 2
    assert "No recipe was found" in done.stderr
    assert mixer("batch", "nowhere", "--out", "out", cwd=room).returncode == 2
