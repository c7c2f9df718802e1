import io
import struct

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mixer.signal import riff
from mixer.signal.wav import Marker, NotWavError, WavTooLongError, WavWriter, read_chunks
from tests.signal import signals

RATE_HZ = signals.RATE_HZ


def written(samples, sample_format="pcm16", before=b"", **more):
    file = io.BytesIO()
    file.write(before)
    writer = WavWriter(file, RATE_HZ, sample_format, **more)
    for start in range(0, len(samples), 700):
        writer.write(samples[start : start + 700])
    writer.close()
    return file.getvalue()[len(before) :]


def chunks_of(data, tmp_path):
    path = tmp_path / "some.wav"
    path.write_bytes(data)
    return read_chunks(path)


@pytest.mark.parametrize("sample_format", ["pcm16", "pcm24", "float32"])
@pytest.mark.parametrize("frames", [0, 1, 1401])
def test_sizes_are_right_and_every_chunk_is_even(tmp_path, sample_format, frames):
    data = written(signals.noise(frames), sample_format, markers=[Marker(0, "odd")], chunks=[(b"rcpe", b"abc")])
    assert struct.unpack("<I", data[4:8])[0] == len(data) - 8
    chunks = chunks_of(data, tmp_path)
    assert all(chunk.offset_bytes % 2 == 0 for chunk in chunks)
    last = chunks[-1]
    assert (last.name, last.content) == (b"rcpe", b"abc")
    assert last.offset_bytes + last.size_bytes + 1 == len(data)
    sound = next(chunk for chunk in chunks if chunk.name == b"data")
    assert sound.size_bytes == frames * {"pcm16": 4, "pcm24": 6, "float32": 8}[sample_format]
    assert sound.content is None


def test_the_frames_are_counted_in_fact(tmp_path):
    chunks = {chunk.name: chunk.content for chunk in chunks_of(written(signals.noise(1401), "float32"), tmp_path)}
    assert chunks[b"fact"] == struct.pack("<I", 1401)


def test_a_file_may_begin_elsewhere():
    sound = signals.noise(1401)
    assert written(sound, before=b"something before") == written(sound)


def test_a_plain_song_has_nothing_but_format_and_sound(tmp_path):
    assert [chunk.name for chunk in chunks_of(written(signals.noise(10)), tmp_path)] == [b"fmt ", b"data"]


def test_hostile_texts_stay_in_their_place(tmp_path):
    info = {"INAM": "end\0early \ud800", "IART": ""}
    data = written(signals.noise(1), markers=[Marker(0, "a\0b")], info=info)
    lists = [chunk.content for chunk in chunks_of(data, tmp_path) if chunk.name == b"LIST"]
    assert lists[0] == b"adtl" + riff.chunk(b"labl", struct.pack("<I", 1) + b"a b\0")
    assert lists[1] == b"INFO" + riff.chunk(b"INAM", b"end early ?\0")


@pytest.mark.parametrize("name", [b"abc", b"abcde", b""])
def test_names_have_four_letters(name):
    with pytest.raises(ValueError, match="four letters"):
        WavWriter(io.BytesIO(), RATE_HZ, chunks=[(name, b"")])
    with pytest.raises(ValueError, match="four letters"):
        WavWriter(io.BytesIO(), RATE_HZ, info={name.decode(): "text"})


def test_what_does_not_fit_is_refused_before_it_is_written():
    file = io.BytesIO()
    writer = WavWriter(file, RATE_HZ)
    writer.write(signals.noise(10))
    before = file.tell()
    writer._frames = (1 << 30) - 10
    with pytest.raises(WavTooLongError, match="4 GiB"):
        writer.write(signals.noise(10))
    assert file.tell() == before


def test_the_longest_file_fits_to_the_byte():
    writer = WavWriter(io.BytesIO(), RATE_HZ)
    longest = (0xFFFFFFFF - 36) // 4  # 36 bytes stand between the size and the sound
    writer._check_fits(longest)
    with pytest.raises(WavTooLongError):
        writer._check_fits(longest + 1)


@pytest.mark.parametrize("data", [b"", b"RIFF", b"RIFF\0\0\0\0AVI ", b"OggS" * 10, b"RF64" + bytes(40)])
def test_no_wav_file_is_told_so(tmp_path, data):
    with pytest.raises(NotWavError):
        chunks_of(data, tmp_path)


def test_sizes_are_not_trusted(tmp_path):
    head = b"RIFF\xff\xff\xff\xffWAVE"
    beyond = chunks_of(head + b"rcpe" + struct.pack("<I", 0xFFFFFFF0) + b"short", tmp_path)
    assert [(chunk.name, chunk.content) for chunk in beyond] == [(b"rcpe", None)]
    nothing = chunks_of(head + b"rcpe\0\0\0\0" * 5000, tmp_path)
    assert len(nothing) == riff.CHUNKS_READ


def test_no_more_is_read_than_is_allowed(tmp_path):
    big = b"RIFF\0\0\0\0WAVE" + riff.chunk(b"rcpe", bytes(riff.CHUNK_BYTES_READ + 1))
    assert chunks_of(big, tmp_path)[0].content is None
    many = b"RIFF\0\0\0\0WAVE" + riff.chunk(b"rcpe", bytes(riff.CHUNK_BYTES_READ)) * 20
    read = sum(len(chunk.content or b"") for chunk in chunks_of(many, tmp_path))
    assert read == riff.FILE_BYTES_READ


@settings(max_examples=100, deadline=None)
@given(data=st.binary(max_size=300))
def test_no_bytes_break_the_reader(tmp_path_factory, data):
    chunks = chunks_of(b"RIFF\0\0\0\0WAVE" + data, tmp_path_factory.getbasetemp())
    assert sum(len(chunk.content or b"") for chunk in chunks) <= len(data)
