"""What files say about themselves, written by ffmpeg (libavformat), which reads and writes by the same standards."""

from __future__ import annotations

import subprocess

import numpy as np
import pytest
import soundfile

from mixer.signal.riff import chunk
from mixer.signal.said import LONGEST, said_in
from tests.tools import needs_tool

ALL = {
    "title": "Ночь, take 2",
    "maker": "Ana Wéga",
    "comment": "8 bars",
    "tempo": "96",
    "key": "F#m",
    "licence": "CC BY 4.0",
}
# The names under which ffmpeg writes them (ffmpeg.org/ffmpeg-formats.html, "Metadata", and its muxers' tables).
ID3 = {
    "title": "title",
    "maker": "artist",
    "comment": "comment",
    "tempo": "TBPM",
    "key": "TKEY",
    "licence": "copyright",
}
COMMENTS = {**ID3, "tempo": "BPM", "key": "INITIALKEY", "licence": "LICENSE"}
INFO = {word: ID3[word] for word in ("title", "maker", "comment", "licence")}
KINDS = {
    "id3 2.3.mp3": (ID3, ["-id3v2_version", "3"]),
    "id3 2.4.mp3": (ID3, ["-id3v2_version", "4"]),
    "comments.flac": (COMMENTS, []),
    "comments.ogg": (COMMENTS, ["-c:a", "libvorbis"]),
    "comments.opus": (COMMENTS, ["-c:a", "libopus"]),
    "info.wav": (INFO, []),
    "text.aiff": ({word: ID3[word] for word in ("title", "comment", "licence")}, []),
    "id3.aiff": (ID3, ["-write_id3v2", "1"]),
}


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """Files of each kind, and what they say."""
    needs_tool("ffmpeg")
    folder = tmp_path_factory.mktemp("said")
    plain = folder / "plain.wav"
    soundfile.write(plain, np.zeros((9600, 2)), 48_000)
    made = {}
    for name, (names, options) in KINDS.items():
        said = [part for word, field in names.items() for part in ("-metadata", f"{field}={ALL[word]}")]
        command = ["ffmpeg", "-v", "error", "-y", "-i", plain, *said, *options, folder / name]
        subprocess.run(command, check=True, capture_output=True)
        made[name] = folder / name, {word: ALL[word] for word in names}
    return made


@pytest.mark.parametrize("name", KINDS)
def test_what_a_file_says_is_read(written, name):
    path, said = written[name]
    assert said_in(path) == said


def test_wav_files_may_hold_id3_in_a_chunk(written, tmp_path):
    """`id3 `: common practice, no source."""
    tag = written["id3 2.3.mp3"][0].read_bytes()
    length = 10 + sum(byte << shift for byte, shift in zip(tag[6:10], (21, 14, 7, 0), strict=True))
    path = tmp_path / "chunk.wav"
    path.write_bytes(written["info.wav"][0].read_bytes() + chunk(b"id3 ", tag[:length]))
    assert said_in(path) == ALL


def test_makers_of_aiff_files_are_read(written, tmp_path):
    """`AUTH`, which ffmpeg does not write (Apple, AIFF, 1989, "Text chunks": from memory)."""
    path = tmp_path / "maker.aiff"
    path.write_bytes(written["text.aiff"][0].read_bytes() + b"AUTH\0\0\0\3Ana\0")
    assert said_in(path) == {**written["text.aiff"][1], "maker": "Ana"}


@pytest.mark.parametrize("name", KINDS)
def test_damaged_files_say_less_and_are_no_trouble(written, name, tmp_path):
    whole = written[name][0].read_bytes()[:1500]
    path = tmp_path / "damaged"
    for end in range(0, len(whole), 11):
        path.write_bytes(whole[:end])
        assert set(said_in(path)) <= set(ALL)
        path.write_bytes(whole[:end] + b"\xff" * 9 + whole[end + 9 :])
        assert all(len(text) <= LONGEST for text in said_in(path).values())


def test_long_texts_are_cut_and_other_files_say_nothing(tmp_path):
    path = tmp_path / "long.flac"
    with soundfile.SoundFile(path, "w", 44_100, 2) as sound:
        sound.comment = "x" * 5000
        sound.write(np.zeros((100, 2)))
    assert said_in(path) == {"comment": "x" * LONGEST}
    path.write_text("title: none", encoding="utf-8")
    assert said_in(path) == {}
    assert said_in(tmp_path / "gone") == {}
    assert said_in(tmp_path) == {}
