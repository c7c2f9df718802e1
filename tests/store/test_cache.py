"""The cache keeps what it can, gives back what it was given or nothing, and never gets in the way."""

from __future__ import annotations

import errno
import itertools
import os
import signal
import stat
import subprocess
import sys
from contextlib import ExitStack
from pathlib import Path
from types import SimpleNamespace

import pytest

from mixer.store import cache as cache_module
from mixer.store.cache import Cache, Usage, cache_folder, open_cache
from mixer.store.content import key_of

KEY, OTHER = key_of("one"), key_of("other")
HEAD_BYTES = 24


@pytest.fixture
def folder(tmp_path):
    return tmp_path / "kept"


def test_what_was_kept_comes_back_for_its_key_alone(folder):
    cache = Cache(folder)
    cache.keep(KEY, [b"a\0", memoryview(b"bc")])
    assert Cache(folder).read(KEY) == b"a\0bc"
    assert Cache(folder).read(OTHER) is None
    assert cache.usage() == Usage(1, HEAD_BYTES + 4)


def test_texts_that_only_join_to_the_same_have_other_keys():
    assert key_of("ab", "c") != key_of("a", "bc")


def test_reading_makes_no_folder(folder):
    assert Cache(folder).read(KEY) is None
    assert Cache(folder).usage() == Usage()
    assert not folder.exists()


def test_without_a_folder_there_is_no_cache():
    cache = Cache(None)
    cache.keep(KEY, [b"abc"])
    assert (cache.read(KEY), cache.usage(), cache.empty(), cache.usable) == (None, Usage(), Usage(), False)


DAMAGES = {
    "its mark": lambda raw: b"?" + raw[1:],
    "its length": lambda raw: raw[:8] + bytes([raw[8] ^ 1]) + raw[9:],
    "its checksum": lambda raw: raw[:16] + bytes([raw[16] ^ 1]) + raw[17:],
    "a bit of its first byte": lambda raw: raw[:HEAD_BYTES] + bytes([raw[HEAD_BYTES] ^ 128]) + raw[HEAD_BYTES + 1 :],
    "a bit of its last byte": lambda raw: raw[:-1] + bytes([raw[-1] ^ 1]),
    "zeros, as after a power cut": lambda raw: bytes(len(raw)),
    "zeros after its head": lambda raw: raw[:HEAD_BYTES] + bytes(len(raw) - HEAD_BYTES),
    "cut in its head": lambda raw: raw[:10],
    "cut after its head": lambda raw: raw[:HEAD_BYTES],
    "cut by a byte": lambda raw: raw[:-1],
    "empty": lambda _: b"",
    "longer": lambda raw: raw + b"\0",
}


@pytest.mark.parametrize("damage", DAMAGES)
def test_a_damaged_entry_is_dropped(folder, damage):
    cache = Cache(folder)
    cache.keep(KEY, [bytes(range(1, 200))])
    (entry,) = folder.iterdir()
    entry.write_bytes(DAMAGES[damage](entry.read_bytes()))
    assert cache.read(KEY) is None
    assert not entry.exists()
    cache.keep(KEY, [b"anew"])
    assert cache.read(KEY) == b"anew"


def test_an_entry_under_another_ones_name_is_dropped(folder):
    cache = Cache(folder)
    cache.keep(KEY, [b"one"])
    (entry,) = folder.iterdir()
    entry.rename(entry.with_name(f"{OTHER}.kept"))
    assert cache.read(OTHER) is None
    assert list(folder.iterdir()) == []


def _bounded(folder, entries):
    return Cache(folder, entries * (HEAD_BYTES + 100))


def _keys(folder, names):
    return [name for name in names if (folder / f"{key_of(name)}.kept").exists()]


def test_it_stays_within_its_bound_and_what_was_used_longest_ago_goes_first(folder):
    for name in "abc":
        _bounded(folder, 3).keep(key_of(name), [bytes(100)])
    assert _bounded(folder, 3).read(key_of("a")) is not None
    for name in "de":
        _bounded(folder, 3).keep(key_of(name), [bytes(100)])
        assert _bounded(folder, 3).usage().size_bytes <= 3 * (HEAD_BYTES + 100)
    assert _keys(folder, "abcde") == ["a", "d", "e"]


def test_the_order_of_use_does_not_come_from_the_clock(folder):
    cache = _bounded(folder, 3)
    for name in "abc":
        cache.keep(key_of(name), [bytes(100)])
    ahead = 4_000_000_000  # a clock that was wrong once: the year 2096
    os.utime(folder / f"{key_of('b')}.kept", (ahead, ahead))
    for name in "ac":
        assert _bounded(folder, 3).read(key_of(name)) is not None
    _bounded(folder, 3).keep(key_of("d"), [bytes(100)])
    assert _keys(folder, "abcd") == ["a", "c", "d"]


