"""A cache of what can be made again: bytes under keys, in one folder that is private to the user.

Nothing depends on it. Whatever goes wrong (no home, a full disk, a file where the folder should be, a folder that is
someone else's) means that there is no cache, and nobody is told. An entry is written beside its place and moved into
it, so that a reader sees all of it or nothing however many programs run at once and wherever one is killed, and no
lock can be left behind. Each entry carries a checksum: one that was damaged is dropped, and made anew.

The cache is bounded; what was used longest ago goes first. Small machines have no clock to trust, so the order of use
is counted: each use gives a file a later time than any other file has, whatever the clock says.
"""

from __future__ import annotations

import os
import shutil
import stat
import struct
import sys
import zlib
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import TypeAlias

from mixer.pattern import pattern
from mixer.record import record
from mixer.store.whole import whole_file

VARIABLE = "MIXER_CACHE"
OFF = "off"
MOST_BYTES = 500_000_000
# On a small disk no more than this part of what would be free without the cache: songs need the room.
SHARE_OF_FREE = 0.1

_OUR_NAMES = pattern(r"[0-9a-f]{32}\.kept|\.[0-9a-f]{32}\.kept\.[0-9a-f]+\.part")
_HEAD = struct.Struct("<8sQII")  # mark, length, checksum, nothing
_MARK = b"mixkept1"
# Times of use are counted in steps of 2 s (some file systems know no finer) from a moment that all can write down.
_FIRST_USE, _STEP = 1_000_000_000, 2
_FAILURES = (OSError, ValueError, OverflowError)

Bytes: TypeAlias = bytes | memoryview


@record
class Usage:
    """How much is kept."""

    entries: int = 0
    size_bytes: int = 0


@record
class _File:
    """A file of the cache: an entry, or what is left of one that was never finished."""

    path: str
    size_bytes: int
    used: int
    unfinished: bool


class Cache:
    """What was kept in a folder.

    Parameters
    ----------
    folder : made when something is kept; None for no cache
    most_bytes : how much is kept at most
    """

    def __init__(self, folder: Path | None, most_bytes: int = MOST_BYTES) -> None:
        self.folder = folder
        self.most_bytes = most_bytes
        self._last_use = 0

    @property
    def usable(self) -> bool:
        """Whether things are, or could be, kept: there is a folder, and if it exists, it is the user's alone."""
        if self.folder is None:
            return False
        try:
            return _is_private(self.folder)
        except FileNotFoundError:
            return True
        except _FAILURES:
            return False

    def read(self, key: str) -> bytes | None:
        """Give what was kept under a key; None if nothing was, or it is damaged."""
        try:
            if self.folder is None or not _is_private(self.folder):
                return None
            path = _place(self.folder, key)
            content = _read_entry(path, key)
        except _FAILURES:
            return None
        with suppress(*_FAILURES):
            if content is None:
                path.unlink()
            else:
                self._mark_used(path)
        return content

    def keep(self, key: str, parts: Sequence[Bytes]) -> None:
        """Keep some bytes, given in pieces, if that can be done.

        Parameters
        ----------
        key : 32 hexadecimal signs
        parts : the content
        """
        if self.folder is None:
            return
        with suppress(*_FAILURES):
            self.folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            length = sum(memoryview(part).nbytes for part in parts)
            if not _is_private(self.folder) or not self._make_room(_HEAD.size + length):
                return
            path = _place(self.folder, key)
            # Not synced: what a power cut leaves of it fails its checksum.
            with whole_file(path, synced=False) as stream:
                stream.write(_HEAD.pack(_MARK, length, _checksum(key, parts), 0))
                for part in parts:
                    stream.write(part)
            self._mark_used(path)

    def usage(self) -> Usage:
        """Count what is kept."""
        files = self._files() if self.usable else []
        return Usage(sum(not file.unfinished for file in files), sum(file.size_bytes for file in files))

    def empty(self) -> Usage:
        """Drop everything, and tell how much that was. Files that are not the cache's own stay."""
        gone = [file for file in (self._files() if self.usable else []) if _drop(file)]
        if self.folder is not None and gone:
            with suppress(OSError):
                self.folder.rmdir()
        return Usage(sum(not file.unfinished for file in gone), sum(file.size_bytes for file in gone))

    def _make_room(self, wanted_bytes: int) -> bool:
        """Drop what was used longest ago, unfinished files first, until there is room; False if there is none."""
        files = sorted(self._files(), key=lambda file: (not file.unfinished, file.used, file.path))
        kept_bytes = sum(file.size_bytes for file in files)
        free_bytes = shutil.disk_usage(str(self.folder)).free
        allowed = min(self.most_bytes, int(SHARE_OF_FREE * (free_bytes + kept_bytes)))
        if wanted_bytes > allowed:
            return False
        for file in files:
            if kept_bytes + wanted_bytes <= allowed:
                break
            if _drop(file):
                kept_bytes -= file.size_bytes
        return kept_bytes + wanted_bytes <= allowed

    def _mark_used(self, path: Path) -> None:
        """Make a file the one that was used last."""
        if not self._last_use:
            self._files()
        self._last_use += _STEP
        os.utime(path, (self._last_use, self._last_use))

    def _files(self) -> list[_File]:
        """Find the cache's files; also which use was the last, by whichever program."""
        found: list[_File] = []
        with suppress(FileNotFoundError), os.scandir(str(self.folder)) as listed:
            for each in listed:
                if _OUR_NAMES.fullmatch(each.name):
                    with suppress(OSError):
                        seen = each.stat(follow_symlinks=False)
                        unfinished = each.name.startswith(".")
                        found.append(_File(each.path, seen.st_size, int(seen.st_mtime), unfinished))
        finished = [file.used for file in found if not file.unfinished]
        self._last_use = max(self._last_use, _FIRST_USE, *finished)
        return found


