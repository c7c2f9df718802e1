"""Files that are there whole or not at all.

A file is written beside its place under another name and moved into it when it is complete. Whatever happens
on the way (an error, Ctrl-C, a full disk), what stood there before stays as it was and nothing half-made is left.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import BinaryIO

from mixer.pattern import pattern

_UNFINISHED = pattern(r"\..+\.[0-9a-f]{8}\.part", re.DOTALL)


@contextmanager
def whole_file(path: Path, *, synced: bool = True) -> Iterator[BinaryIO]:
    """Open a file that takes its place only when the block ends without an error.

    Parameters
    ----------
    path : where it will stand; its folder is made if it is missing
    synced : wait until it is on the disk, so that it is whole even after a power cut

    Raises
    ------
    OSError
        If it cannot be written; nothing is left behind.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    # 50 signs of any script leave room for the ending under the usual limit of 255 bytes.
    beside = path.with_name(f".{path.name[:50]}.{os.urandom(4).hex()}.part")
    try:
        with beside.open("xb") as stream:
            yield stream
            if synced:
                stream.flush()
                os.fsync(stream.fileno())
        beside.replace(path)
    except BaseException:
        with suppress(OSError):
            beside.unlink()
        raise


def begin_to_disk(stream: BinaryIO, start: int) -> int:
    """Let the system bring to the disk what was written from byte `start` on, so that less is waited for at the end.

    Gives where it was written to. Where the system cannot be asked, nothing is done.
    """
    end = stream.tell()
    if hasattr(os, "posix_fadvise"):
        stream.flush()
        with suppress(OSError):  # some drives cannot be asked
            os.posix_fadvise(stream.fileno(), start, end - start, os.POSIX_FADV_DONTNEED)
    return end


def write_text(path: Path, text: str, *, synced: bool = True) -> None:
    """Write a text as UTF-8 with LF line ends, whole or not at all; halves of signs, which JSON can bring, as "?"."""
    with whole_file(path, synced=synced) as stream:
        stream.write(text.encode("utf-8", "replace"))


def drop_unfinished(folder: Path) -> None:
    """Take away what was left by programs that were killed while they wrote, where nobody else is writing now."""
    with suppress(OSError):
        for path in folder.iterdir():
            if _UNFINISHED.fullmatch(path.name):
                with suppress(OSError):
                    path.unlink()
