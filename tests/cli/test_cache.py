"""`mixer cache` as a teacher meets it."""

from __future__ import annotations

import os

import pytest

from mixer.store.cache import open_cache
from mixer.store.content import key_of
from tests.cli.program import mixer


def test_it_tells_what_is_kept_and_drops_it(tmp_path, cache_folder):
    told = mixer("cache", cwd=tmp_path)
    assert (told.returncode, told.stdout) == (0, f"Nothing is kept yet. It would be in {cache_folder}\n")
    open_cache().keep(key_of("one"), [bytes(3_500_000)])
    told = mixer("cache", cwd=tmp_path)
    assert told.stdout == f"1 prepared loop is kept (3.5 MB of at most 500 MB) in {cache_folder}\n"
    told = mixer("cache", "--empty", cwd=tmp_path)
    assert (told.returncode, told.stdout) == (0, f"Dropped 1 prepared loop (3.5 MB) from {cache_folder}\n")
    assert not cache_folder.exists()
    assert mixer("cache", "--empty", cwd=tmp_path).stdout == f"There was nothing to drop in {cache_folder}\n"


def test_a_cache_that_is_off_is_said_to_be(tmp_path, monkeypatch):
    monkeypatch.setenv("MIXER_CACHE", "off")
    told = mixer("cache", "--empty", cwd=tmp_path)
    assert (told.returncode, told.stderr) == (0, "")
    assert told.stdout == "Nothing is kept: MIXER_CACHE says so, or there is no folder for it.\n"


@pytest.mark.skipif(os.name != "posix", reason="other systems have no such modes")
def test_a_folder_open_to_others_is_told_and_left_alone(tmp_path, monkeypatch):
    tmp_path.chmod(0o755)
    entry = tmp_path / f"{key_of('one')}.kept"
    entry.write_bytes(b"mine")
    monkeypatch.setenv("MIXER_CACHE", str(tmp_path))
    told = mixer("cache", "--empty", cwd=tmp_path)
    assert (told.returncode, told.stdout) == (2, "")
    assert f"{tmp_path} is no folder that is yours and closed to others" in told.stderr
    assert entry.read_bytes() == b"mine"
