import hashlib

import numpy as np
import pytest

from mixer.signal.dither import to_pcm16, to_pcm24, triangular_noise
from tests.signal import signals


@pytest.mark.parametrize("first_frame", [0, 1, 1023, 1024, 5000, 10_000_000_019])
def test_noise_depends_on_the_absolute_frame_only(first_frame):
    whole = triangular_noise(first_frame, 6000)
    for at, length in ((0, 1), (1, 1500), (1024, 1024), (3333, 2667)):
        assert np.array_equal(triangular_noise(first_frame + at, length), whole[at : at + length])


@pytest.mark.parametrize("convert", [to_pcm16, to_pcm24])
@pytest.mark.parametrize("size", [1, 1000, 1024, 16_384])
def test_the_split_into_blocks_does_not_matter(convert, size):
    sound = signals.noise(3000)
    parts = [convert(sound[start : start + size], 77 + start) for start in range(0, len(sound), size)]
    assert np.array_equal(np.concatenate(parts), convert(sound, 77))


def test_what_exceeds_full_scale_is_clipped_not_wrapped():
    over = np.array([[2.0, -2.0], [1.0, -1.0]], np.float32)
    assert to_pcm16(np.repeat(over, 500, axis=0), 0)[:500].tolist() == [[32767, -32768]] * 500
    assert to_pcm24(over, 0)[0].tolist() == [2**23 - 1, -(2**23)]


def test_the_sound_itself_is_left_alone():
    sound = signals.noise(100)
    before = sound.copy()
    to_pcm16(sound, 0)
    to_pcm24(sound, 0)
    assert np.array_equal(sound, before)


def test_noise_is_the_same_with_every_version_of_every_library():
    # A guard against change, no reference: songs made before and after would differ in every byte.
    digest = hashlib.sha256(triangular_noise(0, 1 << 16).astype("<f4").tobytes()).hexdigest()
    assert digest.startswith("7e846223187df627")
