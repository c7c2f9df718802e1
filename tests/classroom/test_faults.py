"""What may happen to a class's run: nothing finished is lost, no result is wrong, and a word says what to do."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from dataclasses import replace

import pytest

from mixer.classroom import batch as batch_module
from mixer.classroom import making, songs
from mixer.classroom.batch import make_all
from mixer.classroom.room import SHARE_BYTES, asked_bytes
from mixer.classroom.songs import make_song, read_done
from mixer.classroom.tasks import Task
from mixer.song.opened import open_recipe
from mixer.words.english import classroom as said
from tests.cli.program import mixer
from tests.sounds import Made, loop_folder

SONG = "title: {title}\ntempo: {tempo}\nlayers:\n  box: ticks\nsections:\n  - verse, {bars} bars: box\n"
POSIX = pytest.mark.skipif(os.name != "posix", reason="signals and limits are POSIX's")
NOT_ROOT = pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write everywhere")


@pytest.fixture
def room(tmp_path):
    loop_folder(tmp_path / "loops", Made("ticks"))
    (tmp_path / "in").mkdir()
    for name in "ab":
        write(tmp_path, name)
    return tmp_path


def write(room, name, *, tempo=96, bars=2):
    text = SONG.format(title=f"Song {name}", tempo=tempo, bars=bars)
    (room / "in" / f"{name}.yaml").write_text(text, encoding="utf-8")


def task(room, name="a", **more):
    return Task(room / "in" / f"{name}.yaml", name, room / "out", loops=(room / "loops",), **more)


def run(room, *more):
    return mixer("batch", "in", "--out", "out", "--loops", "loops", "--jobs", "1", *more, cwd=room)


def bytes_of(room):
    return {path.name: path.read_bytes() for path in (room / "out").glob("*.wav")}


def test_two_runs_into_one_folder(room):
    code = "import sys, pathlib\nfrom mixer.store.lock import only_one\n"
    code += "with only_one(pathlib.Path('out/details')):\n    print('held', flush=True); sys.stdin.read()\n"
    with subprocess.Popen(
        [sys.executable, "-c", code], cwd=room, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as other:
        other.stdout.readline()
        second = run(room)
        other.communicate("")
    assert second.returncode == 2
    assert f"Another run is making songs in out just now (process {other.pid})" in second.stderr
    assert "--out FOLDER" in second.stderr
    assert not bytes_of(room)
    assert run(room).returncode == 0


def test_a_run_cut_off_between_sound_and_what_is_known_of_it(room, monkeypatch):
    """Both versions are equally long: only what is written down can tell them apart."""
    write(room, "a", tempo=120)
    make_song(task(room))
    old = bytes_of(room)["a.wav"]
    text = (room / "in" / "a.yaml").read_text(encoding="utf-8")
    (room / "in" / "a.yaml").write_text(text.replace("Song a", "Song o"), encoding="utf-8")

    def killed(*_):
        raise SystemExit

    monkeypatch.setattr(songs, "_drop_draft", killed)
    with pytest.raises(SystemExit):
        make_song(task(room))
    monkeypatch.undo()
    assert bytes_of(room)["a.wav"] != old
    assert len(bytes_of(room)["a.wav"]) == len(old)
    (room / "in" / "a.yaml").write_text(text, encoding="utf-8")
    assert make_song(task(room)).fresh
    assert bytes_of(room)["a.wav"] == old


def test_an_earlier_song_is_given_where_a_recipe_is_broken_later(room):
    make_song(task(room))
    whole = bytes_of(room)
    for broken in ("tempo: fast\n", "", "\x00"):
        (room / "in" / "a.yaml").write_text(broken, encoding="utf-8")
        done = make_song(task(room))
        assert (done.state, done.file, done.title) == ("earlier", "a.wav", "Song a")
        assert done.why
    assert bytes_of(room) == whole
    told = run(room)
    assert "earlier" in told.stdout.splitlines()[0]
    assert "1 song and 1 earlier version in out." in told.stdout
    write(room, "a")
    assert make_song(task(room)).state == "song"
    assert bytes_of(room)["a.wav"] == whole["a.wav"]


def test_a_place_that_cannot_be_written_is_the_reason_and_no_line_of_the_recipe(room, monkeypatch):
    (room / "in" / "a.yaml").write_text(SONG.format(title="x", tempo=96, bars=2) + "colour: red\n", encoding="utf-8")

    def full(*_args, **_more):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("mixer.song.make.render_prepared", full)
    done = make_song(task(room))
    assert done.state == "none"
    assert "No space left on device" in done.why
    assert not (room / "out" / "details").exists()


@NOT_ROOT
def test_a_folder_that_may_not_be_written(room):
    (room / "out").mkdir(mode=0o500)
    told = run(room)
    assert told.returncode == 1
    assert "out could not be written (Permission denied)." in told.stderr


def test_a_folder_that_is_a_file_below(room):
    (room / "out").mkdir()
    (room / "out" / "details").write_bytes(b"")
    told = run(room)
    assert told.returncode == 1
    assert told.stderr.splitlines()[-1].startswith("out could not be written (")
    assert (room / "out" / "details").read_bytes() == b""


def test_a_song_that_takes_too_long_is_told_and_not_tried_again(room, monkeypatch):
    monkeypatch.setattr(batch_module, "LONGEST_SECONDS", 0.3)
    mark = room / "began"
    start = f"import time\nwith open({str(mark)!r}, 'a') as began: began.write('x')\ntime.sleep(60)"
    monkeypatch.setattr(batch_module, "_START", start)
    (done,) = make_all([task(room)], 1, lambda *_: None)
    assert (done.state, done.why) == ("none", said.TOO_LONG)
    assert mark.read_text(encoding="ascii") == "x"


def test_a_song_too_large_for_a_share_is_made_alone_and_one_too_large_for_the_machine_is_told(room, monkeypatch):
    asked = asked_bytes(open_recipe(room / "in" / "a.yaml", [room / "loops"]).plan)
    assert 0 < asked < SHARE_BYTES
    tasks = [task(room, room_bytes=asked - 1), task(room, "b")]
    monkeypatch.setattr(batch_module, "free_bytes", lambda: asked)
    assert [done.state for done in make_all(tasks, 2, lambda *_: None)] == ["song", "song"]
    write(room, "a", tempo=90)
    monkeypatch.setattr(batch_module, "free_bytes", lambda: asked // 2)
    large, other = make_all(tasks, 2, lambda *_: None)
    assert other.state == "song"
    assert large.state == "earlier"
    assert f"MB of memory and there is room for {round(asked / 2e6)}" in large.why


@pytest.mark.skipif(sys.platform != "linux", reason="the bound is Linux's")
def test_a_process_that_takes_more_memory_than_a_song_asked_for_is_stopped_in_words(room, monkeypatch):
    start = (
        "import sys; sys.path.pop(0)\n"
        "import mixer.classroom.making as making\n"
        "making.make_and_tell = lambda *_: bytearray(3_000_000_000)\n"
        "from mixer.classroom.worker import main; main()"
    )
    monkeypatch.setattr(batch_module, "_START", start)
    (done,) = make_all([task(room)], 1, lambda *_: None)
    assert (done.state, done.why) == ("none", said.NO_MEMORY)


@POSIX
@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGKILL])
def test_no_process_outlives_a_run_that_is_ended(room, how):
    for number in range(2):
        write(room, f"long {number}", bars=48)
    command = [sys.executable, "-m", "mixer", "batch", "in", "--out", "out", "--loops", "loops", "--jobs", "2"]
    with subprocess.Popen(command, cwd=room, stderr=subprocess.PIPE, text=True, start_new_session=True) as running:
        until = time.monotonic() + 30
        while len(list((room / "out").glob("*.wav"))) < 2 and time.monotonic() < until:
            time.sleep(0.01)
        running.send_signal(how)
        _, err = running.communicate(timeout=30)
    until = time.monotonic() + 10
    while _alive(running.pid) and time.monotonic() < until:
        time.sleep(0.02)
    assert not _alive(running.pid)
    if how is signal.SIGTERM:
        assert "Stopped. Run it again to go on" in err
        assert running.returncode == 1
    finished = bytes_of(room)
    assert run(room).returncode == 0
    assert {**bytes_of(room), **finished} == bytes_of(room)
    assert not list((room / "out").rglob("*.part"))


def _alive(group):
    try:
        os.killpg(group, 0)
    except (ProcessLookupError, PermissionError):
        return False
    return True


def test_what_was_left_half_written_is_taken_away(room):
    (room / "out" / "details").mkdir(parents=True)
    left = [room / "out" / ".a.wav.0123abcd.part", room / "out" / "details" / ".b.json.deadbeef.part"]
    kept = [room / "out" / ".mine", room / "out" / "x.part"]
    for path in (*left, *kept):
        path.write_bytes(b"")
    make_all([task(room)], 1, lambda *_: None)
    assert not any(path.exists() for path in left)
    assert all(path.exists() for path in kept)


def test_what_was_heard_in_loops_before_changes_nothing(room):
    """The second song is looked at with what is in mind of the first one's loops; alone it must be told the same."""
    loop_folder(room / "loops", Made("ticks"), Made("hum", kind="tone"))
    text = SONG.format(title="x", tempo=96, bars=2).replace("box: ticks", "box: hum").replace("verse", "hear")
    (room / "in" / "b.yaml").write_text(text, encoding="utf-8")
    together = [make_song(task(room, name)) for name in "abab"[:2]]
    making._heard.clear()
    (room / "out" / "details" / "b.json").unlink()
    assert make_song(task(room, "b")) == together[1]
    assert len(making._heard) == 1


def test_what_is_known_of_songs_is_refused_in_a_strangers_form(room):
    done = make_song(task(room))
    place = room / "out" / "details" / "a.json"
    right = json.loads(place.read_text(encoding="utf-8"))
    assert read_done(room / "out", "a") == replace(done, fresh=True)
    for odd in (
        {"file": ".."},
        {"file": "b.wav"},
        {"file": "../a.wav"},
        {"state": "<b>"},
        {"shown": 3},
        {"hear": "abc"},
    ):
        place.write_text(json.dumps({**right, **odd}), encoding="utf-8")
        assert read_done(room / "out", "a") is None, odd
