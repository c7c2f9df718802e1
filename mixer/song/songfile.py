"""A finished song into a file of the format that is asked for, whole or not at all, with its tags.

WAV and FLAC hold the finished sound. MP3 and Ogg Vorbis give back another one, whose peaks may stand higher: it is
decoded and measured, and if its true peak is above the ceiling the song is written again, that much lower. What is
reported is what comes out of the file.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO, Literal, Protocol, cast, get_args

import numpy as np

from mixer import __version__
from mixer.record import record, replace
from mixer.signal import flac, id3, ogg
from mixer.signal.blocks import Samples
from mixer.signal.coded import Coding, decode, encode
from mixer.signal.loudness import LoudnessMeter
from mixer.signal.tags import Tags
from mixer.signal.truepeak import TruePeakMeter
from mixer.signal.wav import Marker, SampleFormat, WavWriter
from mixer.song.carried import CHUNK
from mixer.song.credits import credits_of
from mixer.song.finish import CEILING_DBTP, Finished
from mixer.song.plan import Plan
from mixer.store.behind import written_behind
from mixer.store.whole import whole_file

SongFormat = Literal["wav", "flac", "ogg", "mp3"]

MARGINS_DB = (0.05, 0.1, 0.2, 0.4, 0.8)
"""How much lower than it was too high the song is written again; each time more, since what an encoder leaves out
changes with the level. Of seven songs in both formats, seven files were low enough at once, six the second time, one
the third; they came out at most 0.3 dB lower."""
LEAST_SECONDS = 0.5
"""Sound shorter than the standard measures is measured as if silence followed."""

_TAGGED: Mapping[str, Callable[[BinaryIO, BinaryIO, Tags], None]] = {
    "flac": flac.write_tagged,
    "ogg": ogg.write_tagged,
    "mp3": id3.write_tagged,
}


def format_of(file: Path) -> SongFormat:
    """Give what kind of file a name's ending asks for.

    Raises
    ------
    ValueError
        If it is none that a song can have.
    """
    ending = file.suffix.lower().removeprefix(".")
    for known in get_args(SongFormat):
        if ending == known:
            return cast("SongFormat", known)
    raise ValueError(f"a song ends in .wav, .flac, .ogg or .mp3, and {file.name} does not")


@record
class Heard:
    """What is heard of a file: LUFS and dBTP, None for silence."""

    loudness_lufs: float | None
    true_peak_dbtp: float | None


def write_song(
    plan: Plan, finished: Finished, out: Path, song_format: SongFormat, sample_format: SampleFormat, carried: str
) -> Heard:
    """Write a finished song.

    Parameters
    ----------
    plan : the song, for its title, sections and credits
    finished : its sound
    out : where it will be
    song_format : of the file
    sample_format : in WAV any, in FLAC 16 or 24 bit; without meaning in the others
    carried : what the song carries about itself

    Returns
    -------
    what is heard of the file

    Raises
    ------
    NoEncoderError
        If the format cannot be written on this machine.
    OSError
        If the file cannot be written; what stood there stays.
    ValueError
        If FLAC is asked for float samples, which it has not.
    """
    tags = _tags(plan, carried)
    if song_format == "wav":
        _write_wav(plan, finished, out, sample_format, tags)
        return Heard(finished.loudness_lufs, finished.true_peak_dbtp)
    from mixer.song.cover import cover_of  # noqa: PLC0415 - drawing is loaded only for files that take a picture

    tags = replace(tags, cover=cover_of(plan))
    if song_format != "flac":
        return write_smaller(finished, plan.rate_hz, out, song_format, tags)
    with _room_beside(out) as room:
        sound = room / "sound.flac"
        encode(sound, finished.blocks(), plan.rate_hz, _flac_coding(sample_format))
        _tag(sound, out, "flac", tags)
    return Heard(finished.loudness_lufs, finished.true_peak_dbtp)


class Sound(Protocol):
    """Finished sound that can be gone through any number of times."""

    def blocks(self) -> Iterator[Samples]:
        """The sound from the start, shape (frames, 2) each."""


def write_smaller(sound: Sound, rate_hz: int, out: Path, coding: Literal["ogg", "mp3"], tags: Tags) -> Heard:
    """Write finished sound as Ogg Vorbis or MP3; see `write_song` for what is raised and given back."""
    with _room_beside(out) as room:
        encoded = room / f"sound.{coding}"
        heard = _encode_below_ceiling(encoded, sound, rate_hz, coding)
        _tag(encoded, out, coding, tags)
    return heard


def _tag(sound: Path, out: Path, coding: str, tags: Tags) -> None:
    with sound.open("rb") as untagged, whole_file(out) as stream:
        _TAGGED[coding](untagged, stream, tags)


def _tags(plan: Plan, carried: str) -> Tags:
    return Tags(
        title=plan.title,
        artist=plan.recipe.by or "",
        comment="; ".join(credits_of(plan)[1:]),
        software=f"recipe-mixer {__version__}",
        carried=carried,
    )


def _write_wav(plan: Plan, finished: Finished, out: Path, sample_format: SampleFormat, tags: Tags) -> None:
    info = {"INAM": tags.title, "ISFT": tags.software, "IART": tags.artist, "ICMT": tags.comment}
    markers = [Marker(mark.start_frame, mark.name) for mark in plan.marks]
    chunks = [(CHUNK, tags.carried.encode("utf-8", "replace"))]
    with whole_file(out) as stream, written_behind(stream) as behind:
        writer = WavWriter(behind, plan.rate_hz, sample_format, markers=markers, info=info, chunks=chunks)
        for block in finished.blocks():
            writer.write(block)
        writer.close()


def write_wav(out: Path, blocks: Iterator[Samples], plan: Plan) -> None:
    """Write sound that goes with a song as 16-bit WAV with the song's markers; see `write_song` for what is raised."""
    markers = [Marker(mark.start_frame, mark.name) for mark in plan.marks]
    with whole_file(out) as stream:
        writer = WavWriter(stream, plan.rate_hz, markers=markers)
        for block in blocks:
            writer.write(block)
        writer.close()


