"""A file that is written by a second thread, while what comes next is made.

Handing its bytes to the system takes a thirtieth of the time in which a song is made, and others may run meanwhile.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import BinaryIO

from mixer.store.whole import begin_to_disk

AT_ONCE_BYTES = 1 << 21
"""Handed over at a time, and then on its way to the disk; waiting for all of it at the end took 8 ms. In one piece,
since with every piece that it writes a thread waits for its turn."""


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
        self._room, self._spare = memoryview(bytearray(AT_ONCE_BYTES)), memoryview(bytearray(AT_ONCE_BYTES))
        self._filled_bytes = 0
        self._on_its_way = stream.tell()
        self._thread: threading.Thread | None = None
        self._error: BaseException | None = None

    def write(self, piece: bytes | memoryview) -> int:
        """Write bytes, soon."""
        rest = memoryview(piece).cast("B")
        size_bytes = len(rest)
        while rest:
            end = min(self._filled_bytes + len(rest), AT_ONCE_BYTES)
            taken = end - self._filled_bytes
            self._room[self._filled_bytes : end] = rest[:taken]
            rest = rest[taken:]
            self._filled_bytes = end
            if end == AT_ONCE_BYTES:
                self._hand_over()
        return size_bytes

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
        self._stream.write(self._taken())

    def wait(self) -> None:
        """Wait for the thread."""
        if self._thread is not None:
            self._thread.join()
            self._thread = None

    def _hand_over(self) -> None:
        self._thread = threading.Thread(target=self._write, args=[self._taken()], daemon=True)
        self._thread.start()

    def _taken(self) -> memoryview:
        """What waits to be written, once all before it is; what comes next goes elsewhere meanwhile."""
        self.wait()
        if self._error is not None:
            raise self._error
        taken = self._room[: self._filled_bytes]
        self._room, self._spare, self._filled_bytes = self._spare, self._room, 0
        return taken

    def _write(self, piece: memoryview) -> None:
        try:
            self._stream.write(piece)
            self._on_its_way = begin_to_disk(self._stream, self._on_its_way)
        except BaseException as error:  # noqa: BLE001 - whoever writes is told
            self._error = error
