"""What a song file says about itself, and Vorbis comments, in which FLAC and Ogg files say it.

Vorbis comments: a length and the encoder's name, the number of fields, and each field as a length and `NAME=value` in
UTF-8; all numbers 32 bits, little-endian (Xiph.Org, "Ogg Vorbis I format specification: comment field and header
specification": from memory). `flac`, `ogg` and `id3` know where in a file this stands.
"""

from __future__ import annotations

import base64
import struct

from mixer.record import record

CARRIED = "RECIPE_MIXER"
"""The name of the field that holds what only this program reads."""
FIELDS_READ = 1000
"""A file with more fields than this is no song; what comes after is left unread."""
BYTES_READ = 1 << 22
"""Of what a file says about itself, no more than this is read."""


@record
class Tags:
    """What a song file says about itself; empty ones are left out.

    Parameters
    ----------
    title, artist, comment : for people
    software : what made the file
    carried : what only this program reads, text
    cover : a picture, PNG; WAV has no place for one
    """

    title: str = ""
    artist: str = ""
    comment: str = ""
    software: str = ""
    carried: str = ""
    cover: bytes = b""


def clean(text: str) -> str:
    """The text without zeros, which would end it early, and without halves of signs, which can't be written."""
    return text.replace("\0", " ").encode("utf-8", "replace").decode("utf-8")


def vorbis_comments(vendor: bytes, tags: Tags, *, in_comments: bool = False) -> bytes:
    """Give the tags as Vorbis comments.

    Parameters
    ----------
    vendor : the encoder's name, as it wrote it itself
    tags : what to say
    in_comments : whether the picture stands here too, as in Ogg; FLAC has a block of its own for it
    """
    named = {
        "TITLE": tags.title,
        "ARTIST": tags.artist,
        "COMMENT": tags.comment,
        "ENCODER": tags.software,
        CARRIED: tags.carried,
    }
    if tags.cover and in_comments:
        named["METADATA_BLOCK_PICTURE"] = base64.b64encode(flac_picture(tags.cover)).decode()
    fields = [f"{name}={clean(text)}".encode() for name, text in named.items() if text]
    return _counted(vendor) + struct.pack("<I", len(fields)) + b"".join(map(_counted, fields))


def flac_picture(png: bytes) -> bytes:
    """Give a picture of the front cover as FLAC has it in a block and Ogg in a field (RFC 9639, section 8.8).

    Kind 3, media type, description, then width, height, bits a pixel and colours of a palette; each text and the
    picture behind a 32-bit size; all numbers big-endian.
    """
    width, height = struct.unpack_from(">II", png, len(b"\x89PNG\r\n\x1a\n") + 8)
    kind = b"image/png"
    head = struct.pack(">II", 3, len(kind)) + kind + struct.pack(">I", 0)
    return head + struct.pack(">5I", width, height, 24, 0, len(png)) + png


def vendor_of(comments: bytes) -> bytes:
    """The encoder's name in Vorbis comments; empty where they are damaged."""
    return _field(comments, 0)[0]


def fields_in_comments(comments: bytes) -> dict[str, str]:
    """What Vorbis comments say, by name in capitals; of a name that stands there twice the first. Trusts no length."""
    found: dict[str, str] = {}
    _, at = _field(comments, 0)
    at += 4
    for _ in range(FIELDS_READ):
        field, at = _field(comments, at)
        if not field:
            break
        name, _, value = field.partition(b"=")
        found.setdefault(name.decode("ascii", "replace").upper(), value.decode("utf-8", "replace"))
    return found


def _counted(text: bytes) -> bytes:
    return struct.pack("<I", len(text)) + text


def _field(comments: bytes, at: int) -> tuple[bytes, int]:
    """A field and where the next begins; empty where it does not fit."""
    if at + 4 > len(comments):
        return b"", at
    (size,) = struct.unpack_from("<I", comments, at)
    end = at + 4 + size
    return (comments[at + 4 : end], end) if end <= len(comments) else (b"", at)
