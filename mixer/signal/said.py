"""What a sound file says about itself in words: its title, its maker, its tempo, for whoever collects sounds.

Each kind of file has fields of its own for that: frames of ID3 (id3.org, "ID3 tag version 2.3.0", section 4.2: from
memory), which MP3 files begin with and WAV files hold in a chunk; Vorbis comments in FLAC and Ogg (Xiph.Org, "Ogg
Vorbis I format specification", section 5: from memory; that BPM, KEY and INITIALKEY are written there is common
practice, no source); and the INFO list of RIFF (1991: from memory). All of it comes from strangers, and is cut short.
"""

from __future__ import annotations

import io
import struct
from collections.abc import Callable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import BinaryIO

from mixer.signal import flac, id3, ogg
from mixer.signal.riff import NotWavError, read_aiff_chunks, read_chunks

LONGEST = 300
_AIFF = b"FORM"
_NAMES = {
    "title": ("TIT2", "TITLE", "INAM", "NAME"),
    "maker": ("TPE1", "ARTIST", "IART", "AUTH"),
    "comment": ("COMM", "COMMENT", "DESCRIPTION", "ICMT", "ANNO"),
    "tempo": ("TBPM", "BPM"),
    "key": ("TKEY", "KEY", "INITIALKEY"),
    "licence": ("WCOP", "LICENSE", "TCOP", "COPYRIGHT", "ICOP", "(c) "),
}
_READERS: Mapping[bytes, Callable[[BinaryIO], dict[str, str]]] = {
    flac.MARK: flac.read_fields,
    ogg.MARK: ogg.read_fields,
    id3.MARK: id3.read_fields,
}


def said_in(path: Path) -> dict[str, str]:
    """Read what a file says about itself.

    Parameters
    ----------
    path : any file

    Returns
    -------
    `title`, `maker`, `comment`, `tempo`, `key` and `licence`, as far as they are said, each at most 300 signs
    """
    try:
        fields = _fields(path)
    except (OSError, ValueError):
        return {}
    found: dict[str, str] = {}
    for word, names in _NAMES.items():
        text = next((text for name in names if (text := " ".join(fields.get(name, "").split()))), "")
        if text:
            found[word] = text[:LONGEST]
    return found


def _fields(path: Path) -> dict[str, str]:
    with path.open("rb") as file:
        mark = file.read(4)
        file.seek(0)
        for begins, read in _READERS.items():
            if mark.startswith(begins):
                return read(file)
    found: dict[str, str] = {}
    with suppress(NotWavError):
        for chunk in read_aiff_chunks(path) if mark == _AIFF else read_chunks(path):
            if chunk.name.lower() == b"id3 " and chunk.content:
                found = {**found, **id3.read_fields(io.BytesIO(chunk.content))}
            elif chunk.name == b"LIST" and chunk.content and chunk.content[:4] == b"INFO":
                found = {**_info(chunk.content[4:]), **found}
            elif mark == _AIFF and chunk.content:
                found.setdefault(chunk.name.decode("ascii", "replace"), _either(chunk.content.partition(b"\0")[0]))
    return found


def _info(content: bytes) -> dict[str, str]:
    found: dict[str, str] = {}
    at = 0
    while at + 8 <= len(content):
        name, size = struct.unpack_from("<4sI", content, at)
        text = content[at + 8 : at + 8 + size].partition(b"\0")[0]
        found.setdefault(name.decode("ascii", "replace"), _either(text))
        at += 8 + size + size % 2
    return found


def _either(text: bytes) -> str:
    """Text that is UTF-8 today and was Windows' own letters once."""
    try:
        return text.decode("utf-8")
    except UnicodeDecodeError:
        return text.decode("cp1252", "replace")
