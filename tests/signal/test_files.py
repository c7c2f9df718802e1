"""Sound files of strangers: what can be read is, what cannot is refused for a reason, quickly and without harm."""

from __future__ import annotations

import os
import shutil
import struct
import subprocess
import sys
import tracemalloc

import numpy as np
import pytest
import soundfile

from mixer.signal import files, foreign
from mixer.signal.files import UnreadableSoundError, read_sound
from tests.tools import needs_tool

RATE_HZ = 44_100
TONE = (0.3 * np.sin(2 * np.pi * 441 * np.arange(RATE_HZ) / RATE_HZ)).astype(np.float32)
PCM = (TONE * 32767).astype("<i2").tobytes()


def wav(data: bytes, *, rate_hz=RATE_HZ, channels=1, bits=16, tag=1, claimed=None, riff=None) -> bytes:
    """A WAV by hand (Multimedia Programming Interface and Data Specifications 1.0, 1991), so that it can lie."""
    frame = channels * bits // 8
    head = struct.pack(
        "<HHIIHH", tag, channels, rate_hz & 0xFFFFFFFF, (rate_hz * frame) & 0xFFFFFFFF, frame & 0xFFFF, bits
    )
    size = len(data) if claimed is None else claimed
    body = b"WAVEfmt " + struct.pack("<I", 16) + head + b"data" + struct.pack("<I", size) + data
    return b"RIFF" + struct.pack("<I", len(body) if riff is None else riff) + body


def floats(*values: float) -> bytes:
    return wav(np.repeat(np.array(values, "<f4"), 100).tobytes(), bits=32, tag=3)


def refused(path):
    with pytest.raises(UnreadableSoundError) as told:
        read_sound(path, 120)
    return told.value.kind


def read(folder, content):
    (folder / "a.wav").write_bytes(content)
    return read_sound(folder / "a.wav", 120)


@pytest.mark.parametrize(
    ("content", "kind"),
    [
        (b"", "sound-empty"),
        (b"R", "sound-unknown"),
        (b"RIFF", "sound-unknown"),
        (b"RIFF\xff\xff\xff\xffAVI LIST", "sound-unknown"),
        (b"this is a text, not a sound", "sound-unknown"),
        ("こんにちは".encode("utf-16"), "sound-unknown"),
        (b"#EXTM3U\nfile:///etc/passwd\n", "sound-unknown"),
        (b"ffconcat version 1.0\nfile secret.wav\n", "sound-unknown"),
        (b"\x89PNG\r\n\x1a\n" + bytes(100), "sound-unknown"),
        (wav(b""), "sound-empty"),
        (wav(PCM)[:12], "sound-unreadable"),
        (wav(PCM)[:20], "sound-unreadable"),
        (wav(PCM)[:40], "sound-unreadable"),
        (wav(PCM, rate_hz=0), "sound-rate"),
        (wav(PCM, rate_hz=1), "sound-rate"),
        (wav(PCM, rate_hz=4_000_000_000), "sound-rate"),
        (wav(bytes(32 * 100), channels=32, bits=8), "sound-channels"),
        (wav(PCM, channels=0), "sound-channels"),
        (wav(PCM, channels=65_535), "sound-channels"),
        (wav(PCM, tag=0x5555), "sound-unreadable"),
        (floats(0.1, np.nan), "sound-broken"),
        (floats(0.1, np.inf), "sound-broken"),
        (floats(0.1, -np.inf), "sound-broken"),
        (floats(0.1, 1e30), "sound-wild"),
        (wav(np.array([1e300, 0], "<f8").tobytes(), bits=64, tag=3), "sound-broken"),
        (wav(bytes(2000)), "sound-silent"),
        (floats(0.0, -0.0), "sound-silent"),
        (b"fLaC" + bytes(50), "sound-unreadable"),
        (b"OggS" + bytes(50), "sound-unreadable"),
        (b"ID3\x04\0\0\x7f\x7f\x7f\x7f" + bytes(50), "sound-unreadable"),
        (b"\xff\xfb" + bytes(50), "sound-unreadable"),
        (b"FORM\xff\xff\xff\xffAIFFCOMM\xff\xff\xff\xff", "sound-unreadable"),
        (b"RF64\xff\xff\xff\xffWAVEds64" + b"\xff" * 60, "sound-unreadable"),
    ],
)
def test_what_is_refused_and_why(tmp_path, content, kind):
    (tmp_path / "loop.wav").write_bytes(content)
    assert refused(tmp_path / "loop.wav") == kind


