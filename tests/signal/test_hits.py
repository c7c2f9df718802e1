"""What is struck, plucked or tongued is a hit; what swells, or is faint beside what rings, is none."""

import numpy as np
import pytest

from mixer.signal.hits import are_hits
from tests.signal import signals
from tests.signal.signals import RATE_HZ, stereo

PLACE = RATE_HZ // 2


def begun(attack_seconds, freq_hz=330, before=0.02):
    """A tone that rises for so long, after a fainter one."""
    t = np.arange(RATE_HZ) / RATE_HZ
    rise = np.clip((t - 0.5) / attack_seconds, 0, 1)
    return stereo(0.3 * rise * np.sin(2 * np.pi * freq_hz * t) + before * np.sin(2 * np.pi * 262 * t))


@pytest.mark.parametrize("attack_seconds", [0.0001, 0.001])
def test_a_sharp_attack_is_a_hit(attack_seconds):
    assert are_hits(begun(attack_seconds), RATE_HZ, np.array([PLACE])).tolist() == [True]


@pytest.mark.parametrize("attack_seconds", [0.05, 0.1])
def test_a_soft_one_is_none(attack_seconds):
    assert are_hits(begun(attack_seconds), RATE_HZ, np.array([PLACE])).tolist() == [False]


def test_each_place_is_told_by_itself_round_the_join():
    drums = signals.play_drums(100)
    hits = np.unique(np.round(drums.onsets_frames).astype(int) % len(drums.samples))
    assert are_hits(drums.samples, RATE_HZ, hits).mean() > 0.9
    assert not are_hits(np.zeros((1000, 2), np.float32), RATE_HZ, np.array([0, 999])).any()
    assert len(are_hits(begun(0.1), RATE_HZ, np.zeros(0, np.int64))) == 0
