"""The chunks a WAV file is made of: how each is laid out, and how to read them from a file that is not to be trusted.

RIFF: four letters, a 32-bit little-endian size, the content, and a pad byte after an odd size that the size does not
count (Multimedia Programming Interface and Data Specifications 1.0, IBM and Microsoft, 1991: from memory).
"""

from __future__ import annotations

import struct
from pathlib import Path
from typing import BinaryIO

from mixer.record import record

CHUNKS_READ = 1000
"""A file with more chunks than this is no song; what comes after is left unread."""
CHUNK_BYTES_READ = 1 << 20
"""Chunks longer than this are listed but not read, whatever their size claims."""
FILE_BYTES_READ = 1 << 24
"""Of all chunks together no more than this is read."""
_SOUND = (b"data", b"SSND")
RIFF_LIMIT = 0xFFFFFFFF
"""Sizes are 32 bits."""

_PCM_GUID = bytes.fromhex("0100000000001000800000aa00389b71")
_FLOAT_GUID = bytes.fromhex("0300000000001000800000aa00389b71")


class NotWavError(ValueError):
    """The file does not begin as a WAV file does, or an AIFF file where that was asked for."""


@record
class Marker:
    """A place in the song with a name; shown as a chapter by programs that know `cue ` and `labl`."""

    frame: int
    label: str


@record
class Chunk:
    """One chunk of a file; `content` is None where it was too long to be read or the file ends before it does."""

    name: bytes
    offset_bytes: int
    size_bytes: int
    content: bytes | None


def chunk(name: bytes, content: bytes) -> bytes:
    """A chunk as it stands in a file, pad byte included."""
    return name + struct.pack("<I", len(content)) + content + b"\0" * (len(content) % 2)


def format_pcm16(rate_hz: int) -> bytes:
    """`fmt ` of 16-bit stereo: the plain form that every player knows."""
    return chunk(b"fmt ", struct.pack("<HHIIHH", 1, 2, rate_hz, rate_hz * 4, 4, 16))


def format_extensible(rate_hz: int, bits: int, *, is_float: bool) -> bytes:
    """`fmt ` of stereo with more than 16 bits: tag 0xFFFE, front left and front right, PCM or float by its GUID."""
    frame_bytes = bits // 8 * 2
    plain = struct.pack("<HHIIHH", 0xFFFE, 2, rate_hz, rate_hz * frame_bytes, frame_bytes, bits)
    return chunk(b"fmt ", plain + struct.pack("<HHI", 22, bits, 3) + (_FLOAT_GUID if is_float else _PCM_GUID))


def marker_chunks(markers: list[Marker]) -> bytes:
    """`cue ` with the places and `LIST`/`adtl` with their names (UTF-8, zero-ended)."""
    if not markers:
        return b""
    points = [struct.pack("<II4sIII", at, m.frame, b"data", 0, 0, m.frame) for at, m in enumerate(markers, 1)]
    labels = [chunk(b"labl", struct.pack("<I", at) + _text(m.label)) for at, m in enumerate(markers, 1)]
    cue = chunk(b"cue ", struct.pack("<I", len(points)) + b"".join(points))
    return cue + chunk(b"LIST", b"adtl" + b"".join(labels))


def info_chunk(info: dict[str, str]) -> bytes:
    """`LIST`/`INFO`: tags such as INAM (title) and IART (artist); empty ones are left out."""
    tags = [chunk(_tag(name), _text(text)) for name, text in info.items() if text]
    return chunk(b"LIST", b"INFO" + b"".join(tags)) if tags else b""


def _tag(name: str) -> bytes:
    if len(name) != 4 or not name.isascii():
        raise ValueError(f"a tag has four letters, as INAM, not {name!r}")
    return name.encode("ascii")


def _text(text: str) -> bytes:
    """UTF-8 with an end mark; a zero inside would end it early, and lone surrogates can't be written."""
    return text.replace("\0", " ").encode("utf-8", "replace") + b"\0"


def read_chunks(path: str | Path) -> list[Chunk]:
    """The chunks of a WAV file, in order, the sound itself (`data`) listed but not read.

    Safe on any file: reads at most 16 MiB and 1000 chunks, trusts no size, and stops where the file stops.

    Raises
    ------
    NotWavError : if the file does not begin with RIFF....WAVE
    OSError : if it can't be read
    """
    return _chunks_of(path, b"RIFF", (b"WAVE",), "<")


def read_aiff_chunks(path: str | Path) -> list[Chunk]:
    """Read the same of an AIFF file: laid out alike, sizes big-endian (Apple, AIFF, 1989: from memory).

    Raises
    ------
    NotWavError : if the file does not begin with FORM....AIFF or FORM....AIFC
    OSError : if it can't be read
    """
    return _chunks_of(path, b"FORM", (b"AIFF", b"AIFC"), ">")


def _chunks_of(path: str | Path, form: bytes, kinds: tuple[bytes, ...], order: str) -> list[Chunk]:
    with Path(path).open("rb") as file:
        size = file.seek(0, 2)
        file.seek(0)
        head = file.read(12)
        if len(head) < 12 or head[:4] != form or head[8:] not in kinds:
            raise NotWavError("the file does not begin as a file of this kind does")
        return _chunks(file, size, order)


def _chunks(file: BinaryIO, file_bytes: int, order: str) -> list[Chunk]:
    chunks: list[Chunk] = []
    budget = FILE_BYTES_READ
    at = 12
    while at + 8 <= file_bytes and len(chunks) < CHUNKS_READ:
        file.seek(at)
        name, size = struct.unpack(order + "4sI", file.read(8))
        readable = name not in _SOUND and size <= min(CHUNK_BYTES_READ, budget) and at + 8 + size <= file_bytes
        content = file.read(size) if readable else None
        budget -= len(content or b"")
        chunks.append(Chunk(name, at + 8, size, content))
        at += 8 + size + size % 2
    return chunks