@pytest.mark.parametrize("subtype", ["PCM_U8", "PCM_16", "PCM_24", "PCM_32", "FLOAT", "DOUBLE"])
@pytest.mark.parametrize("rate_hz", [8_000, 22_050, 44_100, 96_000, 192_000])
def test_every_usual_kind_of_wav(tmp_path, subtype, rate_hz):
    soundfile.write(tmp_path / "a.wav", TONE, rate_hz, subtype=subtype)
    sound = read_sound(tmp_path / "a.wav", 120)
    assert (sound.samples.dtype, sound.samples.shape, sound.rate_hz) == (np.float32, (RATE_HZ, 2), rate_hz)
    assert np.array_equal(sound.samples[:, 0], sound.samples[:, 1])
    assert np.abs(sound.samples[:, 0] - TONE).max() < (0.01 if subtype == "PCM_U8" else 1e-4)
    assert not sound.cut


@pytest.mark.parametrize("ending", ["flac", "aiff", "ogg", "mp3", "rf64"])
@pytest.mark.parametrize("name", ["a.wav", "a", "a.raw", "a.txt", "a.mp3"])
def test_a_file_is_what_its_first_bytes_say_whatever_it_is_called(tmp_path, ending, name):
    soundfile.write(tmp_path / "made", TONE, RATE_HZ, format=ending.upper())
    (tmp_path / "made").rename(tmp_path / name)
    assert len(read_sound(tmp_path / name, 120).samples) == RATE_HZ


def test_far_above_full_scale_is_kept_as_it_is(tmp_path):
    loud = floats(0.5, 8.0, -900.0)
    assert np.unique(read(tmp_path, loud).samples).tolist() == [-900.0, 0.5, 8.0]


def test_a_file_that_breaks_off_gives_what_is_there_and_says_so(tmp_path):
    sound = read(tmp_path, wav(PCM)[:20_000])
    assert len(sound.samples) == (20_000 - 44) // 2
    assert sound.cut
    soundfile.write(tmp_path / "a.aiff", TONE, RATE_HZ)
    assert read(tmp_path, (tmp_path / "a.aiff").read_bytes()[:20_000]).cut


def test_a_stream_without_a_length_is_not_said_to_break_off(tmp_path):
    """Who writes into a pipe cannot know the length: ffmpeg then claims 4 GB, and others 2."""
    for claimed in (0xFFFFFFFF, 0x7FFFFFFF, 0x7FFFF000):
        sound = read(tmp_path, wav(PCM, claimed=claimed, riff=claimed))
        assert (len(sound.samples), sound.cut) == (RATE_HZ, False)


def peak_bytes(path):
    """The most memory that numpy and Python had while the file was read."""
    tracemalloc.start()
    try:
        read_sound(path, 120)
    except UnreadableSoundError:
        pass
    finally:
        most = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
    return most


@pytest.mark.parametrize("claimed", [0xFFFFFFFF, 0x7FFFFFFF, 4_000_000_000, 4_000_000])
def test_a_claimed_size_allocates_nothing(tmp_path, claimed):
    (tmp_path / "big.wav").write_bytes(wav(PCM[:56], claimed=claimed, riff=0xFFFFFFFF))
    assert peak_bytes(tmp_path / "big.wav") < 5_000_000


def test_a_claimed_length_in_a_small_flac_allocates_no_more_than_a_piece(tmp_path):
    """STREAMINFO holds the number of samples in the low 36 bits of bytes 18 to 25 (RFC 9639, section 8.2)."""
    soundfile.write(tmp_path / "a.flac", np.stack([TONE] * 8, axis=1), RATE_HZ)
    content = bytearray((tmp_path / "a.flac").read_bytes())
    assert int.from_bytes(content[18:26], "big") & 0xF_FFFF_FFFF == RATE_HZ
    told = int.from_bytes(content[18:26], "big") - RATE_HZ + 119 * RATE_HZ
    content[18:26] = told.to_bytes(8, "big")
    (tmp_path / "a.flac").write_bytes(content)
    # 119 s of 8 channels would be 168 MB.
    assert peak_bytes(tmp_path / "a.flac") < 20_000_000


