"""A note that is heard faintly before it is loud, under a low tone that rings, begins where it is heard first."""

import numpy as np
import pytest

from mixer.signal.begins import where_notes_begin
from mixer.signal.pieces import HELD, RINGING
from mixer.signal.spoken import heard_before
from tests.signal.signals import RATE_HZ, stereo

MS = RATE_HZ // 1000
FRAMES, BEGINS = round(0.8 * RATE_HZ), round(0.4 * RATE_HZ)


def cycles(hz, brighter, seed=3):
    """A low tone that is bright once in each of its cycles, in which all before and after is as dull."""
    t = np.arange(FRAMES) / RATE_HZ
    swing = 0.5 - 0.5 * np.cos(2 * np.pi * hz * t)
    noise = np.random.default_rng(seed).normal(0, 1, FRAMES)
    return (0.3 * swing**8 + 1e-5 * noise * (1 + brighter * swing**40)) * np.exp(-t)


def plucked(late_ms, scrape=1e-4, hz=50.0, loud=0.5, attack_ms=10, scrapes_ms=None, brighter=30):
    """A low tone rings; a finger is heard on the string for so long, and then the note is loud."""
    t = np.arange(FRAMES)
    after = t - BEGINS - late_ms * MS
    new = loud * np.sin(2 * np.pi * 63 * after / RATE_HZ) * np.clip(after / (attack_ms * MS), 0, 1)
    noise = np.random.default_rng(4).normal(0, scrape, FRAMES) * (t >= BEGINS)
    if scrapes_ms:
        noise *= t < BEGINS + scrapes_ms * MS
    old = cycles(hz, brighter) * np.where(after < 0, 1, np.exp(-after / RATE_HZ * 50)) if hz else 0 * t
    return stereo(old + new + noise), BEGINS + late_ms * MS


def earlier(loop, loud, last=0):
    first, frames = heard_before(loop, RATE_HZ, np.array([last, loud]), np.ones(2, np.bool_))
    assert first == 0
    return frames


@pytest.mark.parametrize("late_ms", [10, 20, 45])
def test_it_begins_where_it_is_heard_first(late_ms):
    loop, loud = plucked(late_ms)
    assert earlier(loop, loud) == pytest.approx(late_ms * MS, abs=1.5 * MS)


@pytest.mark.parametrize(
    "other",
    [
        pytest.param({"scrape": 0.0}, id="nothing is heard before"),
        pytest.param({"late_ms": 70}, id="it is heard too long before"),
        pytest.param({"scrapes_ms": 5}, id="it is dull again after a click"),
        pytest.param({"hz": 0.0}, id="no tone rings"),
        pytest.param({"hz": 10.0}, id="its cycles are too long to be told"),
        pytest.param({"scrape": 1e-5}, id="it is hardly brighter"),
        pytest.param({"hz": 440.0}, id="it is no low tone"),
    ],
)
def test_else_nothing_tells_of_it(other):
    loop, loud = plucked(**{"late_ms": 30, **other})
    assert earlier(loop, loud) == 0


def test_where_the_attack_is_clear_it_must_be_clear_too():
    loop, loud = plucked(20, scrape=2e-5, brighter=1)
    assert earlier(loop, loud) > 0
    clear = loop.copy()
    clear[loud : loud + 5 * MS] += np.random.default_rng(5).normal(0, 0.01, (5 * MS, 1)).astype(np.float32)
    assert earlier(clear, loud) == 0


def test_after_a_short_note_there_is_too_little_to_tell():
    loop, loud = plucked(20)
    assert earlier(loop, loud, loud - 100 * MS) == 0


@pytest.mark.parametrize("was", [HELD, RINGING])
def test_the_loop_is_cut_there(was):
    loop, loud = plucked(20)
    onsets, kinds = where_notes_begin(loop, RATE_HZ, np.array([0, loud]), [was, 9000])
    assert onsets[0] == 0
    assert onsets[1] == pytest.approx(BEGINS, abs=1.5 * MS)
    assert kinds == [was, 9000 + loud - onsets[1]]


def test_silence_has_no_cycles():
    assert earlier(np.zeros((FRAMES, 1), np.float32), FRAMES // 2) == 0
