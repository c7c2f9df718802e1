"""One program at a time in a folder: the lock is the system's, and goes with the process that holds it."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

from mixer.store.lock import NAME, InUseError, only_one

HOLD = """
import sys, pathlib
from mixer.store.lock import only_one
with only_one(pathlib.Path(sys.argv[1])):
    print("held", flush=True)
    sys.stdin.read()
"""


@pytest.fixture
def holder(tmp_path):
    with subprocess.Popen(
        [sys.executable, "-c", HOLD, tmp_path], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as running:
        assert running.stdout.readline() == "held\n"
        yield running


def test_a_second_program_is_told_which_process_has_the_folder(tmp_path, holder):
    with pytest.raises(InUseError) as told, only_one(tmp_path):
        pass
    assert told.value.holder == str(holder.pid)
    holder.communicate("")
    with only_one(tmp_path):
        assert (tmp_path / NAME).read_text(encoding="ascii") == str(os.getpid())
    assert (tmp_path / NAME).read_bytes() == b""


def test_a_holder_that_is_killed_holds_nothing(tmp_path, holder):
    holder.kill()
    holder.wait()
    assert (tmp_path / NAME).read_bytes()  # what it wrote is still there
    with only_one(tmp_path):
        pass


@pytest.mark.parametrize("left", [b"", b"rm -rf", b"\x1b[2J", b"9" * 50])
def test_what_a_stranger_wrote_there_is_not_passed_on(tmp_path, left):
    with only_one(tmp_path):
        (tmp_path / NAME).write_bytes(left)
        with pytest.raises(InUseError) as told, only_one(tmp_path):
            pass
        assert told.value.holder in ("", "9" * 20)


def test_the_folder_is_free_again_after_an_error(tmp_path):
    with pytest.raises(ZeroDivisionError), only_one(tmp_path):
        raise ZeroDivisionError
    with only_one(tmp_path):
        pass
