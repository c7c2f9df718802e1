"""A listening session as sound: a part of each song, all equally loud, and all of them in one recording with markers.

For classrooms that only have a player, and for thirty songs in one lesson.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from mixer.classroom.tasks import Done
from mixer.record import record
from mixer.signal.blocks import Samples, as_stereo
from mixer.signal.loudness import integrated_loudness
from mixer.signal.wav import Marker, WavWriter
from mixer.song.finish import TARGET_LUFS, finish
from mixer.store.whole import whole_file

EXCERPTS = "excerpts"
RECORDING = "listening session.wav"
BETWEEN_SECONDS = 2.0
"""Silence between songs: room for a breath, not for unrest (no source)."""
EDGE_SECONDS = 0.25
RATE_HZ = 44_100
LEVEL_CHECK_HZ = 80.0
"""The level check has nothing below: small speakers would not play it, and large ones would shake."""
_BLOCK_FRAMES = 65_536


@record
class Part:
    """A part of a song's file, gone through as often as wanted; with soft edges where it is cut.

    Parameters
    ----------
    path : a song that this program made
    rate_hz : of the file
    start_frame, length_frames : which part
    soft_start, soft_end : whether it is cut there
    """

    path: Path
    rate_hz: int
    start_frame: int
    length_frames: int
    soft_start: bool
    soft_end: bool

    def blocks(self) -> Iterator[Samples]:
        """The part, block by block, float32, shape (frames, 2)."""
        edge = min(round(EDGE_SECONDS * self.rate_hz), self.length_frames // 2)
        at = 0
        with soundfile.SoundFile(self.path) as sound:
            sound.seek(self.start_frame)
            while at < self.length_frames:
                count = min(_BLOCK_FRAMES, self.length_frames - at)
                read = sound.read(count, dtype="float32", always_2d=True)
                block = np.zeros((count, 2), np.float32)
                block[: len(read)] = as_stereo(read)
                frames = np.arange(at, at + count)
                if self.soft_start and at < edge:
                    block *= _rising(frames / edge)[:, None]
                if self.soft_end and at + count > self.length_frames - edge:
                    block *= _rising((self.length_frames - 1 - frames) / edge)[:, None]
                yield block
                at += count


def _rising(along: NDArray[np.float64]) -> NDArray[np.float32]:
    """Half a raised cosine, 0 at 0 and below, 1 at 1 and above."""
    return np.asarray(0.5 - 0.5 * np.cos(np.pi * np.clip(along, 0, 1)), np.float32)


def whole(done: Done, out: Path) -> Part:
    """Give all of a song."""
    with soundfile.SoundFile(out / done.file) as sound:
        return Part(out / done.file, sound.samplerate, 0, sound.frames, soft_start=False, soft_end=False)


def excerpt(done: Done, out: Path, seconds: float) -> Part:
    """Give the part of a song that a class hears first, of at most so many seconds."""
    all_of_it = whole(done, out)
    rate = all_of_it.rate_hz
    _, start_seconds, _ = done.hear
    length = min(round(seconds * rate), all_of_it.length_frames)
    start = min(round(start_seconds * rate), all_of_it.length_frames - length)
    end = start + length
    return Part(all_of_it.path, rate, start, length, start > 0, end < all_of_it.length_frames)


def part_start(done: Done, out: Path, seconds: float) -> float:
    """Where in the song its excerpt begins, in seconds."""
    part = excerpt(done, out, seconds)
    return part.start_frame / part.rate_hz


def write_excerpt(part: Part, place: Path, title: str) -> None:
    """Write a part as a song of its own (WAV, 16 bit), as loud as all songs are.

    Raises
    ------
    OSError
        If it cannot be written; what stood there stays.
    """
    finished = finish(part)
    with whole_file(place) as stream:
        writer = WavWriter(stream, part.rate_hz, info={"INAM": title})
        for block in finished.blocks():
            writer.write(block)
        writer.close()


def write_excerpts(songs: Sequence[Done], out: Path, seconds: float) -> list[tuple[str, Path]]:
    """Write a part of each song, numbered in their order; parts of an earlier time go.

    Returns
    -------
    what each is called, and its file

    Raises
    ------
    OSError
        If one cannot be written.
    """
    folder = out / EXCERPTS
    digits = max(2, len(str(len(songs))))
    files = [(done.name, folder / f"{number:0{digits}} {done.name}.wav") for number, done in enumerate(songs, 1)]
    for done, (_, place) in zip(songs, files, strict=True):
        write_excerpt(excerpt(done, out, seconds), place, done.title)
    wanted = {place.name for _, place in files}
    for old in folder.glob("[0-9]*.wav") if folder.is_dir() else ():
        if old.name not in wanted:
            old.unlink(missing_ok=True)
    return files


def level_check(loudness_lufs: float = TARGET_LUFS) -> Samples:
    """Ten seconds of pink noise as loud as what will be heard, rising from silence in three.

    Noise of equal power in every octave is what loudspeakers are set by (common practice, no source).

    Returns
    -------
    float32 array, shape (frames, 2), at `RATE_HZ`
    """
    frames = 10 * RATE_HZ
    spectrum = np.fft.rfft(np.random.default_rng(1).standard_normal(frames))
    octaves = np.fft.rfftfreq(frames, 1 / RATE_HZ)
    spectrum *= np.where(octaves < LEVEL_CHECK_HZ, 0, 1 / np.sqrt(np.maximum(octaves, LEVEL_CHECK_HZ)))
    noise = np.fft.irfft(spectrum, frames)
    noise *= 10 ** (loudness_lufs / 20) / 10 ** (integrated_loudness(_both(noise), RATE_HZ) / 20)
    rise = np.minimum(1, np.arange(frames) / (3 * RATE_HZ))
    fall = np.minimum(1, np.arange(frames)[::-1] / RATE_HZ)
    return _both(noise * rise * fall)


def write_level_check(place: Path) -> None:
    """Write the level check for songs.

    Raises
    ------
    OSError
        If it cannot be written.
    """
    with whole_file(place) as stream:
        writer = WavWriter(stream, RATE_HZ, info={"INAM": "Level check"})
        writer.write(level_check())
        writer.close()


def _both(mono: NDArray[np.float64]) -> Samples:
    return np.repeat(mono[:, None], 2, axis=1).astype(np.float32)


def write_recording(songs: Sequence[tuple[str, Path]], place: Path) -> float:
    """Write songs one after another into one file, with a named marker at each.

    Parameters
    ----------
    songs : what each is called, and its file; all at one rate
    place : where the recording will be (WAV, 16 bit)

    Returns
    -------
    its length in seconds

    Raises
    ------
    OSError
        If it cannot be written; what stood there stays.
    ValueError
        If the songs' rates differ, or they are too long for one WAV file.
    """
    lengths, rates = [], set()
    for _, path in songs:
        with soundfile.SoundFile(path) as sound:
            lengths.append(sound.frames)
            rates.add(sound.samplerate)
    if len(rates) > 1:
        raise ValueError("songs of different rates cannot stand in one recording")
    (rate,) = rates
    gap = round(BETWEEN_SECONDS * rate)
    starts = np.cumsum([0, *(length + gap for length in lengths[:-1])])
    markers = [Marker(int(start), name) for start, (name, _) in zip(starts, songs, strict=True)]
    with whole_file(place) as stream:
        writer = WavWriter(stream, rate, markers=markers)
        for number, (_, path) in enumerate(songs):
            if number:
                writer.write(np.zeros((gap, 2), np.float32))
            with soundfile.SoundFile(path) as sound:
                for block in sound.blocks(_BLOCK_FRAMES, dtype="float32", always_2d=True):
                    writer.write(block)
        writer.close()
    return float((sum(lengths) + gap * (len(songs) - 1)) / rate)
