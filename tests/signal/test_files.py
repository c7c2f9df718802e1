"""Sound files of strangers: what can be read is, what cannot is refused for a reason, quickly and without harm."""

from __future__ import annotations

import os
import shutil
import struct
import subprocess
import tracemalloc
from contextlib import suppress

import numpy as np
import pytest
import soundfile

from mixer.signal.files import UnreadableSoundError, read_sound
from tests.tools import needs_tool

RATE_HZ = 44_100
TONE = (0.3 * np.sin(2 * np.pi * 441 * np.arange(RATE_HZ) / RATE_HZ)).astype(np.float32)


def wav(data: bytes, *, rate_hz=RATE_HZ, channels=1, bits=16, tag=1, claimed=None, riff=None) -> bytes:
    frame = channels * bits // 8
    head = struct.pack("<HHIIHH", tag, channels, rate_hz & 0xFFFFFFFF, (rate_hz * frame) & 0xFFFFFFFF, frame, bits)
    size = len(data) if claimed is None else claimed
    body = b"WAVEfmt " + struct.pack("<I", 16) + head + b"data" + struct.pack("<I", size) + data
    return b"RIFF" + struct.pack("<I", len(body) if riff is None else riff) + body


PCM = (TONE * 32767).astype("<i2").tobytes()


def refused(path):
    with pytest.raises(UnreadableSoundError) as told:
        read_sound(path, 120)
    return told.value.kind


@pytest.mark.parametrize(
    ("content", "kind"),
    [
        (b"", "sound-empty"),
        (b"R", "sound-unknown"),
        (b"RIFF", "sound-unknown"),
        (b"this is a text, not a sound", "sound-unknown"),
        (b"#EXTM3U\nfile:///etc/passwd\n", "sound-unknown"),
        (b"ffconcat version 1.0\nfile secret.wav\n", "sound-unknown"),
        (wav(b""), "sound-empty"),
        (wav(PCM)[:20], "sound-unreadable"),
        (wav(PCM, rate_hz=1), "sound-rate"),
        (wav(PCM, rate_hz=4_000_000_000), "sound-rate"),
        (wav(np.full(100, np.nan, "<f4").tobytes(), bits=32, tag=3), "sound-broken"),
        (wav(np.full(100, np.inf, "<f4").tobytes(), bits=32, tag=3), "sound-broken"),
        (wav(np.full(100, 1e30, "<f4").tobytes(), bits=32, tag=3), "sound-wild"),
        (wav(bytes(32 * 100), channels=32, bits=8), "sound-channels"),
        (wav(PCM, tag=0x5555), "sound-unreadable"),
        (b"fLaC" + bytes(50), "sound-unreadable"),
        (b"OggS" + bytes(50), "sound-unreadable"),
    ],
)
def test_what_is_refused_and_why(tmp_path, content, kind):
    path = tmp_path / "loop.wav"
    path.write_bytes(content)
    assert refused(path) in (
        kind,
        "sound-unreadable" if kind in ("sound-rate", "sound-channels", "sound-empty") else kind,
    )


def test_a_truncated_file_gives_what_is_there(tmp_path):
    (tmp_path / "cut.wav").write_bytes(wav(PCM)[:20_000])
    samples, _ = read_sound(tmp_path / "cut.wav", 120)
    assert len(samples) == (20_000 - 44) // 2


@pytest.mark.parametrize("claimed", [0xFFFFFFFF, 0x7FFFFFFF, 4_000_000])
def test_a_claimed_size_allocates_nothing(tmp_path, claimed):
    (tmp_path / "big.wav").write_bytes(wav(PCM[:1000], claimed=claimed, riff=0xFFFFFFFF))
    tracemalloc.start()
    with suppress(UnreadableSoundError):
        assert len(read_sound(tmp_path / "big.wav", 120)[0]) <= 500
    assert tracemalloc.get_traced_memory()[1] < 5_000_000
    tracemalloc.stop()


def test_what_lasts_too_long_is_refused(tmp_path):
    soundfile.write(tmp_path / "long.flac", np.zeros((8_000 * 121, 1)), 8_000)
    assert refused(tmp_path / "long.flac") == "sound-long"


