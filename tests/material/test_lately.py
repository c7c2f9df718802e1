"""Materials that were used last are found in memory, as many as may be there."""

import numpy as np
import pytest

from mixer.material.fit import Material
from mixer.material.lately import Lately


def material(frames):
    return Material(np.zeros((frames, 2), np.float32), -20.0, f"{frames}")


def test_what_was_used_longest_ago_goes_first():
    lately = Lately(most_bytes=3 * 8)
    for key in "abc":
        lately.keep(key, material(1))
    assert lately.get("a") is not None
    lately.keep("d", material(1))
    assert [key for key in "abcd" if lately.get(key)] == ["a", "c", "d"]
    lately.keep("e", material(4))
    assert not any(lately.get(key) for key in "abcde")


def test_what_is_kept_is_the_same_and_cannot_be_changed():
    lately, kept = Lately(), material(2)
    lately.keep("a", kept)
    assert lately.get("a") is kept
    with pytest.raises(ValueError, match="read-only"):
        kept.samples[:] = 1
    lately.forget()
    assert lately.get("a") is None
