"""Tags in front of MP3 sound (ID3v2.3, the form that the most players read).

`ID3`, version, flags and a size of four times 7 bits; then frames: four letters, a 32-bit size, flags, content. Text
begins with its encoding: 1 is UTF-16 with its byte order mark (id3.org, "ID3 tag version 2.3.0", 1999: from memory).
Version 2.4, into which other programs may have changed it, has sizes of 7 bits and UTF-8 as encoding 3.
"""

from __future__ import annotations

import shutil
import struct
from collections.abc import Iterator
from typing import BinaryIO

from mixer.signal.tags import BYTES_READ, CARRIED, FIELDS_READ, Tags, clean

MARK = b"ID3"
_UTF16 = b"\x01"
_ENCODINGS = ("latin-1", "utf-16", "utf-16-be", "utf-8")


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


def read_fields(file: BinaryIO) -> dict[str, str]:
    """What the tags of a file say, by the letters of their frames; texts of a user's own by their names in capitals.

    Safe on any file: trusts no length, and reads no more than what texts need.
    """
    found: dict[str, str] = {}
    for name, content in _frames(file):
        if name in ("TXXX", "COMM"):
            about, text = _about_and_text(content[:1] + content[4:] if name == "COMM" else content)
            if name == "TXXX" or not about:
                found.setdefault(about.upper() or name, text)
        else:
            found.setdefault(name, _decoded(content[:1], content[1:]) if name[0] == "T" else _decoded(b"\0", content))
    return found


def read_carried(file: BinaryIO) -> str | None:
    """What an MP3 file carries for this program; None if nothing. Safe on any file."""
    return read_fields(file).get(CARRIED)


def _frames(file: BinaryIO) -> Iterator[tuple[str, bytes]]:
    """Frames with texts and addresses."""
    head = file.read(10)
    if len(head) < 10 or head[:3] != MARK or head[3] not in (3, 4):
        return
    version, left = head[3], _seven_bits(head[6:])
    for _ in range(FIELDS_READ):
        head = file.read(10)
        left -= 10
        if left < 0 or len(head) < 10 or not head[:4].isalnum():
            return
        size = _seven_bits(head[4:8]) if version == 4 else int.from_bytes(head[4:8], "big")
        left -= size
        if left < 0:
            return
        if head[:1] in (b"T", b"W") or head[:4] == b"COMM":
            yield head[:4].decode("ascii"), file.read(min(size, BYTES_READ))
            size = max(0, size - BYTES_READ)
        file.seek(size, 1)


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


def _about_and_text(content: bytes) -> tuple[str, str]:
    """What a text is about, and the text; empty where there is no end between them."""
    wide = content[:1] in (b"\1", b"\2")
    end = b"\0\0" if wide else b"\0"
    for at in range(1, len(content), 2 if wide else 1):
        if content[at : at + len(end)] == end:
            return _decoded(content[:1], content[1:at]), _decoded(content[:1], content[at + len(end) :])
    return "", ""


def _decoded(encoding: bytes, text: bytes) -> str:
    """A text in one of the four encodings; of several texts in one frame the first."""
    number = encoding[0] if encoding else len(_ENCODINGS)
    return text.decode(_ENCODINGS[number], "replace").partition("\0")[0] if number < len(_ENCODINGS) else ""


def _seven_bits(size: bytes) -> int:
    return sum((byte & 127) << shift for byte, shift in zip(size, (21, 14, 7, 0), strict=True))
