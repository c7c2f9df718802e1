"""Surround on two loudspeakers, beside ITU-R BS.775 and beside ffmpeg's own mixing, which follows it."""

from __future__ import annotations

import subprocess

import numpy as np
import pytest
import soundfile

from mixer.signal.downmix import to_stereo
from mixer.signal.files import read_sound
from tests.tools import needs_tool

RATE_HZ = 48_000
# A speaker's tone is known by its pitch: whole cycles in a second, so that a spectrum's bins hold one each.
PITCHES_HZ = {6: (400, 500, 600, 700, 800, 900), 3: (400, 500, 600), 5: (400, 500, 600, 700, 800)}


def speakers(channels):
    time = np.arange(RATE_HZ) / RATE_HZ
    return np.stack([0.1 * np.sin(2 * np.pi * hz * time) for hz in PITCHES_HZ[channels]], axis=1).astype(np.float32)


def levels(samples, channels):
    """How much of each speaker's tone is on the left and on the right."""
    spectrum = np.abs(np.fft.rfft(samples[:RATE_HZ], axis=0)) / (RATE_HZ / 2) / 0.1
    return spectrum[list(PITCHES_HZ[channels])].T


def test_mono_is_on_both_channels_and_stereo_as_it_is():
    mono = np.arange(4, dtype=np.float32)[:, None]
    assert np.array_equal(to_stereo(mono), np.repeat(mono, 2, axis=1))
    stereo = np.arange(8, dtype=np.float32).reshape(4, 2)
    assert to_stereo(stereo) is stereo


def test_the_gains_are_those_of_bs_775():
    """ITU-R BS.775-3, annex 4, table 2 (3/2 to 2/0): 1 for the front, 0.7071 for centre and surround; no LFE.

    The table is quoted from memory; the order of channels is that of RFC 9639, section 9.1.3.
    """
    left, right = levels(to_stereo(speakers(6)), 6)
    assert left == pytest.approx([1, 0, 0.7071, 0, 0.7071, 0], abs=1e-3)
    assert right == pytest.approx([0, 1, 0.7071, 0, 0, 0.7071], abs=1e-3)


@pytest.mark.parametrize("ending", ["wav", "flac", "aiff"])
@pytest.mark.parametrize("channels", [3, 5, 6])
def test_nothing_of_a_surround_file_is_lost(tmp_path, ending, channels):
    """Every speaker is heard, but the one for low effects."""
    soundfile.write(tmp_path / f"a.{ending}", speakers(channels), RATE_HZ, subtype="PCM_24")
    heard = levels(read_sound(tmp_path / f"a.{ending}", 120).samples, channels).max(axis=0)
    assert np.flatnonzero(heard < 0.5).tolist() == ([3] if channels == 6 else [])


def test_ffmpeg_mixes_alike(tmp_path):
    """It gives centre and surrounds 0.7071 too (its manual, "center_mix_level"), and leaves out the LFE."""
    ffmpeg = needs_tool("ffmpeg")
    soundfile.write(tmp_path / "six.wav", speakers(6), RATE_HZ, subtype="FLOAT")
    command = [ffmpeg, "-v", "error", "-channel_layout", "5.1", "-i", tmp_path / "six.wav", "-ac", "2"]
    subprocess.run([*command, "-c:a", "pcm_f32le", tmp_path / "two.wav"], check=True)
    theirs, _ = soundfile.read(tmp_path / "two.wav", dtype="float32")
    assert np.abs(theirs - read_sound(tmp_path / "six.wav", 120).samples).max() < 1e-5


@pytest.mark.parametrize(("ending", "codec"), [("ogg", "libvorbis"), ("opus", "libopus"), ("m4a", "aac")])
def test_other_orders_of_channels_come_out_the_same(tmp_path, ending, codec):
    ffmpeg = needs_tool("ffmpeg")
    soundfile.write(tmp_path / "six.wav", speakers(6), RATE_HZ, subtype="FLOAT")
    extra = ["-mapping_family", "1"] if codec == "libopus" else []
    command = [ffmpeg, "-v", "error", "-channel_layout", "5.1", "-i", tmp_path / "six.wav", "-b:a", "512k"]
    subprocess.run([*command, "-c:a", codec, *extra, tmp_path / f"six.{ending}"], check=True)
    samples = read_sound(tmp_path / f"six.{ending}", 120).samples
    left, right = levels(np.pad(samples, ((0, RATE_HZ), (0, 0))), 6)
    assert left[[0, 2, 4]] == pytest.approx([1, 0.7071, 0.7071], abs=0.12)
    assert right[[1, 2, 5]] == pytest.approx([1, 0.7071, 0.7071], abs=0.12)
    assert max(*left[[1, 3, 5]], *right[[0, 3, 4]]) < 0.12