@contextmanager
def _room_beside(out: Path) -> Iterator[Path]:
    """A folder for what is not finished yet, on the same disk as the song; gone afterwards, whatever happens."""
    from tempfile import TemporaryDirectory  # noqa: PLC0415 - loads what only compressed songs need

    out.parent.mkdir(parents=True, exist_ok=True)
    with TemporaryDirectory(
        prefix=f".{out.name[:50]}.", suffix=".part", dir=out.parent, ignore_cleanup_errors=True
    ) as room:
        yield Path(room)


def _flac_coding(sample_format: SampleFormat) -> Coding:
    if sample_format == "float32":
        raise ValueError("FLAC has no float samples")
    return "flac16" if sample_format == "pcm16" else "flac24"


def _encode_below_ceiling(
    sound: Path, finished: Sound, rate_hz: int, coding: Literal["ogg", "mp3"], ceiling_dbtp: float = CEILING_DBTP
) -> Heard:
    """Encode, decode, measure, and again lower until what is decoded stays below the ceiling.

    Should it still be above after all rounds, the file stays as it is, and what is reported says so.
    """
    gain_db = 0.0
    for margin_db in MARGINS_DB:
        encode(sound, _turned_down(finished.blocks(), gain_db), rate_hz, coding)
        heard = _measured(decode(sound, coding), rate_hz)
        above_db = -math.inf if heard.true_peak_dbtp is None else heard.true_peak_dbtp - ceiling_dbtp
        if above_db <= 0:
            break
        gain_db = round(gain_db - above_db - margin_db, 2)
    return heard


def _turned_down(blocks: Iterator[Samples], gain_db: float) -> Iterator[Samples]:
    factor = np.float32(10 ** (gain_db / 20))
    return (block * factor for block in blocks) if gain_db else blocks


def _measured(blocks: Iterator[Samples], rate_hz: int) -> Heard:
    loudness, peak = LoudnessMeter(rate_hz), TruePeakMeter()
    frames = 0
    for block in blocks:
        loudness.feed(block)
        peak.feed(block)
        frames += len(block)
    missing = int(LEAST_SECONDS * rate_hz) - frames
    if missing > 0:
        loudness.feed(np.zeros((missing, 2), np.float32))
    return Heard(_or_none(loudness.integrated_lufs()), _or_none(peak.true_peak_dbtp()))


def _or_none(level: float) -> float | None:
    return level if math.isfinite(level) else None