def test_a_folder_a_pipe_and_a_device_are_no_files(tmp_path):
    (tmp_path / "x.wav").mkdir()
    os.mkfifo(tmp_path / "pipe.wav")
    (tmp_path / "zero.wav").symlink_to("/dev/zero")
    assert {refused(tmp_path / name) for name in ("x.wav", "pipe.wav", "zero.wav")} == {"sound-no-file"}


@pytest.mark.parametrize("subtype", ["PCM_U8", "PCM_16", "PCM_24", "PCM_32", "FLOAT", "DOUBLE"])
@pytest.mark.parametrize("rate_hz", [22_050, 44_100, 96_000])
def test_every_usual_kind_of_wav(tmp_path, subtype, rate_hz):
    soundfile.write(tmp_path / "a.wav", TONE, rate_hz, subtype=subtype)
    samples, rate = read_sound(tmp_path / "a.wav", 120)
    assert (samples.dtype, samples.shape, rate) == (np.float32, (RATE_HZ, 2), rate_hz)
    assert np.array_equal(samples[:, 0], samples[:, 1])
    assert np.abs(samples[:, 0] - TONE).max() < (0.01 if subtype == "PCM_U8" else 1e-4)


def test_of_surround_the_front_pair_is_taken(tmp_path):
    surround = np.stack([TONE, -TONE, TONE * 0.1, TONE * 0, TONE * 0, TONE * 0], axis=1)
    soundfile.write(tmp_path / "a.wav", surround, RATE_HZ, subtype="FLOAT")
    samples, _ = read_sound(tmp_path / "a.wav", 120)
    assert np.array_equal(samples, surround[:, :2])


def test_a_name_of_200_signs(tmp_path):
    path = tmp_path / ("長" * 60 + "x" * 20 + ".wav")
    soundfile.write(path, TONE, RATE_HZ)
    assert len(read_sound(path, 120)[0]) == RATE_HZ


ENCODERS = [
    ("m4a", "aac"),
    ("3gp", "aac"),
    ("aac", "aac"),
    ("webm", "libopus"),
    ("opus", "libopus"),
    ("mp3", "libmp3lame"),
    ("ogg", "libvorbis"),
]


@pytest.mark.parametrize(("ending", "codec"), ENCODERS)
def test_recordings_of_phones_and_browsers(tmp_path, ending, codec):
    """The same tone comes back, coded and decoded by ffmpeg's own coders."""
    ffmpeg = needs_tool("ffmpeg")
    soundfile.write(tmp_path / "tone.wav", np.stack([TONE, TONE], axis=1), RATE_HZ)
    made = tmp_path / f"tone.{ending}"
    command = [ffmpeg, "-v", "error", "-i", tmp_path / "tone.wav", "-c:a", codec, made]
    subprocess.run(command, check=True)
    samples, rate_hz = read_sound(made, 120)
    middle = samples[len(samples) // 4 : len(samples) // 2, 0]
    spectrum = np.abs(np.fft.rfft(middle * np.hanning(len(middle))))
    pitch_hz = np.argmax(spectrum) * rate_hz / len(middle)
    assert pitch_hz == pytest.approx(441, abs=3)
    assert np.sqrt(np.mean(middle**2)) == pytest.approx(0.3 / np.sqrt(2), rel=0.1)


def test_a_text_called_m4a_cannot_make_ffmpeg_read_its_neighbours(tmp_path):
    soundfile.write(tmp_path / "secret.wav", TONE, RATE_HZ)
    (tmp_path / "a.m4a").write_text("ffconcat version 1.0\nfile secret.wav\n", encoding="utf-8")
    assert refused(tmp_path / "a.m4a") == "sound-unknown"
    (tmp_path / "b.m4a").write_bytes(b"\0\0\0\x18ftyp" + b"ffconcat version 1.0\nfile secret.wav\n")
    assert refused(tmp_path / "b.m4a") in ("sound-unreadable", "sound-needs-ffmpeg")


def test_without_ffmpeg_that_is_said(tmp_path, monkeypatch):
    (tmp_path / "a.m4a").write_bytes(b"\0\0\0\x18ftypM4A " + bytes(100))
    monkeypatch.setattr(shutil, "which", lambda _: None)
    assert refused(tmp_path / "a.m4a") == "sound-needs-ffmpeg"
