"""Sound into FLAC, Ogg Vorbis and MP3 files and back, block by block, by libsndfile.

FLAC holds the same dithered samples as a WAV file of as many bits. The other two leave out what is hardly heard and
give back another sound, whose peaks may be higher: whoever promises a peak has to measure what comes back.
"""

from __future__ import annotations

import errno
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import nullcontext
from dataclasses import field
from pathlib import Path
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from mixer.record import record
from mixer.signal.blocks import BLOCK_FRAMES, Samples, as_stereo, reblocked
from mixer.signal.dither import to_pcm16, to_pcm24
from mixer.signal.hush import hushed
from mixer.signal.straight import straight

Coding = Literal["flac16", "flac24", "ogg", "mp3", "mp3 small"]


class NoEncoderError(Exception):
    """The libsndfile of this machine cannot write a format; its name is the argument."""


@record
class _Coding:
    """How libsndfile is asked for it; `samples` makes what it is given, from a block and its first frame."""

    file_format: str
    subtype: str
    samples: Callable[[Samples, int], NDArray[Any]]
    settings: Mapping[str, object] = field(default_factory=dict)


def _pcm24(block: Samples, first_frame: int) -> NDArray[Any]:
    return to_pcm24(block, first_frame) << 8


def _as_is(block: Samples, first_frame: int) -> NDArray[Any]:  # noqa: ARG001 - no dither, so no place
    return block


# Both at about 190 kbit/s, where few hear a difference (common practice, no source). At a constant bit rate the MP3
# encoder would turn the sound down by 0.26 dB.
_CODINGS: Mapping[Coding, _Coding] = {
    "flac16": _Coding("FLAC", "PCM_16", to_pcm16),
    "flac24": _Coding("FLAC", "PCM_24", _pcm24),
    "ogg": _Coding("OGG", "VORBIS", _as_is, {"compression_level": 0.4}),
    "mp3": _Coding("MP3", "MPEG_LAYER_III", _as_is, {"compression_level": 0.2, "bitrate_mode": "VARIABLE"}),
    # To choose by, inside a page that has to fit a stick.
    "mp3 small": _Coding("MP3", "MPEG_LAYER_III", _as_is, {"compression_level": 0.6, "bitrate_mode": "VARIABLE"}),
}


def encode(path: Path, blocks: Iterable[Samples], rate_hz: int, coding: Coding) -> None:
    """Write sound to a file, which is made or written over; what is left after an error is no sound.

    The library writes the file by itself, not through ours: an interruption inside a function that it calls would be
    lost.

    Parameters
    ----------
    path : the file
    blocks : float32, shape (frames, 2) each, full scale 1.0
    rate_hz : int, frames per second, 44100 or 48000
    coding : the format, and in FLAC the bits of each sample, with dither

    Raises
    ------
    NoEncoderError : if libsndfile cannot write the format here
    OSError : if the file cannot be written
    """
    import soundfile  # noqa: PLC0415 - only where there is something to encode

    how = _CODINGS[coding]
    if how.file_format not in soundfile.available_formats():
        raise NoEncoderError(how.file_format)
    frames = 0
    try:
        with soundfile.SoundFile(
            path, "w", rate_hz, 2, how.subtype, format=how.file_format, **dict(how.settings)
        ) as file:
            straight(file)
            # In pieces of one size: what the Vorbis encoder makes of the start depends on how much it is given at once,
            # and it takes what it is given onto the stack.
            for piece in reblocked(map(as_stereo, blocks)):
                file.write(how.samples(piece, frames))
                frames += len(piece)
        with _quiet(how), soundfile.SoundFile(path) as file:
            written = file.frames
    except soundfile.SoundFileError as error:
        raise OSError(errno.EIO, str(error)) from error
    if written != frames:
        raise OSError(errno.EIO, f"{written} of {frames} frames were written")


def decode(path: Path, coding: Coding) -> Iterator[Samples]:
    """What a file gives back, block by block, float32, shape (frames, 2); lossy sound may exceed full scale.

    Raises
    ------
    OSError : if it cannot be decoded
    """
    import soundfile  # noqa: PLC0415 - only where there is something to decode

    try:
        with _quiet(_CODINGS[coding]), soundfile.SoundFile(path) as file:
            straight(file)
            while len(block := file.read(BLOCK_FRAMES, dtype="float32", always_2d=True)):
                yield np.ascontiguousarray(block)
    except soundfile.SoundFileError as error:
        raise OSError(errno.EIO, str(error)) from error


def _quiet(how: _Coding) -> Any:  # noqa: ANN401 - one of two kinds of context that share no better name
    return hushed() if how.file_format == "MP3" else nullcontext()
