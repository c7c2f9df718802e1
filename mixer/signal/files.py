"""Sound files: sniffed before they are decoded, and decoded only as what they are.

Sound comes from strangers. A file says in its first bytes what it is; what claims to be larger than it can be,
lasts too long, or holds no numbers is refused before anything is allocated for it.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from mixer.signal.foreign import NoFfmpegError, UndecodableError, decode_foreign, foreign_format

LARGEST_BYTES = 200_000_000
RATES_HZ = (8_000, 192_000)
MOST_CHANNELS = 8
# Full scale is 1; float files may exceed it, but 60 dB more is no sound.
LOUDEST = 1000.0
# First bytes by which the formats that libsndfile decodes are known.
_WAV = ((0, b"RIFF"), (8, b"WAVE"))
_KNOWN = (
    _WAV,
    ((0, b"RF64"), (8, b"WAVE")),
    ((0, b"fLaC"),),
    ((0, b"OggS"),),
    ((0, b"FORM"), (8, b"AIF")),
    ((0, b"ID3"),),
    ((0, b"\xff\xfb"),),
    ((0, b"\xff\xf3"),),
    ((0, b"\xff\xf2"),),
)


class UnreadableSoundError(Exception):
    """A sound file cannot be used; `kind` and `facts` say why."""

    def __init__(self, kind: str, **facts: object) -> None:
        super().__init__(kind)
        self.kind = kind
        self.facts = facts


def read_sound(path: Path, longest_seconds: float) -> tuple[NDArray[np.float32], int]:
    """Decode a sound file.

    Parameters
    ----------
    path : the file
    longest_seconds : what is longer is refused

    Returns
    -------
    float32 array, shape (frames, 2), full scale 1.0, and frames per second. Mono is put on both channels;
    of more than two channels the first two are taken.

    Raises
    ------
    UnreadableSoundError
        If it is no regular file, no sound, empty, too long, or holds values that are no finite numbers.
    """
    if not path.is_file():
        raise UnreadableSoundError("sound-no-file")
    if path.stat().st_size > LARGEST_BYTES:
        raise UnreadableSoundError("sound-large", most=LARGEST_BYTES // 1_000_000)
    with path.open("rb") as stream:
        head = stream.read(16)
    if not head:
        raise UnreadableSoundError("sound-empty")
    if (foreign := foreign_format(head)) is not None:
        samples, rate_hz = _decode_foreign(path, foreign, longest_seconds)
    elif any(all(head[at : at + len(mark)] == mark for at, mark in marks) for marks in _KNOWN):
        samples, rate_hz = _decode(path, longest_seconds)
    else:
        raise UnreadableSoundError("sound-unknown")
    if len(samples) == 0:
        raise UnreadableSoundError("sound-empty")
    if not np.isfinite(samples).all():
        raise UnreadableSoundError("sound-broken")
    if np.abs(samples).max() > LOUDEST:
        raise UnreadableSoundError("sound-wild")
    if samples.shape[1] == 1:
        return np.repeat(samples, 2, axis=1), rate_hz
    return np.ascontiguousarray(samples[:, :2]), rate_hz


def _decode_foreign(path: Path, name: str, longest_seconds: float) -> tuple[NDArray[np.float32], int]:
    try:
        samples, rate_hz = decode_foreign(path, name, longest_seconds)
    except NoFfmpegError as error:
        raise UnreadableSoundError("sound-needs-ffmpeg") from error
    except UndecodableError as error:
        raise UnreadableSoundError("sound-unreadable") from error
    if len(samples) > longest_seconds * rate_hz:
        raise UnreadableSoundError("sound-long", most=int(longest_seconds))
    return samples, rate_hz


def _decode(path: Path, longest_seconds: float) -> tuple[NDArray[np.float32], int]:
    import soundfile  # noqa: PLC0415 - only when there is something to decode

    try:
        with soundfile.SoundFile(path) as sound:
            if not RATES_HZ[0] <= sound.samplerate <= RATES_HZ[1]:
                raise UnreadableSoundError("sound-rate", rate_hz=sound.samplerate)
            if sound.channels > MOST_CHANNELS:
                raise UnreadableSoundError("sound-channels", channels=sound.channels)
            if sound.frames > longest_seconds * sound.samplerate:
                raise UnreadableSoundError("sound-long", most=int(longest_seconds))
            samples = sound.read(dtype="float32", always_2d=True)
            return samples, int(sound.samplerate)
    except (soundfile.LibsndfileError, RuntimeError) as error:
        raise UnreadableSoundError("sound-unreadable") from error
