"""Recordings of phones and browsers (m4a, 3gp, webm, aac, amr), decoded by ffmpeg where it is there.

ffmpeg is told which format to read and may open nothing but that one file: left to guess, a text that only calls
itself a recording can make it read the files beside it. It is stopped when it takes too long, and gives no more than
the seconds asked for. The package for calling it that is otherwise usual lets it guess first, so it is called directly.
"""

from __future__ import annotations

import io
import shutil
import subprocess
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

TIMEOUT_SECONDS = 60
# First bytes, where they stand, and what ffmpeg calls the format.
_MARKS = (
    (4, b"ftyp", "mov"),
    (0, b"\x1a\x45\xdf\xa3", "matroska"),
    (0, b"\xff\xf1", "aac"),
    (0, b"\xff\xf9", "aac"),
    (0, b"#!AMR", "amr"),
)


class NoFfmpegError(Exception):
    """A recording needs ffmpeg, and there is none on this machine."""


class UndecodableError(Exception):
    """ffmpeg could not read a recording."""


def foreign_format(head: bytes) -> str | None:
    """Give the format of a recording by the first bytes of its file; None if it is none of these."""
    return next((name for at, mark, name in _MARKS if head[at : at + len(mark)] == mark), None)


def decode_foreign(path: Path, name: str, longest_seconds: float) -> tuple[NDArray[np.float32], int]:
    """Decode a recording.

    Parameters
    ----------
    path : the file
    name : its format, as `foreign_format` gave it
    longest_seconds : no more than about this much is decoded

    Returns
    -------
    float32 array, shape (frames, channels), and frames per second

    Raises
    ------
    NoFfmpegError, UndecodableError
    """
    program = shutil.which("ffmpeg")
    if program is None:
        raise NoFfmpegError
    source = ["-f", name, "-protocol_whitelist", "file", "-t", str(longest_seconds + 1), "-i", f"file:{path.resolve()}"]
    # Sun/NeXT audio: the one plain format whose header may leave the length open, as it must in a pipe.
    target = ["-map", "0:a:0", "-c:a", "pcm_f32be", "-f", "au", "pipe:1"]
    command = [program, "-nostdin", "-v", "error", *source, *target]
    try:
        done = subprocess.run(command, capture_output=True, check=False, timeout=TIMEOUT_SECONDS)  # noqa: S603 - fixed words and one resolved path
    except (subprocess.TimeoutExpired, OSError) as error:
        raise UndecodableError from error
    if done.returncode != 0 or not done.stdout:
        raise UndecodableError
    import soundfile  # noqa: PLC0415 - only when there is something to decode

    try:
        samples, rate_hz = soundfile.read(io.BytesIO(done.stdout), dtype="float32", always_2d=True)
    except soundfile.LibsndfileError as error:
        raise UndecodableError from error
    return samples, int(rate_hz)
