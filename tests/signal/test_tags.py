"""Tags in FLAC, Ogg Vorbis and MP3, read back by libsndfile and ffprobe; and what damaged files may not do."""

from __future__ import annotations

import io
import json
import struct
import subprocess

import numpy as np
import pytest
import soundfile

from mixer.signal import flac, id3, ogg
from mixer.signal.coded import decode, encode
from mixer.signal.tags import Tags
from tests.tools import needs_tool

RATE_HZ = 44_100
KINDS = {"flac": (flac, "flac16"), "ogg": (ogg, "ogg"), "mp3": (id3, "mp3")}
TAGS = Tags(
    "Regen, größer · 終わり", "Kaya Ødegård", "Loop a; Loop b", "recipe-mixer 0", '{"recipe": "a = b\\n# ☂ 🥁"}'
)


@pytest.fixture(scope="module")
def untagged(tmp_path_factory):
    folder = tmp_path_factory.mktemp("untagged")
    sound = (np.random.default_rng(4).standard_normal((RATE_HZ, 2)) * 0.1).astype(np.float32)
    for kind, (_, coding) in KINDS.items():
        encode(folder / f"x.{kind}", [sound], RATE_HZ, coding)
    return folder


def tagged(untagged, kind, tags=TAGS):
    out = io.BytesIO()
    with (untagged / f"x.{kind}").open("rb") as sound:
        KINDS[kind][0].write_tagged(sound, out, tags)
    return out.getvalue()


@pytest.mark.parametrize("kind", KINDS)
def test_libsndfile_reads_the_tags_and_the_same_sound(untagged, tmp_path, kind):
    (tmp_path / "y").write_bytes(tagged(untagged, kind))
    with soundfile.SoundFile(tmp_path / "y") as file:
        assert (file.title, file.artist, file.comment) == (TAGS.title, TAGS.artist, TAGS.comment)
        sound = file.read(dtype="float32")
    assert np.array_equal(sound, np.concatenate(list(decode(untagged / f"x.{kind}", KINDS[kind][1]))))


@pytest.mark.parametrize("kind", KINDS)
def test_ffprobe_shows_the_tags_and_ffmpeg_has_nothing_to_say(untagged, tmp_path, kind):
    needs_tool("ffprobe")
    file = tmp_path / f"y.{kind}"
    file.write_bytes(tagged(untagged, kind))
    done = subprocess.run(
        ["ffprobe", "-v", "error", "-show_format", "-show_streams", "-of", "json", str(file)],
        capture_output=True,
        check=True,
    )
    assert done.stderr == b""
    shown = json.loads(done.stdout)
    tags = {**shown["streams"][0].get("tags", {}), **shown["format"].get("tags", {})}
    tags = {name.lower(): text for name, text in tags.items()}
    found = (tags["title"], tags["artist"], tags["comment"], tags["encoder"], tags["recipe_mixer"])
    assert found == (TAGS.title, TAGS.artist, TAGS.comment, TAGS.software, TAGS.carried)
    played = ["ffmpeg", "-v", "warning", "-xerror", "-err_detect", "explode", "-i", str(file), "-f", "null", "-"]
    done = subprocess.run(played, capture_output=True, check=True)
    assert done.stderr == b""


# A page of Ogg holds 255 segments of 255 bytes: what ends at that border, just before and just after it.
LENGTHS = [0, 1, 254, 255, 256, *range(64_900, 64_900 + 256, 17), 255 * 255, 200_000]


