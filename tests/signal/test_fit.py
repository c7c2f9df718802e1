"""A loop fitted to another length and pitch keeps its length, pitch, stereo, hits and join."""

import numpy as np
import pytest

from mixer.signal.fit import fit_loop
from tests.signal import signals

PLAYERS = [signals.play_drums, signals.play_plucks, signals.play_chords, signals.play_both]


@pytest.mark.parametrize("play", PLAYERS)
def test_a_loop_that_fits_passes_through_bit_for_bit(play):
    loop = play(96).samples
    assert fit_loop(loop, 44100, len(loop)).tobytes() == loop.tobytes()


@pytest.mark.parametrize("play", PLAYERS)
@pytest.mark.parametrize("ratio", [0.7, 0.93, 1.07, 1.4])
def test_length_is_exact_also_when_odd(play, ratio):
    loop = play(120).samples
    for length_frames in (int(len(loop) * ratio) | 1, int(len(loop) * ratio) // 2 * 2):
        fitted = fit_loop(loop, 44100, length_frames)
        assert fitted.shape == (length_frames, 2)
        assert fitted.dtype == np.float32
        assert np.isfinite(fitted).all()
