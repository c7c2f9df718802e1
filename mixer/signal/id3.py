"""Tags in front of MP3 sound (ID3v2.3, the form that the most players read).

`ID3`, version, flags and a size of four times 7 bits; then frames: four letters, a 32-bit size, flags, content. Text
begins with its encoding: 1 is UTF-16 with its byte order mark (id3.org, "ID3 tag version 2.3.0", 1999: from memory).
Version 2.4, into which other programs may have changed it, has sizes of 7 bits and UTF-8 as encoding 3.
"""

from __future__ import annotations

import shutil
import struct
from typing import BinaryIO

from mixer.signal.tags import BYTES_READ, CARRIED, FIELDS_READ, Tags, clean

MARK = b"ID3"
_UTF16 = b"\x01"
_ENCODINGS = ("latin-1", "utf-16", "utf-16-be", "utf-8")
_WIDE = (1, 2)


def write_tagged(sound: BinaryIO, out: BinaryIO, tags: Tags) -> None:
    """Copy MP3 sound, which has no tags yet, behind these.

    Parameters
    ----------
    sound : open for reading at its start
    out : where the copy goes
    tags : what it says about itself

    Raises
    ------
    ValueError : if the tags are too long (256 MiB)
    """
    frames = b"".join(
        [
            _frame(b"TIT2", tags.title),
            _frame(b"TPE1", tags.artist),
            _frame(b"COMM", tags.comment, b"und", ""),
            _frame(b"TSSE", tags.software),
            _frame(b"TXXX", tags.carried, b"", CARRIED),
            _picture(tags.cover),
        ]
    )
    if len(frames) >= 1 << 28:
        raise ValueError("the tags are too long for an MP3 file")
    out.write(MARK + b"\x03\0\0" + bytes(len(frames) >> shift & 127 for shift in (21, 14, 7, 0)) + frames)
    shutil.copyfileobj(sound, out)


def read_carried(file: BinaryIO) -> str | None:
    """What an MP3 file carries for this program; None if nothing. Safe on any file."""
    head = file.read(10)
    if len(head) < 10 or head[:3] != MARK or head[3] not in (3, 4):
        return None
    version, left = head[3], _seven_bits(head[6:])
    for _ in range(FIELDS_READ):
        head = file.read(10)
        left -= 10
        if left < 0 or len(head) < 10 or not head[:4].isalnum():
            return None
        size = _seven_bits(head[4:8]) if version == 4 else int.from_bytes(head[4:8], "big")
        left -= size
        if left < 0:
            return None
        if head[:4] != b"TXXX" or size > BYTES_READ:
            file.seek(size, 1)
        elif (text := _carried(file.read(size))) is not None:
            return text
    return None


def _frame(name: bytes, text: str, language: bytes = b"", about: str | None = None) -> bytes:
    """A frame with a text; where `about` is given, it says what the text is about."""
    if not text:
        return b""
    head = b"" if about is None else _utf16(about) + b"\0\0"
    content = _UTF16 + language + head + _utf16(clean(text))
    return name + struct.pack(">IH", len(content), 0) + content


def _picture(png: bytes) -> bytes:
    """A frame with a picture of the front cover (kind 3), without a description."""
    if not png:
        return b""
    content = b"\0image/png\0\x03\0" + png
    return b"APIC" + struct.pack(">IH", len(content), 0) + content


def _utf16(text: str) -> bytes:
    return b"\xff\xfe" + text.encode("utf-16-le")


def _carried(content: bytes) -> str | None:
    """The text of a frame, if it is the one that this program reads."""
    if not content or content[0] >= len(_ENCODINGS):
        return None
    encoding, body = _ENCODINGS[content[0]], content[1:]
    for at in range(0, len(body), 2 if content[0] in _WIDE else 1):
        end = b"\0\0" if content[0] in _WIDE else b"\0"
        if body[at : at + len(end)] == end:
            about, text = body[:at], body[at + len(end) :]
            found = about.decode(encoding, "replace") == CARRIED
            return text.decode(encoding, "replace").rstrip("\0") if found else None
    return None


def _seven_bits(size: bytes) -> int:
    return sum((byte & 127) << shift for byte, shift in zip(size, (21, 14, 7, 0), strict=True))
