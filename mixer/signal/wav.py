"""Writes a song as a WAV file, block by block, into a file that is already open.

16-bit PCM (plain format), 24-bit PCM and 32-bit float (extensible format, as meant for more than 16 bits). After the
sound come the section markers, title and artist, and any chunks of our own; programs that do not know a chunk skip
it. The sizes at the front are filled in when the file is closed, so the file has to be seekable. Reading chunks is in
`riff`.

Why not a library: soundfile takes seven times as long to get from float to 16 bits, does not dither, and writes
neither markers nor chunks of one's own.
"""

from __future__ import annotations

import struct
from collections.abc import Callable, Mapping, Sequence
from typing import Literal, Protocol

import numpy as np

from mixer.signal.blocks import Samples, as_stereo
from mixer.signal.dither import to_pcm16, to_pcm24
from mixer.signal.riff import (
    RIFF_LIMIT,
    Chunk,
    Marker,
    NotWavError,
    chunk,
    format_extensible,
    format_pcm16,
    info_chunk,
    marker_chunks,
    read_chunks,
)

__all__ = ["Chunk", "Marker", "NotWavError", "SampleFormat", "WavTooLongError", "WavWriter", "read_chunks"]

SampleFormat = Literal["pcm16", "pcm24", "float32"]

FRAME_BYTES: Mapping[SampleFormat, int] = {"pcm16": 4, "pcm24": 6, "float32": 8}


class WavTooLongError(ValueError):
    """The song does not fit: a WAV file holds at most 4 GiB."""


class Seekable(Protocol):
    """What must be possible with a file."""

    def write(self, content: bytes | memoryview, /) -> int:
        """Append bytes, or put them in the place of those that stand there."""

    def tell(self) -> int:
        """Give where it stands."""

    def seek(self, at: int, /) -> int:
        """Go on from another place."""


class WavWriter:
    """Writes stereo sound to an open binary file, from where that stands.

    Parameters
    ----------
    file : seekable, open for writing bytes; stays open
    rate_hz : int > 0, frames per second
    sample_format : "pcm16", "pcm24" (both dithered) or "float32" (as it is)
    markers : places with names, in order
    info : tags by their four letters (INAM title, IART artist, ICMT comment, ISFT software ...)
    chunks : further chunks, (four letters, content)

    Raises
    ------
    WavTooLongError : from `write`, before anything that would not fit is written
    """

    def __init__(
        self,
        file: Seekable,
        rate_hz: int,
        sample_format: SampleFormat = "pcm16",
        *,
        markers: Sequence[Marker] = (),
        info: Mapping[str, str] | None = None,
        chunks: Sequence[tuple[bytes, bytes]] = (),
    ) -> None:
        self._file = file
        self._format = sample_format
        self._encode = _ENCODERS[sample_format]
        self._start = file.tell()
        self._frames = 0
        self._trailer = marker_chunks(list(markers)) + info_chunk(dict(info or {}))
        self._trailer += b"".join(chunk(_chunk_name(name), content) for name, content in chunks)
        head = _format_chunk(rate_hz, sample_format)
        self._data_size_at = len(b"RIFF....WAVE") + len(head) + len(b"data")
        file.write(b"RIFF\0\0\0\0WAVE" + head + b"data\0\0\0\0")

    def write(self, block: Samples) -> None:
        """Append a block, shape (frames, 2)."""
        block = as_stereo(block)
        self._check_fits(self._frames + len(block))
        self._file.write(self._encode(block, self._frames))
        self._frames += len(block)

    def close(self) -> None:
        """Append the markers, tags and chunks, and fill in the sizes. The file itself stays open."""
        self._file.write(self._trailer)
        end = self._file.tell()
        self._patch(4, end - self._start - 8)
        self._patch(self._data_size_at, self._frames * FRAME_BYTES[self._format])
        if self._format != "pcm16":
            self._patch(self._data_size_at - 8, self._frames)
        self._file.seek(end)

    def _patch(self, at: int, size: int) -> None:
        self._file.seek(self._start + at)
        self._file.write(struct.pack("<I", size))

    def _check_fits(self, frames: int) -> None:
        size = self._data_size_at + 4 + frames * FRAME_BYTES[self._format] + len(self._trailer) - 8
        if size > RIFF_LIMIT:
            raise WavTooLongError(f"{frames} frames do not fit into a WAV file, which holds at most 4 GiB")


def _chunk_name(name: bytes) -> bytes:
    if len(name) != 4:
        raise ValueError(f"a chunk's name has four letters, not {name!r}")
    return name


def _format_chunk(rate_hz: int, sample_format: SampleFormat) -> bytes:
    """`fmt `, and where the format is not plain PCM the count of frames (`fact`) that belongs to it."""
    if sample_format == "pcm16":
        return format_pcm16(rate_hz)
    is_float = sample_format == "float32"
    return format_extensible(rate_hz, 32 if is_float else 24, is_float=is_float) + chunk(b"fact", bytes(4))


def _pcm16(block: Samples, first_frame: int) -> memoryview:
    return to_pcm16(block, first_frame).astype("<i2", copy=False).data


def _pcm24(block: Samples, first_frame: int) -> bytes:
    whole = to_pcm24(block, first_frame).astype("<i4", copy=False)
    return whole.view(np.uint8).reshape(-1, 4)[:, :3].tobytes()


def _float32(block: Samples, first_frame: int) -> memoryview:  # noqa: ARG001 - float needs no dither, so no place
    return np.ascontiguousarray(block, "<f4").data


_ENCODERS: Mapping[SampleFormat, Callable[[Samples, int], bytes | memoryview]] = {
    "pcm16": _pcm16,
    "pcm24": _pcm24,
    "float32": _float32,
}
