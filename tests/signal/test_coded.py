"""Sound through FLAC, Ogg Vorbis and MP3, by known samples and by ffmpeg's decoders."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest
import soundfile

from mixer.signal.blocks import in_blocks
from mixer.signal.coded import NoEncoderError, decode, encode
from mixer.signal.dither import to_pcm16, to_pcm24
from tests.tools import needs_tool

RATE_HZ = 44_100


@pytest.fixture(scope="module")
def sound():
    time = np.arange(2 * RATE_HZ + 1) / RATE_HZ
    left = 0.4 * np.sin(2 * np.pi * 441 * time)
    return np.stack([left, 0.5 * left + 0.2 * np.sin(2 * np.pi * 1000 * time)], axis=1).astype(np.float32)


@pytest.mark.parametrize(("coding", "dtype"), [("flac16", "int16"), ("flac24", "int32")])
def test_flac_holds_the_dithered_samples(tmp_path, sound, coding, dtype):
    encode(tmp_path / "x", in_blocks(sound, 10_007), RATE_HZ, coding)
    found, _ = soundfile.read(tmp_path / "x", dtype=dtype)
    wanted = to_pcm16(sound, 0) if coding == "flac16" else to_pcm24(sound, 0) << 8
    assert np.array_equal(found, wanted)


@pytest.mark.parametrize("coding", ["ogg", "mp3"])
@pytest.mark.parametrize("rate_hz", [44_100, 48_000])
def test_lossy_sound_comes_back_in_place_and_as_loud(tmp_path, sound, coding, rate_hz):
    """Not a frame earlier or later, and within 1 % of its energy (two tones are easily coded)."""
    encode(tmp_path / "x", in_blocks(sound), rate_hz, coding)
    found = np.concatenate(list(decode(tmp_path / "x", coding)))
    assert soundfile.info(tmp_path / "x").samplerate == rate_hz
    assert found.shape == sound.shape
    middle = slice(5000, -5000)
    assert np.square(found - sound)[middle].sum() < 0.01 * np.square(sound)[middle].sum()


@pytest.mark.parametrize("coding", ["flac16", "flac24", "ogg", "mp3"])
def test_ffmpeg_decodes_the_same(tmp_path, sound, coding):
    """Within 1e-4 of full scale, since lossy decoders round differently; all along, also where a new block begins."""
    needs_tool("ffmpeg")
    encode(tmp_path / "x", in_blocks(sound), RATE_HZ, coding)
    ours = np.concatenate(list(decode(tmp_path / "x", coding)))
    command = ["ffmpeg", "-v", "error", "-i", str(tmp_path / "x"), "-f", "f32le", "-"]
    theirs = np.frombuffer(subprocess.run(command, capture_output=True, check=True).stdout, "<f4").reshape(-1, 2)
    # Some of its versions leave what the encoder added after the end of the sound.
    assert len(sound) <= len(theirs) < len(sound) + 2304
    assert np.abs(theirs[: len(sound)] - ours).max() < 1e-4


@pytest.mark.parametrize("coding", ["flac16", "ogg", "mp3"])
def test_sound_without_a_frame_and_silence(tmp_path, coding):
    encode(tmp_path / "x", [np.zeros((5000, 2), np.float32)], RATE_HZ, coding)
    found = np.concatenate(list(decode(tmp_path / "x", coding)))
    assert found.shape == (5000, 2)
    assert np.abs(found).max() < 1e-4


def test_what_cannot_be_written_is_an_error_of_the_file_system(tmp_path, sound):
    with pytest.raises(OSError, match="x"):
        encode(tmp_path / "nowhere" / "x.mp3", [sound], RATE_HZ, "mp3")


def test_a_library_without_the_encoder_is_told(tmp_path, sound, monkeypatch):
    monkeypatch.setattr(soundfile, "available_formats", lambda: {"WAV": "", "FLAC": ""})
    with pytest.raises(NoEncoderError, match="MP3"):
        encode(tmp_path / "x.mp3", [sound], RATE_HZ, "mp3")


@pytest.mark.skipif(sys.platform == "win32", reason="no limit on the size of files there")
@pytest.mark.parametrize("coding", ["flac16", "ogg", "mp3"])
@pytest.mark.parametrize("room_bytes", [0, 100, 20_000])
def test_a_full_disk_is_never_silent(tmp_path, coding, room_bytes):
    """As a limit on the size of files; also where it is met only by what is written at the end."""
    import resource

    noise = (np.random.default_rng(1).standard_normal((60_000, 2)) * 0.1).astype(np.float32)
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (room_bytes, before[1]))
    try:
        with pytest.raises(OSError, match=r"rror|frames"):
            encode(tmp_path / "x", in_blocks(noise, 5000), RATE_HZ, coding)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