@pytest.mark.parametrize("kind", KINDS)
def test_what_is_carried_comes_back_whatever_its_length(untagged, kind):
    for length in LENGTHS:
        whole = tagged(untagged, kind, Tags(carried="é" * (length // 2) + "x" * (length % 2)))
        carried = KINDS[kind][0].read_carried(io.BytesIO(whole))
        assert len((carried or "").encode()) == length
        if kind == "ogg":
            assert len(soundfile.read(io.BytesIO(whole))[0]) == RATE_HZ


@pytest.mark.parametrize("kind", KINDS)
def test_signs_that_cannot_be_written_do_no_harm(untagged, kind):
    carried = KINDS[kind][0].read_carried(io.BytesIO(tagged(untagged, kind, Tags("a\0b\ud800", carried="x\0y\ud800"))))
    assert carried == "x y?"


def test_the_checksum_is_the_one_that_libogg_writes(untagged):
    """Every page of a file made by libsndfile with libogg; and the check value of this polynomial, CRC-32/CKSUM."""
    assert ogg.checksum(b"123456789") == 0x765E7680 ^ 0xFFFFFFFF  # cksum inverts at the end; from memory
    data = (untagged / "x.ogg").read_bytes()
    starts = [at for at in range(len(data)) if data.startswith(b"OggS\0", at)]
    assert len(starts) > 2
    for at, end in zip(starts, [*starts[1:], len(data)], strict=True):
        (found,) = struct.unpack_from("<I", data, at + 22)
        assert ogg.checksum(data[at : at + 22] + bytes(4) + data[at + 26 : end]) == found


def test_ogg_pages_are_numbered_through_and_belong_together(untagged):
    data = tagged(untagged, "ogg", Tags(carried="x" * 200_000))
    heads = [struct.unpack_from("<BqIIIB", data, at + 5) for at in range(len(data)) if data.startswith(b"OggS\0", at)]
    assert [head[3] for head in heads] == list(range(len(heads)))
    assert len({head[2] for head in heads}) == 1
    assert (heads[0][0], heads[-1][0] & 4, heads[-1][1]) == (2, 4, RATE_HZ)


def test_the_same_song_twice_has_the_same_bytes(untagged, tmp_path):
    """Although the library gives each Ogg file a number by chance."""
    sound = (np.random.default_rng(4).standard_normal((RATE_HZ, 2)) * 0.1).astype(np.float32)
    for kind, (_, coding) in KINDS.items():
        encode(tmp_path / f"x.{kind}", [sound[:1000], sound[1000:]], RATE_HZ, coding)
        assert tagged(tmp_path, kind) == tagged(untagged, kind)


def test_id3_of_the_later_version_is_read_too():
    """Put together by hand after id3.org's 2.4.0 (2000), from memory: sizes of 7 bits, encoding 3 is UTF-8."""
    text = b"\x03RECIPE_MIXER\0" + b"y" * 200 + b"\0"
    frame = b"TXXX" + bytes([0, 0, len(text) >> 7, len(text) & 127]) + b"\0\0" + text
    picture = b"APIC" + bytes([0, 0, 2, 0]) + b"\0\0" + bytes(256)
    size = len(frame) + len(picture)
    tag = b"ID3\x04\0\0" + bytes([0, 0, size >> 7, size & 127]) + picture + frame
    assert id3.read_carried(io.BytesIO(tag)) == "y" * 200


@pytest.mark.parametrize("kind", KINDS)
def test_damaged_files_carry_something_or_nothing_and_no_more(untagged, kind):
    """Cut anywhere at the front, and with bytes changed by chance: it ends, with a text or with none."""
    read = KINDS[kind][0].read_carried
    whole = tagged(untagged, kind)
    chance = np.random.default_rng(9)
    none = 0
    for _ in range(300):
        front = bytearray(whole[:8000])
        for at in chance.integers(0, 700, 3):
            front[at] = chance.integers(256)
        found = read(io.BytesIO(bytes(front[: chance.integers(len(front))])))
        assert found is None or isinstance(found, str)
        none += found is None
    assert 0 < none < 300


def test_what_is_no_such_file_is_not_copied():
    for module in (flac, ogg):
        with pytest.raises(ValueError, match="does not begin"):
            module.write_tagged(io.BytesIO(b"RIFF" + bytes(100)), io.BytesIO(), TAGS)
