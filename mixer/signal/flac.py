"""The blocks at the front of a FLAC file, in which it says what it is: how tags get in and out.

`fLaC`, then blocks: a byte with the last block's mark (128) and the kind, 24 bits of size, the content; after the last
block comes the sound (RFC 9639, section 8).
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from typing import BinaryIO

from mixer.signal.tags import BYTES_READ, CARRIED, Tags, fields_in_comments, flac_picture, vendor_of, vorbis_comments

MARK = b"fLaC"
_PADDING, _COMMENTS, _PICTURE = 1, 4, 6
_LAST = 128
_LARGEST = (1 << 24) - 1
_BLOCKS_READ = 1000


def write_tagged(sound: BinaryIO, out: BinaryIO, tags: Tags) -> None:
    """Copy a FLAC file with these tags in place of its own.

    Parameters
    ----------
    sound : the file, open for reading at its start
    out : where the copy goes
    tags : what it says about itself

    Raises
    ------
    ValueError : if it is no FLAC file, or the tags are too long for one (16 MiB)
    """
    blocks = list(_blocks(sound))
    vendor = next((vendor_of(content) for kind, content in blocks if kind == _COMMENTS), b"")
    kept = [(kind, content) for kind, content in blocks if kind not in (_PADDING, _COMMENTS)]
    if not kept:
        raise ValueError("the file does not begin as a FLAC file does")
    kept.insert(1, (_COMMENTS, vorbis_comments(vendor, tags)))
    if tags.cover:
        kept.insert(2, (_PICTURE, flac_picture(tags.cover)))
    out.write(MARK)
    for place, (kind, content) in enumerate(kept, start=1):
        if len(content) > _LARGEST:
            raise ValueError("the tags are too long for a FLAC file")
        out.write(bytes([kind + (_LAST if place == len(kept) else 0)]) + len(content).to_bytes(3, "big") + content)
    shutil.copyfileobj(sound, out)


def read_fields(file: BinaryIO) -> dict[str, str]:
    """What a FLAC file says about itself, by the names of Vorbis comments. Safe on any file."""
    return next((fields_in_comments(content) for kind, content in _blocks(file) if kind == _COMMENTS), {})


def read_carried(file: BinaryIO) -> str | None:
    """What a FLAC file carries for this program; None if nothing. Safe on any file."""
    return read_fields(file).get(CARRIED)


def _blocks(file: BinaryIO) -> Iterator[tuple[int, bytes]]:
    """Kind and content of each block; the file then stands where the sound begins."""
    if file.read(4) != MARK:
        return
    read = 0
    for _ in range(_BLOCKS_READ):
        head = file.read(4)
        size = int.from_bytes(head[1:], "big")
        read += size
        if len(head) < 4 or read > BYTES_READ:
            return
        content = file.read(size)
        if len(content) < size:
            return
        yield head[0] % _LAST, content
        if head[0] >= _LAST:
            return
