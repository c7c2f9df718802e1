"""Keys by which contents are known: the same bytes have the same key, under whatever name and wherever."""

from __future__ import annotations

import functools
import os
from collections.abc import Iterable
from pathlib import Path

try:
    # The same function as hashlib's, which loads a whole library of ciphers first: 3 ms of every render.
    from _blake2 import blake2b
except ImportError:  # a Python made without it
    from hashlib import blake2b

_KEY_BYTES = 16
_READ_BYTES = 1 << 16  # at a time: larger pieces of memory come from the system, page by page, for every file


def content_key(path: Path | str) -> str:
    """Give the key of a file's content, 32 hexadecimal signs (BLAKE2b, RFC 7693)."""
    found = blake2b(digest_size=_KEY_BYTES)
    room = memoryview(bytearray(_READ_BYTES))
    with open(path, "rb", buffering=0) as stream:  # noqa: PTH123 - a path as text is not made a Path for this
        while count := stream.readinto(room):
            found.update(room[:count])
    return found.hexdigest()


def content_key_if_read(path: Path) -> str:
    """Give the same; empty where there is no file or it cannot be read."""
    try:
        return content_key(path) if path.is_file() else ""
    except OSError:
        return ""


def content_key_once(path: Path | str) -> str:
    """Give the same, read once in a program for as long as the file looks untouched: thirty songs share a few loops."""
    seen = os.stat(path)  # noqa: PTH116 - the same
    return _key_as_seen(path, seen.st_size, seen.st_mtime_ns, seen.st_ino)


@functools.lru_cache(maxsize=512)
def _key_as_seen(path: Path | str, *_seen: int) -> str:
    return content_key(path)


def key_of(*facts: str) -> str:
    """Give the key of some texts, in their order, 32 hexadecimal signs (BLAKE2b, RFC 7693)."""
    found = blake2b(digest_size=_KEY_BYTES)
    for fact in facts:
        text = fact.encode("utf-8", "surrogatepass")
        found.update(len(text).to_bytes(8, "little") + text)
    return found.hexdigest()


def sources_key(folders: Iterable[Path]) -> str:
    """Give the key of the source texts in some folders, 32 hexadecimal signs; what they make differs where they do.

    Raises
    ------
    OSError
        If there are none.
    """
    found = ((folder.name, each) for folder in folders for each in os.scandir(folder))
    files = sorted((room, each.name, each.path) for room, each in found if each.name.endswith(".py"))
    if not files:
        raise FileNotFoundError
    return key_of(*(f"{room}/{name} {content_key_once(path)}" for room, name, path in files))