def test_what_lasts_too_long_is_refused_however_small_it_is(tmp_path):
    soundfile.write(tmp_path / "long.flac", np.zeros((8_000 * 121, 1)), 8_000)
    assert (tmp_path / "long.flac").stat().st_size < 100_000
    assert refused(tmp_path / "long.flac") == "sound-long"
    soundfile.write(tmp_path / "just.flac", np.full((8_000 * 120, 1), 0.1), 8_000)
    assert len(read_sound(tmp_path / "just.flac", 120).samples) == 8_000 * 120


def test_what_is_too_large_is_refused_unread(tmp_path):
    with (tmp_path / "large.wav").open("wb") as stream:
        stream.write(wav(PCM))
        stream.truncate(files.LARGEST_BYTES + 1)  # a hole: it takes no room
    assert refused(tmp_path / "large.wav") == "sound-large"


def test_a_folder_and_nothing_are_no_files(tmp_path):
    (tmp_path / "x.wav").mkdir()
    assert refused(tmp_path / "x.wav") == "sound-folder"
    for name in ("gone.wav", "x" * 300 + ".wav", "a\0.wav"):
        assert refused(tmp_path / name) == "sound-no-file"


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such files")
def test_a_pipe_and_a_device_are_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "pipe.wav")
    (tmp_path / "zero.wav").symlink_to("/dev/zero")
    (tmp_path / "round.wav").symlink_to("round.wav")
    assert refused(tmp_path / "pipe.wav") == "sound-odd"
    assert refused(tmp_path / "zero.wav") == "sound-odd"
    assert refused(tmp_path / "round.wav") == "sound-no-file"


@pytest.mark.skipif(sys.platform == "win32" or os.geteuid() == 0, reason="needs a user to whom a file can be locked")
def test_a_locked_file(tmp_path):
    (tmp_path / "a.wav").write_bytes(wav(PCM))
    (tmp_path / "a.wav").chmod(0)
    assert refused(tmp_path / "a.wav") == "sound-locked"


@pytest.mark.parametrize("name", ["長" * 60 + "x" * 20, "a\x1b[31m\x07\u202eb", "-i", "http:", "%d", "a'b\"c $HOME"])
def test_odd_names(tmp_path, name):
    soundfile.write(tmp_path / "a.flac", TONE, RATE_HZ)
    made = (tmp_path / "a.flac").rename(tmp_path / f"{name}.wav")
    assert len(read_sound(made, 120).samples) == RATE_HZ


def test_a_damaged_mp3_writes_nothing_to_the_terminal(tmp_path, capfd):
    soundfile.write(tmp_path / "a.mp3", TONE, RATE_HZ)
    content = bytearray((tmp_path / "a.mp3").read_bytes())
    content[2000:2400] = bytes(400)
    (tmp_path / "a.mp3").write_bytes(content)
    assert len(read_sound(tmp_path / "a.mp3", 120).samples) > 0
    os.write(2, b"and after it all is as before")
    assert capfd.readouterr().err == "and after it all is as before"


def damaged(content: bytes, number: int) -> bytes:
    """One of the ways in which a file is damaged; `benchmarks/robustness` has thousands."""
    rng = np.random.default_rng(number)
    data = bytearray(content)
    for at in rng.integers(0, min(120, len(data)), 3):
        edge = [b"\xff\xff\xff\xff", b"\0\0\0\0", b"\xff\xff\xff\x7f", rng.bytes(2)][rng.integers(4)]
        data[at : at + len(edge)] = edge
    cut = rng.integers(1, len(data))
    return bytes(data[:cut] if number % 3 == 0 else data[:cut] + data[cut + 50 :])


