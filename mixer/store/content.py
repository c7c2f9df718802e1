"""Keys by which contents are known: the same bytes have the same key, under whatever name and wherever."""

from __future__ import annotations

import functools
import hashlib
from collections.abc import Iterable
from pathlib import Path

_KEY_BYTES = 16


def content_key(path: Path) -> str:
    """Give the key of a file's content, 32 hexadecimal signs (BLAKE2b, RFC 7693)."""
    found = hashlib.blake2b(digest_size=_KEY_BYTES)
    with path.open("rb") as stream:
        while part := stream.read(1 << 20):
            found.update(part)
    return found.hexdigest()


def content_key_once(path: Path) -> str:
    """Give the same, read once in a program for as long as the file looks untouched: thirty songs share a few loops."""
    seen = path.stat()
    return _key_as_seen(path, seen.st_size, seen.st_mtime_ns, seen.st_ino)


@functools.lru_cache(maxsize=512)
def _key_as_seen(path: Path, *_seen: int) -> str:
    return content_key(path)


def key_of(*facts: str) -> str:
    """Give the key of some texts, in their order, 32 hexadecimal signs (BLAKE2b, RFC 7693)."""
    found = hashlib.blake2b(digest_size=_KEY_BYTES)
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
    files = sorted(path for folder in folders for path in folder.iterdir() if path.suffix == ".py")
    if not files:
        raise FileNotFoundError
    return key_of(*(f"{path.parent.name}/{path.name} {content_key_once(path)}" for path in files))
