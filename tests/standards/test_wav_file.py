"""Our WAV files read by two independent readers: ffprobe (FFmpeg) and libsndfile (soundfile).

Layout: Multimedia Programming Interface and Data Specifications 1.0 (IBM, Microsoft, 1991), as read in open readers.
"""

import json
import subprocess

import numpy as np
import pytest
import soundfile

from mixer.signal.wav import Marker, WavWriter
from tests.tools import needs_tool

RATE_HZ = 44_100
MARKERS = [Marker(0, "intro"), Marker(RATE_HZ, "Strophe, größer"), Marker(2 * RATE_HZ, "終わり")]
INFO = {"INAM": "Rain on tin", "IART": "Kaya Ødegård", "ICMT": "odd", "ISFT": "recipe-mixer"}


def write(path, sample_format, samples, block_frames=10_000):
    with path.open("wb") as file:
        writer = WavWriter(file, RATE_HZ, sample_format, markers=MARKERS, info=INFO, chunks=[(b"rcpe", b"odd")])
        for start in range(0, len(samples), block_frames):
            writer.write(samples[start : start + block_frames])
        writer.close()


@pytest.fixture(scope="module")
def sound():
    return (np.random.default_rng(4).standard_normal((3 * RATE_HZ + 1, 2)) * 0.1).astype(np.float32)


@pytest.mark.parametrize(
    ("sample_format", "subtype", "error"),
    # Dither and rounding stray by up to 1.5 steps.
    [("pcm16", "PCM_16", 1.5 / 2**15), ("pcm24", "PCM_24", 1.5 / 2**23), ("float32", "FLOAT", 0.0)],
)
def test_libsndfile_reads_the_sound(tmp_path, sound, sample_format, subtype, error):
    path = tmp_path / "song.wav"
    write(path, sample_format, sound)
    info = soundfile.info(path)
    assert (info.subtype, info.samplerate, info.channels, info.frames) == (subtype, RATE_HZ, 2, len(sound))
    assert info.format == ("WAV" if sample_format == "pcm16" else "WAVEX")
    read, _ = soundfile.read(path, dtype="float64", always_2d=True)
    assert np.abs(read - sound).max() <= error
    with soundfile.SoundFile(path) as opened:
        assert (opened.title, opened.artist) == (INFO["INAM"], INFO["IART"])


@pytest.mark.parametrize("sample_format", ["pcm16", "pcm24", "float32"])
def test_ffprobe_shows_markers_as_chapters_and_tags(tmp_path, sound, sample_format):
    needs_tool("ffprobe")
    path = tmp_path / "song.wav"
    write(path, sample_format, sound)
    command = ["ffprobe", "-v", "error", "-show_chapters", "-show_format", "-show_streams", "-of", "json", str(path)]
    done = subprocess.run(command, capture_output=True, check=True)
    assert done.stderr == b""
    shown = json.loads(done.stdout)
    assert [chapter["tags"]["title"] for chapter in shown["chapters"]] == [marker.label for marker in MARKERS]
    assert [float(chapter["start_time"]) for chapter in shown["chapters"]] == [0.0, 1.0, 2.0]
    tags = shown["format"]["tags"]
    assert (tags["title"], tags["artist"], tags["comment"], tags["encoder"]) == tuple(INFO.values())
    assert shown["streams"][0]["duration_ts"] == len(sound)