@pytest.mark.parametrize("kind", ["WAV", "FLAC", "AIFF", "OGG", "MP3"])
def test_whatever_is_damaged_gives_sound_or_a_reason(tmp_path, kind, monkeypatch):
    monkeypatch.setattr(shutil, "which", lambda _: None)  # here the question is what our own libraries make of it
    soundfile.write(tmp_path / "whole", TONE[:4000], RATE_HZ, format=kind)
    whole = (tmp_path / "whole").read_bytes()
    answers = {answer(tmp_path, damaged(whole, number)) for number in range(40)}
    assert len(answers) > 1


def answer(folder, content):
    """A reason, or that there is sound."""
    try:
        sound = read(folder, content)
    except UnreadableSoundError as error:
        return error.kind
    assert sound.samples.shape[1] == 2
    assert np.isfinite(sound.samples).all()
    return "sound"


ENCODERS = [
    ("m4a", "aac"),
    ("3gp", "aac"),
    ("mp4", "alac"),
    ("aac", "aac"),
    ("webm", "libopus"),
    ("mkv", "pcm_s16le"),
    ("opus", "libopus"),
    ("mp3", "libmp3lame"),
    ("ogg", "libvorbis"),
]


@pytest.fixture
def tone(tmp_path):
    soundfile.write(tmp_path / "tone.wav", np.stack([TONE, TONE], axis=1), RATE_HZ)
    return tmp_path / "tone.wav"


def encoded(tone, ending, *options):
    made = tone.with_name(f"made.{ending}")
    subprocess.run([needs_tool("ffmpeg"), "-v", "error", "-i", tone, *options, made], check=True)
    return made


