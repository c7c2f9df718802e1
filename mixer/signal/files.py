"""Sound files: sniffed before they are decoded, and decoded only as what they are.

Sound comes from strangers. A file says in its first bytes what it is; what claims to be larger than it can be,
lasts too long, or holds no numbers is refused before anything is allocated for it. What a file claims is never
believed: it is decoded piece by piece until it ends or has lasted too long.
"""

from __future__ import annotations

import io
import os
import stat
import struct
from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import numpy as np
from numpy.typing import NDArray

from mixer.record import record
from mixer.signal.downmix import MOST_CHANNELS, Order, to_stereo
from mixer.signal.foreign import NoFfmpegError, UndecodableError, decode_foreign, foreign_format
from mixer.signal.hush import hushed
from mixer.signal.straight import straight

if TYPE_CHECKING:
    import soundfile

Samples = NDArray[np.float32]

LARGEST_BYTES = 200_000_000
RATES_HZ = (8_000, 192_000)
# Full scale is 1; float files may exceed it, but 60 dB more is no sound.
LOUDEST = 1000.0
_HEAD_BYTES = 36
_BLOCK_FRAMES = 65_536
# Who writes sound without knowing how long it will be claims about 2 or 4 GB.
_OPEN_END_BYTES = 2_000_000_000


@record
class _Format:
    """A format that libsndfile decodes.

    Parameters
    ----------
    marks : bytes, and where in the file they stand, by which it is known
    decoded_as : what libsndfile may find it to be
    other_name : what ffmpeg calls it, which is asked where libsndfile fails; empty where that would be of no use
    order : of its channels
    """

    marks: tuple[tuple[int, bytes], ...]
    decoded_as: tuple[str, ...]
    other_name: str = ""
    order: Order = "wave"


_MPEG_STARTS = (b"\xff\xfb", b"\xff\xfa", b"\xff\xf3", b"\xff\xf2", b"\xff\xe3", b"\xff\xe2")
_FORMATS = (
    _Format(((0, b"RIFF"), (8, b"WAVE")), ("WAV", "WAVEX")),
    _Format(((0, b"RF64"), (8, b"WAVE")), ("RF64",)),
    _Format(((0, b"FORM"), (8, b"AIF")), ("AIFF",)),
    _Format(((0, b"fLaC"),), ("FLAC",), "flac"),
    _Format(((0, b"OggS"),), ("OGG",), "ogg", "ogg"),
    _Format(((0, b"ID3"),), ("MP3", "FLAC"), "mp3"),
    *(_Format(((0, start),), ("MP3",), "mp3") for start in _MPEG_STARTS),
)


@record
class Sound:
    """What a file holds.

    Parameters
    ----------
    samples : float32 array, shape (frames, 2), full scale 1.0, at least one frame, all finite
    rate_hz : frames per second
    cut : whether the file ends before it says that it does
    """

    samples: Samples
    rate_hz: int
    cut: bool = False


class UnreadableSoundError(Exception):
    """A sound file cannot be used; `kind` and `facts` say why."""

    def __init__(self, kind: str, **facts: object) -> None:
        super().__init__(kind)
        self.kind = kind
        self.facts = facts


class _Unlike(Exception):  # noqa: N818 - never leaves this file
    """libsndfile does not get through a file."""


def read_sound(path: Path, longest_seconds: float) -> Sound:
    """Decode a sound file.

    Parameters
    ----------
    path : the file
    longest_seconds : what is longer is refused

    Returns
    -------
    what it holds; mono on both channels, more than two channels mixed down to two (`mixer.signal.downmix`)

    Raises
    ------
    UnreadableSoundError
        If it is no regular file, no sound, empty, too long, or holds values that are no finite numbers.
    """
    size_bytes = _size_bytes(path)
    try:
        with path.open("rb") as stream:
            head = stream.read(_HEAD_BYTES)
    except OSError as error:
        raise UnreadableSoundError("sound-locked") from error
    if not head:
        raise UnreadableSoundError("sound-empty")
    samples, rate_hz = _decode(path, head, longest_seconds)
    _check_rate(rate_hz)
    if len(samples) > longest_seconds * rate_hz:
        _too_long(longest_seconds)
    _check_values(samples)
    return Sound(samples, rate_hz, _is_cut(head, size_bytes))


