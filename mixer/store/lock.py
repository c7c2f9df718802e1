"""A folder that one program at a time may fill: a lock that is gone with the process that held it, however it ended.

The system keeps it, not the file: a file that is left behind locks nothing. Where a file system knows no locks (some
shared drives), there is none, and everyone goes on.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from io import FileIO
from pathlib import Path

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl

NAME = ".in use"
# Windows keeps others from reading what is locked, so what is locked lies far behind what is written.
_FAR = 1 << 30


class InUseError(Exception):
    """Another program has the folder; `holder` is the number of its process, empty where that cannot be told."""

    def __init__(self, holder: str) -> None:
        super().__init__(holder)
        self.holder = holder


@contextmanager
def only_one(folder: Path) -> Iterator[None]:
    """Have a folder alone while the block lasts.

    Parameters
    ----------
    folder : made if it is missing

    Raises
    ------
    InUseError
        If another program has it.
    OSError
        If nothing can be written there.
    """
    folder.mkdir(parents=True, exist_ok=True)
    with (folder / NAME).open("a+b", buffering=0) as stream:
        if not _locked(stream):
            stream.seek(0)
            number = stream.read(20) or b""
            raise InUseError(number.decode("ascii") if number.isdigit() else "")
        try:
            _say_who(stream, str(os.getpid()))
            yield
        finally:
            _say_who(stream, "")
            _unlock(stream)


def _say_who(stream: FileIO, holder: str) -> None:
    with suppress(OSError):  # on a full disk, say; the lock holds all the same
        stream.truncate(0)
        stream.write(holder.encode())


def _locked(stream: FileIO) -> bool:
    """Take the lock; False where another process has it, True too where there are no locks."""
    if sys.platform == "win32":
        try:
            stream.seek(_FAR)
            msvcrt.locking(stream.fileno(), msvcrt.LK_NBLCK, 1)
        except PermissionError:
            return False
        except OSError:
            return True
        return True
    try:
        fcntl.flock(stream, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except (BlockingIOError, PermissionError):
        return False
    except OSError:
        return True
    return True


def _unlock(stream: FileIO) -> None:
    """Give the lock back; Windows wants it done before the file is closed."""
    if sys.platform == "win32":
        with suppress(OSError):
            stream.seek(_FAR)
            msvcrt.locking(stream.fileno(), msvcrt.LK_UNLCK, 1)