def assert_is_the_tone(sound):
    middle = sound.samples[len(sound.samples) // 4 : len(sound.samples) // 2, 0]
    spectrum = np.abs(np.fft.rfft(middle * np.hanning(len(middle))))
    assert np.argmax(spectrum) * sound.rate_hz / len(middle) == pytest.approx(441, abs=3)
    assert np.sqrt(np.mean(middle**2)) == pytest.approx(0.3 / np.sqrt(2), rel=0.1)
    assert len(sound.samples) / sound.rate_hz == pytest.approx(1, abs=0.06)


@pytest.mark.parametrize(("ending", "codec"), ENCODERS)
def test_recordings_of_phones_and_browsers(tone, ending, codec):
    """The same tone comes back, coded by ffmpeg's own coders."""
    assert_is_the_tone(read_sound(encoded(tone, ending, "-c:a", codec), 120))


def test_a_video_gives_its_sound(tone):
    picture = ["-f", "lavfi", "-i", "testsrc=d=1:s=64x64"]
    assert_is_the_tone(read_sound(encoded(tone, "mp4", *picture, "-c:v", "mpeg4", "-c:a", "aac"), 120))


def test_a_video_without_sound_is_refused(tone):
    silent = ["-f", "lavfi", "-i", "testsrc=d=1:s=64x64", "-map", "1:v", "-c:v", "mpeg4"]
    assert refused(encoded(tone, "mp4", *silent)) == "sound-unreadable"


def test_a_flac_that_does_not_say_how_long_it_is(tone):
    """As written into a pipe: its number of samples is 0, for unknown (RFC 9639, section 8.2)."""
    made = encoded(tone, "flac")
    content = bytearray(made.read_bytes())
    content[21:26] = bytes([content[21] & 0xF0, 0, 0, 0, 0])
    made.write_bytes(content)
    assert np.array_equal(read_sound(made, 120).samples, read_sound(tone, 120).samples)


def test_a_flac_or_ogg_that_breaks_off_is_refused(tone):
    for ending in ("flac", "ogg"):
        made = encoded(tone, ending)
        made.write_bytes(made.read_bytes()[: made.stat().st_size // 2])
        assert refused(made) == "sound-unreadable"


def test_a_recording_that_lasts_too_long(tone):
    made = encoded(tone, "m4a", "-af", "aloop=-1:44100,atrim=0:3", "-ar", "8000")
    with pytest.raises(UnreadableSoundError, match="sound-long"):
        read_sound(made, 2)


def test_what_ffmpeg_would_have_to_give_too_much_of_is_cut_there(tone, monkeypatch):
    monkeypatch.setattr(foreign, "MOST_BYTES", 300_000)
    samples, _ = foreign.decode_foreign(encoded(tone, "webm", "-c:a", "libopus"), "matroska", 120)
    assert samples.nbytes < 400_000


def test_ffmpeg_is_not_waited_for_long(tone, monkeypatch):
    made = encoded(tone, "m4a")
    monkeypatch.setattr(foreign, "TIMEOUT_SECONDS", 0.001)
    assert refused(made) == "sound-unreadable"


def listing(kind):
    """A text by which ffmpeg, left to guess, reads another file."""
    return {
        "concat": b"ffconcat version 1.0\nfile tone.wav\n",
        "hls": b"#EXTM3U\n#EXT-X-TARGETDURATION:1\n#EXTINF:1,\ntone.wav\n#EXT-X-ENDLIST\n",
        "sdp": b"v=0\no=- 0 0 IN IP4 127.0.0.1\nc=IN IP4 127.0.0.1\nm=audio 5004 RTP/AVP 0\n",
    }[kind]


@pytest.mark.parametrize("kind", ["concat", "hls", "sdp"])
def test_a_text_called_m4a_never_reaches_ffmpeg(tone, kind, monkeypatch):
    monkeypatch.setattr(subprocess, "run", lambda *_, **__: pytest.fail("a text was given to ffmpeg"))
    (tone.parent / "a.m4a").write_bytes(listing(kind))
    assert refused(tone.parent / "a.m4a") == "sound-unknown"


@pytest.mark.parametrize("kind", ["concat", "hls", "sdp"])
@pytest.mark.parametrize("head", [b"\0\0\0\x18ftyp", b"\x1a\x45\xdf\xa3", b"\xff\xf1", b"#!AMR\n"])
def test_a_text_that_begins_like_a_recording_reads_no_neighbour(tone, head, kind):
    """Given to ffmpeg it is read as what its first bytes say: as nothing, or as a moment of noise."""
    needs_tool("ffmpeg")
    told = answer(tone.parent, head + b"\n" + listing(kind))
    assert told in ("sound-unreadable", "sound-silent", "sound") if head == b"#!AMR\n" else told == "sound-unreadable"
    if told == "sound":
        assert len(read_sound(tone.parent / "a.wav", 120).samples) < 4000  # at 8 kHz; the neighbour lasts a second


def test_without_ffmpeg_that_is_said(tmp_path, monkeypatch):
    (tmp_path / "a.m4a").write_bytes(b"\0\0\0\x18ftypM4A " + bytes(100))
    monkeypatch.setattr(shutil, "which", lambda _: None)
    assert refused(tmp_path / "a.m4a") == "sound-needs-ffmpeg"


@pytest.mark.skipif(sys.platform == "win32", reason="a program is made of a script")
def test_a_program_called_ffmpeg_beside_the_recipe_is_not_run(tmp_path, monkeypatch):
    (tmp_path / "ffmpeg").write_text(f"#!/bin/sh\ntouch '{tmp_path}/was-run'\n", encoding="utf-8")
    (tmp_path / "ffmpeg").chmod(0o755)
    (tmp_path / "a.m4a").write_bytes(b"\0\0\0\x18ftypM4A " + bytes(100))
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PATH", f".{os.pathsep}{tmp_path}")
    assert refused(tmp_path / "a.m4a") == "sound-needs-ffmpeg"
    assert not (tmp_path / "was-run").exists()


def test_a_long_mp3_is_read_in_pieces_as_it_is_in_one(tmp_path):
    """Against libsndfile reading it in one go (through soundfile); after a seek its decoder would begin anew."""
    time_s = np.arange(6 * 44_100) / 44_100
    tone = 0.3 * np.sin(2 * np.pi * 441 * time_s)
    soundfile.write(tmp_path / "long.mp3", np.stack([tone, tone], axis=1), 44_100)
    whole, _ = soundfile.read(tmp_path / "long.mp3", dtype="float32")
    samples = read_sound(tmp_path / "long.mp3", 120).samples
    assert len(samples) == len(whole)
    assert np.abs(samples - whole).max() < 1e-4
