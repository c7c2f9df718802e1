"""A chord that speaks late begins where the one before, which was held, grows dull."""

import numpy as np
import pytest

from mixer.signal.begins import where_notes_begin
from mixer.signal.dulled import dulled_before
from mixer.signal.pieces import HELD, RINGING
from tests.signal.signals import RATE_HZ, stereo

MS = RATE_HZ // 1000
FRAMES, BEGINS = round(0.8 * RATE_HZ), round(0.4 * RATE_HZ)


def chord(hz):
    t = np.arange(FRAMES) / RATE_HZ
    tones = sum(np.sin(2 * np.pi * each * k * t) / k for each in (hz, hz * 1.26, hz * 1.5) for k in range(1, 9))
    return 0.05 * tones + 1e-3 * np.random.default_rng(round(hz)).normal(0, 1, FRAMES)


def organ(late_ms=6, db_per_ms=0.7, trembles_db=0.0):
    """Two chords; the first dies away from where the second is struck, which speaks so much later."""
    after = (np.arange(FRAMES) - BEGINS) / MS
    old = chord(220.0) * 10 ** ((trembles_db * np.sin(after / 3) - np.clip(after * db_per_ms, 0, 80)) / 20)
    new = chord(262.0) * np.clip((after - late_ms) / 8, 0, 1)
    return stereo(old + new)


def asked(loop, found):
    first, frames = dulled_before(loop, RATE_HZ, np.array([0, found]), np.array([False, True]))
    assert first == 0
    return frames


@pytest.mark.parametrize("found_ms", [-6, 4, 11])
def test_it_begins_where_the_last_grows_dull(found_ms):
    assert asked(organ(), BEGINS + found_ms * MS) == pytest.approx(found_ms * MS, abs=2 * MS)


@pytest.mark.parametrize(
    "other",
    [
        pytest.param({"db_per_ms": 0.0}, id="it goes on"),
        pytest.param({"db_per_ms": 0.15, "late_ms": 25}, id="it fades slowly"),
        pytest.param({"late_ms": 0, "db_per_ms": 0.5}, id="the new chord speaks at once"),
        pytest.param({"db_per_ms": 4.0}, id="it is let go before"),
        pytest.param({"trembles_db": 2.0}, id="it was never steady"),
    ],
)
def test_else_nothing_tells_of_it(other):
    assert asked(organ(**other), BEGINS + 4 * MS) == 0


def test_a_clear_attack_is_where_it_is():
    loop, at = organ(), BEGINS + 8 * MS
    assert asked(loop, at) > 0
    loop[at : at + 5 * MS] += np.random.default_rng(2).normal(0, 0.5, (5 * MS, 1)).astype(np.float32)
    assert asked(loop, at) == 0


def test_too_near_another_nothing_is_told():
    found = BEGINS + 8 * MS
    for other in (found - 50 * MS, found + 50 * MS):
        places = np.sort([other, found])
        assert dulled_before(organ(), RATE_HZ, places, places == found).tolist() == [0, 0]


@pytest.mark.parametrize(("was", "moved"), [(HELD, True), (RINGING, False)])
def test_only_after_what_is_held(was, moved):
    onsets, _ = where_notes_begin(organ(), RATE_HZ, np.array([0, BEGINS + 9 * MS]), [was, HELD])
    assert (abs(onsets[1] - BEGINS) < 2 * MS) == moved


def test_not_in_a_line():
    places = np.array([0, BEGINS + 9 * MS])
    onsets, _ = where_notes_begin(organ(), RATE_HZ, places, [HELD, HELD], in_line=True)
    assert onsets.tolist() == places.tolist()


@pytest.mark.parametrize("found_ms", [-6, 9])
def test_it_may_go_past_the_join(found_ms):
    join = BEGINS + found_ms * MS // 2
    loop = np.roll(organ(), -join, axis=0)
    found = (found_ms * MS - found_ms * MS // 2) % FRAMES
    places = np.sort(np.array([FRAMES // 2, found]))
    onsets, kinds = where_notes_begin(loop, RATE_HZ, places, [HELD, HELD])
    assert np.all(np.diff(onsets) > 0)
    apart = (onsets + join - BEGINS + FRAMES // 2) % FRAMES - FRAMES // 2
    assert np.abs(apart).min() < 2 * MS
    assert FRAMES // 2 in onsets
    assert kinds == [HELD, HELD]