def test_what_is_larger_than_the_bound_is_not_kept_and_drives_nothing_out(folder):
    cache = _bounded(folder, 2)
    cache.keep(KEY, [bytes(100)])
    cache.keep(OTHER, [bytes(300)])
    assert (cache.read(KEY), cache.read(OTHER)) == (bytes(100), None)


def test_on_a_nearly_full_disk_songs_come_first(folder, monkeypatch):
    monkeypatch.setattr(cache_module.shutil, "disk_usage", lambda _: SimpleNamespace(free=5_000))
    cache = Cache(folder)
    for name in "abcdef":
        cache.keep(key_of(name), [bytes(100)])
    assert _keys(folder, "abcdef") == ["c", "d", "e", "f"]  # a tenth of 5 kB and of what is kept itself


class _Full:
    """A file on a disk that is full after some bytes."""

    def __init__(self, stream, most):
        self._stream, self._left = stream, most

    def write(self, data):
        self._left -= len(data)
        if self._left < 0:
            raise OSError(errno.ENOSPC, "No space left on device")
        return self._stream.write(data)


@pytest.mark.parametrize("most", [0, 30])
def test_a_full_disk_leaves_nothing_behind(folder, monkeypatch, most):
    from contextlib import contextmanager

    whole_file = cache_module.whole_file

    @contextmanager
    def full(path, **options):
        with whole_file(path, **options) as stream:
            yield _Full(stream, most)

    monkeypatch.setattr(cache_module, "whole_file", full)
    cache = Cache(folder)
    cache.keep(KEY, [b"12345", b"67890"])
    assert cache.read(KEY) is None
    assert list(folder.iterdir()) == []


def _refused(cache):
    cache.keep(KEY, [b"abc"])
    return not cache.usable and cache.read(KEY) is None and cache.usage() == Usage() and cache.empty() == Usage()


def test_the_folder_is_the_users_alone(folder):
    Cache(folder / "in" / "more").keep(KEY, [b"abc"])
    if os.name == "posix":
        assert stat.S_IMODE((folder / "in" / "more").stat().st_mode) == 0o700


@pytest.mark.skipif(os.name != "posix", reason="other systems have no such modes")
@pytest.mark.parametrize("mode", [0o755, 0o710, 0o770, 0o777, 0o702])
def test_a_folder_that_others_may_open_is_refused(folder, mode):
    folder.mkdir()
    folder.chmod(mode)
    assert _refused(Cache(folder))
    assert list(folder.iterdir()) == []
    assert stat.S_IMODE(folder.stat().st_mode) == mode


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only root can give a folder away")
def test_someone_elses_folder_is_refused(folder):
    Cache(folder).keep(KEY, [b"planted"])
    os.chown(folder, 65_534, 65_534)
    assert _refused(Cache(folder))


def test_a_planted_link_is_refused(folder, tmp_path):
    Cache(folder).keep(KEY, [b"planted"])
    link = tmp_path / "link"
    link.symlink_to(folder, target_is_directory=True)
    assert _refused(Cache(link))
    assert Cache(folder).read(KEY) == b"planted"


def test_a_file_where_the_folder_or_one_above_should_be_is_left_alone(folder):
    folder.write_text("mine")
    assert _refused(Cache(folder))
    assert _refused(Cache(folder / "deeper"))
    assert folder.read_text() == "mine"


@pytest.mark.parametrize("name", ["\0", "x" * 5000])
def test_a_folder_that_cannot_be_is_no_cache(tmp_path, name):
    assert _refused(Cache(tmp_path / name))


def test_a_folder_where_an_entry_should_be_is_no_entry(folder):
    cache = Cache(folder)
    cache.keep(OTHER, [b"abc"])
    (folder / f"{KEY}.kept").mkdir()
    cache.keep(KEY, [b"abc"])
    assert cache.read(KEY) is None
    assert cache.read(OTHER) == b"abc"


def test_emptying_drops_what_is_the_caches_own_and_nothing_else(folder):
    cache = Cache(folder)
    cache.keep(KEY, [bytes(100)])
    (folder / f".{OTHER}.kept.0a1b2c3d.part").write_bytes(b"half")
    (folder / "diary.txt").write_text("mine")
    assert cache.empty() == Usage(1, HEAD_BYTES + 104)
    assert [path.name for path in folder.iterdir()] == ["diary.txt"]
    (folder / "diary.txt").unlink()
    cache.keep(KEY, [bytes(100)])
    cache.empty()
    assert not folder.exists()


KILLED = """
import sys, time
from contextlib import ExitStack
from pathlib import Path
from mixer.store.cache import Cache

class Parts(list):
    seen = 0
    def __iter__(self):
        Parts.seen += 1
        yield self[0]
        if Parts.seen == 3:  # counted, summed up, and now written
            print("writing", flush=True)
            time.sleep(60)
        yield self[1]

Cache(Path(sys.argv[1])).keep(sys.argv[2], Parts([bytes(500_000), bytes(500_000)]))
"""


