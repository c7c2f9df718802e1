"""The pages of an Ogg file: how tags get into Ogg Vorbis and out of it.

A page: `OggS`, version, flags, 64 bits of position, 32 bits each of the stream's number, the page's number and a
checksum, then how the content is cut into segments of at most 255 bytes, then the content; a packet ends with the first
segment shorter than that (RFC 3533, section 6). Vorbis has three packets before the sound: what it is, comments, and
set-up; the first has a page to itself and the sound begins on a new page (Vorbis I specification, appendix A: from
memory).

Why not the library's own tags: it gives each stream a number by chance, so that no song would have the same bytes
twice. All pages have to be written anew for that anyway.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterable, Iterator
from itertools import chain
from typing import BinaryIO

from mixer.record import record
from mixer.signal.tags import BYTES_READ, CARRIED, Tags, fields_in_comments, vendor_of, vorbis_comments

MARK = b"OggS"
_HEAD = struct.Struct("<4sBBqIIIB")
_CONTINUED = 1
_UNFINISHED = -1
_COMMENTS = b"\x03vorbis"
_OPUS_COMMENTS = b"OpusTags"  # RFC 7845, section 5.2
_FRAMING = b"\x01"
_MIRRORED = bytes(int(f"{byte:08b}"[::-1], 2) for byte in range(256))


@record
class Page:
    """One page.

    Parameters
    ----------
    flags : 1 where it begins inside a packet, 2 on the first page, 4 on the last
    position : frames up to here; -1 where no packet ends
    segments : their lengths
    content : bytes
    """

    flags: int
    position: int
    segments: bytes
    content: bytes


def checksum(data: bytes) -> int:
    """Ogg's checksum: the polynomial of zlib's, but highest bit first and not inverted."""
    mirrored = zlib.crc32(data.translate(_MIRRORED), 0xFFFFFFFF) ^ 0xFFFFFFFF
    return int(f"{mirrored:032b}"[::-1], 2)


def write_tagged(sound: BinaryIO, out: BinaryIO, tags: Tags) -> None:
    """Copy an Ogg Vorbis file with these tags in place of its own, and a stream number that follows from them.

    Parameters
    ----------
    sound : the file, open for reading at its start
    out : where the copy goes
    tags : what it says about itself

    Raises
    ------
    ValueError : if it is no Ogg Vorbis file
    """
    pages = read_pages(sound)
    first = next(pages, None)
    packets = _packets(pages, 2)
    if first is None or len(packets) < 2 or not packets[0].startswith(_COMMENTS):
        raise ValueError("the file does not begin as an Ogg Vorbis file does")
    comments = vorbis_comments(vendor_of(packets[0][len(_COMMENTS) :]), tags, in_comments=True)
    stream = zlib.crc32(comments)
    front = [first, *_paged([_COMMENTS + comments + _FRAMING, packets[1]])]
    out.writelines(_written(page, stream, number) for number, page in enumerate(chain(front, pages)))


def read_fields(file: BinaryIO) -> dict[str, str]:
    """What an Ogg Vorbis or Opus file says about itself, by the names of Vorbis comments. Safe on any file."""
    packets = _packets(read_pages(file), 2)
    for mark in (_COMMENTS, _OPUS_COMMENTS):
        if len(packets) == 2 and packets[1].startswith(mark):
            return fields_in_comments(packets[1][len(mark) :])
    return {}


def read_carried(file: BinaryIO) -> str | None:
    """What an Ogg Vorbis file carries for this program; None if nothing. Safe on any file."""
    return read_fields(file).get(CARRIED)


def read_pages(file: BinaryIO) -> Iterator[Page]:
    """The pages of a file, until it ends or something else stands there."""
    while len(head := file.read(_HEAD.size)) == _HEAD.size:
        mark, _, flags, position, _, _, _, count = _HEAD.unpack(head)
        segments = file.read(count)
        content = file.read(sum(segments))
        if mark != MARK or len(segments) < count or len(content) < sum(segments):
            return
        yield Page(flags, position, segments, content)


def _packets(pages: Iterator[Page], count: int) -> list[bytes]:
    """The next packets; fewer where the pages end or there is more of them than anyone would write."""
    done: list[bytes] = []
    packet = bytearray()
    read = 0
    while len(done) < count and read < BYTES_READ and (page := next(pages, None)) is not None:
        read += len(page.content) + _HEAD.size
        at = 0
        for length in page.segments:
            packet += page.content[at : at + length]
            at += length
            if length < 255:
                done.append(bytes(packet))
                packet.clear()
    return done[:count]


def _paged(packets: Iterable[bytes]) -> Iterator[Page]:
    """Packets before the sound, as pages."""
    packets = list(packets)
    segments = b"".join(b"\xff" * (len(packet) // 255) + bytes([len(packet) % 255]) for packet in packets)
    content = b"".join(packets)
    continued = False
    at = 0
    for start in range(0, len(segments), 255):
        some = segments[start : start + 255]
        position = 0 if min(some) < 255 else _UNFINISHED
        yield Page(_CONTINUED if continued else 0, position, some, content[at : at + sum(some)])
        continued = some[-1] == 255
        at += sum(some)


def _written(page: Page, stream: int, number: int) -> bytes:
    def with_checksum(value: int) -> bytes:
        head = _HEAD.pack(MARK, 0, page.flags, page.position, stream, number, value, len(page.segments))
        return head + page.segments + page.content

    return with_checksum(checksum(with_checksum(0)))
