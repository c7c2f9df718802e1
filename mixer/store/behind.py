"""A file that is written by a second thread, while what comes next is made.

Handing its bytes to the system takes a thirtieth of the time in which a song is made, and others may run meanwhile.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import BinaryIO

from mixer.store.whole import begin_to_disk

AT_ONCE_BYTES = 2_000_000
"""Handed over at a time, and then on its way to the disk; waiting for all of it at the end took 8 ms."""


@contextmanager
def written_behind(stream: BinaryIO) -> Iterator[Behind]:
    """Open the way into a file through a second thread; when the block ends without an error, all is written.

    Parameters
    ----------
    stream : open for writing; nobody else may write to it meanwhile

    Raises
    ------
    OSError
        If something could not be written: at the latest when the block ends.
    """
    behind = Behind(stream)
    try:
        yield behind
        behind.finish()
    finally:
        behind.wait()


class Behind:
    """What is written, told and sought here happens to the file, in this order."""

    def __init__(self, stream: BinaryIO) -> None:
        self._stream = stream
        self._pieces: list[bytes] = []
        self._size_bytes = 0
        self._on_its_way = stream.tell()
        self._thread: threading.Thread | None = None
        self._error: BaseException | None = None

    def write(self, piece: bytes) -> int:
        """Write bytes, soon."""
        self._pieces.append(piece)
        self._size_bytes += len(piece)
        if self._size_bytes >= AT_ONCE_BYTES:
            self._hand_over()
        return len(piece)

    def tell(self) -> int:
        """Give where the file stands, with all written."""
        self.finish()
        return self._stream.tell()

    def seek(self, at: int) -> int:
        """Go on from another place, with all written."""
        self.finish()
        return self._stream.seek(at)

    def finish(self) -> None:
        """Write what is left, and raise what went wrong."""
        for piece in self._taken():
            self._stream.write(piece)

    def wait(self) -> None:
        """Wait for the thread."""
        if self._thread is not None:
            self._thread.join()
            self._thread = None

    def _hand_over(self) -> None:
        self._thread = threading.Thread(target=self._write, args=[self._taken()], daemon=True)
        self._thread.start()

    def _taken(self) -> list[bytes]:
        """What waits to be written, once all before it is."""
        self.wait()
        if self._error is not None:
            raise self._error
        pieces, self._pieces, self._size_bytes = self._pieces, [], 0
        return pieces

    def _write(self, pieces: list[bytes]) -> None:
        try:
            for piece in pieces:
                self._stream.write(piece)
            self._on_its_way = begin_to_disk(self._stream, self._on_its_way)
        except BaseException as error:  # noqa: BLE001 - whoever writes is told
            self._error = error