def test_killed_while_writing_leaves_what_is_passed_over_and_goes_first(folder):
    running = subprocess.Popen([sys.executable, "-c", KILLED, folder, KEY], stdout=subprocess.PIPE)
    with running:
        assert running.stdout.readline().strip() == b"writing"
        running.send_signal(signal.SIGTERM if os.name == "nt" else signal.SIGKILL)
    (rest,) = folder.iterdir()
    assert rest.name.endswith(".part")
    left = rest.stat().st_size
    cache = Cache(folder, left + 1000)
    assert cache.read(KEY) is None
    assert cache.usage() == Usage(0, left)
    for name in "ab":
        cache.keep(key_of(name), [bytes(600)])
    assert not rest.exists()
    assert _keys(folder, "ab") == ["a", "b"]


AT_ONCE = """
import sys
from contextlib import ExitStack
from pathlib import Path
from mixer.store.cache import Cache
from mixer.store.content import key_of

# Each twice: going round more entries than there is room for, one program alone would find none of them.
hits = 0
for turn in range(40):
    for name in "aabbccddeeffgghh":
        key, content = key_of(name), name.encode() * 5000
        cache = Cache(Path(sys.argv[1]), 24_000)
        found = cache.read(key)
        assert found is None or found == content
        hits += found is not None
        if found is None or turn % 4 == 0:
            cache.keep(key, [content])
print(hits)
"""


def test_several_programs_at_once_read_whole_entries_or_none(folder):
    with ExitStack() as stack:
        running = [
            stack.enter_context(
                subprocess.Popen(
                    [sys.executable, "-c", AT_ONCE, folder], stdout=subprocess.PIPE, stderr=subprocess.PIPE
                )
            )
            for _ in range(3)
        ]
        told = [each.communicate(timeout=60) for each in running]
    for each, (out, err) in zip(running, told, strict=True):
        assert (each.returncode, err) == (0, b"")
        assert int(out) > 0
    usage = Cache(folder, 24_000).usage()
    assert 0 < usage.size_bytes <= 24_000 + 2 * 5024  # each may have added one while the others did
    assert all(path.suffix == ".kept" for path in folder.iterdir())


def _asked(monkeypatch, platform, **variables):
    for name in ("MIXER_CACHE", "XDG_CACHE_HOME", "LOCALAPPDATA"):
        monkeypatch.delenv(name, raising=False)
    for name, value in variables.items():
        monkeypatch.setenv(name, value)
    monkeypatch.setattr(cache_module, "sys", SimpleNamespace(platform=platform))
    return cache_folder()


HOME = "/home/table-2"


@pytest.mark.skipif(os.name != "posix", reason="the paths are written as on POSIX")
@pytest.mark.parametrize(
    ("platform", "variables", "expected"),
    [
        # XDG Base Directory Specification 0.8: ~/.cache where the variable is unset, empty or relative.
        ("linux", {}, f"{HOME}/.cache/mixer"),
        ("linux", {"XDG_CACHE_HOME": ""}, f"{HOME}/.cache/mixer"),
        ("linux", {"XDG_CACHE_HOME": "near/here"}, f"{HOME}/.cache/mixer"),
        ("linux", {"XDG_CACHE_HOME": "/var/mine"}, "/var/mine/mixer"),
        # Apple, File System Programming Guide; Microsoft, KNOWNFOLDERID: LocalAppData. Both from memory.
        ("darwin", {"XDG_CACHE_HOME": "/var/mine"}, f"{HOME}/Library/Caches/mixer"),
        ("win32", {}, f"{HOME}/AppData/Local/mixer"),
        ("win32", {"LOCALAPPDATA": "/data/local"}, "/data/local/mixer"),
        ("linux", {"HOME": "not/a/home"}, None),
        ("linux", {"MIXER_CACHE": "off"}, None),
        ("linux", {"MIXER_CACHE": " OFF "}, None),
        ("linux", {"MIXER_CACHE": ""}, f"{HOME}/.cache/mixer"),
        ("win32", {"MIXER_CACHE": "/elsewhere"}, "/elsewhere"),
    ],
)
def test_where_it_is(monkeypatch, platform, variables, expected):
    monkeypatch.setenv("HOME", HOME)
    found = _asked(monkeypatch, platform, **variables)
    assert found == (None if expected is None else Path(expected))


def test_every_test_has_its_own(cache_folder):
    assert open_cache().folder == cache_folder
    assert not cache_folder.exists()


def test_parts_may_be_of_any_kind_and_none(folder):
    cache = Cache(folder)
    for number, parts in enumerate(itertools.product([b"", b"x"], [memoryview(b""), memoryview(b"yz")])):
        cache.keep(key_of(str(number)), parts)
        assert cache.read(key_of(str(number))) == b"".join(parts)
