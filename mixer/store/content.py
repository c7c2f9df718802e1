"""Keys by which contents are known: the same bytes have the same key, under whatever name and wherever."""

from __future__ import annotations

import hashlib
from pathlib import Path

_KEY_BYTES = 16


def content_key(path: Path) -> str:
    """Give the key of a file's content, 32 hexadecimal signs (BLAKE2b, RFC 7693)."""
    found = hashlib.blake2b(digest_size=_KEY_BYTES)
    with path.open("rb") as stream:
        while part := stream.read(1 << 20):
            found.update(part)
    return found.hexdigest()