def open_cache() -> Cache:
    """Open the user's cache: where `MIXER_CACHE` says, or in the system's folder for caches."""
    return Cache(cache_folder())


def cache_folder() -> Path | None:
    """Find where the user's cache belongs; None where `MIXER_CACHE` is `off`, or the user has no place of their own.

    On Linux that is `$XDG_CACHE_HOME/mixer` or `~/.cache/mixer` (XDG Base Directory Specification: relative paths are
    to be ignored), on macOS `~/Library/Caches/mixer`, on Windows `mixer` in the local application data.
    """
    named = os.environ.get(VARIABLE, "").strip()
    if named:
        return None if named.lower() == OFF else Path(named).absolute()
    with suppress(RuntimeError):
        base = _system_folder()
        return base / "mixer" if base.is_absolute() else None
    return None


def _system_folder() -> Path:
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Caches"
    named = Path(os.environ.get("XDG_CACHE_HOME", ""))
    return named if named.is_absolute() else Path.home() / ".cache"


def _is_private(folder: Path) -> bool:
    """Whether a folder is one (not a link to one), the user's own, and closed to others."""
    seen = os.lstat(folder)
    if not stat.S_ISDIR(seen.st_mode):
        return False
    if sys.platform == "win32":  # there the folder's place keeps others out
        return True
    return seen.st_uid == os.geteuid() and not seen.st_mode & (stat.S_IRWXG | stat.S_IRWXO)


def _place(folder: Path, key: str) -> Path:
    return folder / f"{key}.kept"


def _read_entry(path: Path, key: str) -> bytes | None:
    """Read an entry; None if it is damaged."""
    with path.open("rb", buffering=0) as stream:
        head = stream.read(_HEAD.size)
        if len(head) != _HEAD.size:
            return None
        mark, length, checksum, _ = _HEAD.unpack(head)
        if mark != _MARK or os.fstat(stream.fileno()).st_size != _HEAD.size + length:
            return None
        content = stream.read(length)
    return content if len(content) == length and _checksum(key, [content]) == checksum else None


def _checksum(key: str, parts: Sequence[Bytes]) -> int:
    """CRC-32 (as in ISO 3309) of the key and the content: it finds accidents, and only the user can write here."""
    found = zlib.crc32(key.encode("ascii"))
    for part in parts:
        found = zlib.crc32(part, found)
    return found


def _drop(file: _File) -> bool:
    try:
        os.unlink(file.path)  # noqa: PTH108 - a path as text: there are hundreds, and most stay
    except FileNotFoundError:
        return True
    except OSError:
        return False
    return True
