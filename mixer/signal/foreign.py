"""Recordings of phones and browsers (m4a, 3gp, webm, aac, amr), decoded by ffmpeg where it is there.

ffmpeg is told which format to read, may open nothing but that one file, and may use only the decoders that such
recordings need: left to guess, a text that only calls itself a recording can make it read the files beside it. It is
stopped when it takes too long, and gives no more than the seconds asked for. The package for calling it that is
otherwise usual first lets it look at the file by itself, guessing, so it is called directly.
"""

from __future__ import annotations

import io
import shutil
import subprocess
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

TIMEOUT_SECONDS = 30
# Two minutes of stereo at 192 kHz; what would be more is cut there.
MOST_BYTES = 200_000_000
# First bytes, where they stand, and what ffmpeg calls the format.
_MARKS = (
    (4, b"ftyp", "mov"),
    (0, b"\x1a\x45\xdf\xa3", "matroska"),
    (0, b"\xff\xf1", "aac"),
    (0, b"\xff\xf9", "aac"),
    (0, b"#!AMR", "amr"),
)
_DECODERS = (
    *("aac", "alac", "amrnb", "amrwb", "flac", "mp3", "mp3float", "opus", "libopus", "vorbis", "libvorbis", "speex"),
    *("pcm_s16le", "pcm_s16be", "pcm_s24le", "pcm_s24be", "pcm_s32le", "pcm_s32be", "pcm_f32le", "pcm_f32be"),
)


class NoFfmpegError(Exception):
    """A recording needs ffmpeg, and there is none on this machine."""


class UndecodableError(Exception):
    """ffmpeg could not read a recording."""


def foreign_format(head: bytes) -> str | None:
    """Give the format of a recording by the first bytes of its file; None if it is none of these."""
    return next((name for at, mark, name in _MARKS if head[at : at + len(mark)] == mark), None)


def decode_foreign(
    path: Path, name: str, longest_seconds: float, *, whole: bool = False
) -> tuple[NDArray[np.float32], int]:
    """Decode a recording.

    Parameters
    ----------
    path : the file
    name : its format, as `foreign_format` gave it
    longest_seconds : no more than about this much is decoded
    whole : refuse what is damaged on the way; otherwise what can be read is

    Returns
    -------
    float32 array, shape (frames, channels), and frames per second; the channels in the order of WAV

    Raises
    ------
    NoFfmpegError
        If there is no ffmpeg on this machine.
    UndecodableError
        If it cannot read the file, finds no sound in it, or takes too long.
    """
    program = _ffmpeg()
    limits = ["-protocol_whitelist", "file", "-codec_whitelist", ",".join(_DECODERS), "-t", str(longest_seconds + 1)]
    source = ["-f", name, *limits, "-i", f"file:{path.resolve()}"]
    # Sun/NeXT audio: the one plain format whose header may leave the length open, as it must in a pipe.
    target = ["-map", "0:a:0", "-c:a", "pcm_f32be", "-fs", str(MOST_BYTES), "-f", "au", "pipe:1"]
    strictness = ["-xerror"] if whole else []
    command = [program, "-nostdin", "-v", "quiet", "-max_alloc", str(MOST_BYTES), *strictness, *source, *target]
    try:
        done = subprocess.run(  # noqa: S603 - fixed words and one resolved path
            command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, check=False, timeout=TIMEOUT_SECONDS
        )
    except (subprocess.TimeoutExpired, OSError) as error:
        raise UndecodableError from error
    if done.returncode != 0 or not done.stdout:
        raise UndecodableError
    return _from_pipe(done.stdout)


def _ffmpeg() -> str:
    """Find ffmpeg, but never in the folder in which the command is given: what lies there may be a stranger's."""
    program = shutil.which("ffmpeg")
    if program is None or Path(program).resolve().parent == Path.cwd().resolve():
        raise NoFfmpegError
    return program


def _from_pipe(sound: bytes) -> tuple[NDArray[np.float32], int]:
    import soundfile  # noqa: PLC0415 - only when there is something to decode

    try:
        samples, rate_hz = soundfile.read(io.BytesIO(sound), dtype="float32", always_2d=True)
    except soundfile.LibsndfileError as error:
        raise UndecodableError from error
    return samples, int(rate_hz)