def _size_bytes(path: Path) -> int:
    """Size of a file that may be opened at all: opening a pipe would wait, reading a device might never end."""
    try:
        found = path.stat()
    except (OSError, ValueError) as error:
        raise UnreadableSoundError("sound-no-file") from error
    if stat.S_ISDIR(found.st_mode):
        raise UnreadableSoundError("sound-folder")
    if not stat.S_ISREG(found.st_mode):
        raise UnreadableSoundError("sound-odd")
    if found.st_size > LARGEST_BYTES:
        raise UnreadableSoundError("sound-large", most=LARGEST_BYTES // 1_000_000)
    return found.st_size


def _decode(path: Path, head: bytes, longest_seconds: float) -> tuple[Samples, int]:
    if (name := foreign_format(head)) is not None:
        return _decode_foreign(path, name, longest_seconds)
    for known in _FORMATS:
        if all(head[at : at + len(mark)] == mark for at, mark in known.marks):
            break
    else:
        raise UnreadableSoundError("sound-unknown")
    if "WAV" in known.decoded_as:
        _check_wav_head(head)
    try:
        return _decode_known(path, known, longest_seconds)
    except _Unlike as error:
        if not known.other_name:
            raise UnreadableSoundError("sound-unreadable") from error
        return _decode_otherwise(path, known.other_name, longest_seconds)


def _check_wav_head(head: bytes) -> None:
    """What a WAV's first chunk claims, before any library believes it."""
    if head[12:16] == b"fmt " and len(head) >= 28:
        channels, rate_hz = struct.unpack_from("<HI", head, 22)
        _check_channels(channels)
        _check_rate(rate_hz)


def _check_channels(channels: int) -> None:
    if not 1 <= channels <= MOST_CHANNELS:
        raise UnreadableSoundError("sound-channels", channels=channels)


def _check_rate(rate_hz: int) -> None:
    if not RATES_HZ[0] <= rate_hz <= RATES_HZ[1]:
        raise UnreadableSoundError("sound-rate", rate_hz=rate_hz)


def _check_values(samples: Samples) -> None:
    if len(samples) == 0:
        raise UnreadableSoundError("sound-empty")
    most = float(np.max(np.abs(samples)))  # NaN if there is one
    if not np.isfinite(most):
        raise UnreadableSoundError("sound-broken")
    if most > LOUDEST:
        raise UnreadableSoundError("sound-wild")
    if most == 0:
        raise UnreadableSoundError("sound-silent")


def _too_long(longest_seconds: float) -> NoReturn:
    raise UnreadableSoundError("sound-long", most=int(longest_seconds))


def _is_cut(head: bytes, size_bytes: int) -> bool:
    """Whether a file of chunks is shorter than its first bytes claim, as after a copy that was broken off."""
    if head[:4] not in (b"RIFF", b"FORM") or len(head) < 8:
        return False
    claimed = int.from_bytes(head[4:8], "little" if head[:4] == b"RIFF" else "big")
    # One byte is forgiven: some leave out the one that makes a chunk even.
    return size_bytes + 1 < claimed + 8 < _OPEN_END_BYTES


def _decode_foreign(path: Path, name: str, longest_seconds: float) -> tuple[Samples, int]:
    try:
        samples, rate_hz = decode_foreign(path, name, longest_seconds)
    except NoFfmpegError as error:
        raise UnreadableSoundError("sound-needs-ffmpeg") from error
    except UndecodableError as error:
        raise UnreadableSoundError("sound-unreadable") from error
    _check_channels(samples.shape[1])
    return to_stereo(samples), rate_hz


def _decode_otherwise(path: Path, name: str, longest_seconds: float) -> tuple[Samples, int]:
    """Ask ffmpeg for what libsndfile did not get through: streams that do not say how long they are, odd tags."""
    try:
        samples, rate_hz = decode_foreign(path, name, longest_seconds, whole=True)
    except (NoFfmpegError, UndecodableError) as error:
        raise UnreadableSoundError("sound-unreadable") from error
    _check_channels(samples.shape[1])
    return to_stereo(samples), rate_hz


class _Steady(io.FileIO):
    """A file that a library may ask for any place: one that does not exist leaves it where it is.

    It goes by no name, so that nothing is guessed from one.
    """

    def __init__(self, path: Path) -> None:
        super().__init__(os.open(path, os.O_RDONLY | getattr(os, "O_BINARY", 0)))

    def seek(self, offset: int, whence: int = 0, /) -> int:
        try:
            return super().seek(offset, whence)
        except OSError:
            return self.tell()


def _decode_known(path: Path, known: _Format, longest_seconds: float) -> tuple[Samples, int]:
    import soundfile  # noqa: PLC0415 - only when there is something to decode

    try:
        with (
            hushed() if "MP3" in known.decoded_as else nullcontext(),
            _Steady(path) as stream,
            soundfile.SoundFile(stream) as sound,
        ):
            if sound.format not in known.decoded_as:
                raise _Unlike
            _check_channels(sound.channels)
            _check_rate(sound.samplerate)
            return _read_to_the_end(straight(sound), known.order, longest_seconds), int(sound.samplerate)
    except (soundfile.SoundFileError, OSError) as error:
        raise _Unlike from error


def _read_to_the_end(sound: soundfile.SoundFile, order: Order, longest_seconds: float) -> Samples:
    blocks: list[Samples] = []
    frames = 0
    # Whole numbers are read at once, floats in small pieces with a call back for each; the values are the same.
    whole = sound.subtype == "PCM_16"
    while len(block := sound.read(_BLOCK_FRAMES, dtype="int16" if whole else "float32", always_2d=True)):
        if whole:
            block = block.astype(np.float32) * np.float32(2**-15)
        blocks.append(to_stereo(block, order))
        frames += len(block)
        if frames > longest_seconds * sound.samplerate:
            _too_long(longest_seconds)
    if not blocks and sound.format == "OGG":
        raise _Unlike  # its length is found from its last page, which is missing
    return np.concatenate(blocks) if blocks else np.zeros((0, 2), np.float32)
