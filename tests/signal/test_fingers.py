"""A bass note that is heard only a while after a finger has damped the last one begins where the finger landed."""

import numpy as np
import pytest

from mixer.signal.begins import where_notes_begin
from mixer.signal.pieces import HELD, RINGING
from mixer.signal.spoken import heard_before
from tests.signal.signals import RATE_HZ, stereo

MS = RATE_HZ // 1000
TREMBLES_HZ = 5  # a player's vibrato: common practice, no source
SECONDS, LANDS, HEARD = 1.6, round(0.8 * RATE_HZ), round(0.83 * RATE_HZ)


def string(hz, attack_seconds, seed, overtones=5, trembles_cents=0.0):
    t = np.arange(round(SECONDS * RATE_HZ)) / RATE_HZ
    phases = np.random.default_rng(seed).uniform(0, 2 * np.pi, overtones)
    turned = t + np.log(2) / 1200 * trembles_cents * np.sin(2 * np.pi * TREMBLES_HZ * t + 4) / (2 * np.pi * TREMBLES_HZ)
    rung = sum(
        np.sin(2 * np.pi * hz * h * turned + phases[h - 1]) / h**2 * np.exp(-t * h) for h in range(1, overtones + 1)
    )
    return 0.3 * rung * np.clip(t / attack_seconds, 0, 1) ** 2


def bass(lands=LANDS, heard=HEARD, level_db=0.0, hz=50.0, attack_seconds=0.02, db_per_second=800.0, trembles_cents=0.0):
    """Two notes: the first is damped where the finger lands (or not), the second is loud a while later."""
    t = np.arange(round(SECONDS * RATE_HZ))
    damped_db = np.maximum(t - lands, 0) / RATE_HZ * db_per_second
    loop = string(hz, 0.002, 1, trembles_cents=trembles_cents) * 10 ** ((level_db - damped_db) / 20)
    begins = heard - round(attack_seconds / 2 * RATE_HZ)
    loop[begins:] += string(hz * 1.26, attack_seconds, 2)[: len(t) - begins]
    return stereo(loop)


def found(loop, heard=HEARD, kinds=(RINGING, RINGING)):
    return where_notes_begin(loop, RATE_HZ, np.array([0, heard]), list(kinds))


@pytest.mark.parametrize("late_ms", [15, 25, 45])
def test_it_begins_where_the_finger_lands(late_ms):
    heard = LANDS + late_ms * MS
    onsets, _ = found(bass(heard=heard), heard)
    assert onsets[0] == 0
    assert abs(onsets[1] - LANDS) < 4 * MS


def test_what_trembles_is_damped_all_the_same():
    onsets, _ = found(bass(hz=60.0, trembles_cents=50.0))
    assert abs(onsets[1] - LANDS) < 4 * MS


def test_what_was_let_go_long_before_was_damped_by_no_finger():
    heard = LANDS + 54 * MS
    onsets, _ = found(bass(heard=heard), heard)
    assert onsets.tolist() == [0, heard]


def test_it_is_let_go_where_it_was():
    onsets, kinds = found(bass(), kinds=(20000, 25000))
    assert onsets[1] + kinds[1] == HEARD + 25000
    assert kinds[0] == 20000


@pytest.mark.parametrize(
    "other",
    [
        pytest.param({"db_per_second": 0.0}, id="nothing damps it"),
        pytest.param({"db_per_second": 0.0, "hz": 60.0, "trembles_cents": 50.0}, id="it trembles"),
        pytest.param({"level_db": -30.0}, id="it hardly rings"),
        pytest.param({"hz": 440.0}, id="it is high"),
        pytest.param({"attack_seconds": 0.0001}, id="the new note is clear"),
    ],
)
def test_else_it_stays_where_it_was_found(other):
    onsets, _ = found(bass(**other))
    assert onsets.tolist() == [0, HEARD]


def clear_notes(lands, heard, notes=6):
    """Notes of 400 ms, each clear to hear so many ms after its beat, the one before damped so many ms after it."""
    length = 400 * MS
    lands, heard = (np.broadcast_to(ms, notes) * MS + np.arange(notes) * length for ms in (lands, heard))
    loop, t = np.zeros(notes * length), np.arange(2 * length)
    for number, (begins, damped) in enumerate(zip(heard, np.append(lands[1:], lands[0] + len(loop)), strict=True)):
        note = string(50.0 * 2 ** (number % 3 / 4), 0.0001, number)[: len(t)]
        note *= 10 ** (-np.maximum(t + begins - damped, 0) / RATE_HZ * 800 / 20)
        np.add.at(loop, (begins + t) % len(loop), note)
    return stereo(loop), np.asarray(lands), np.asarray(heard)


def test_where_clear_notes_come_late_on_their_beats_the_finger_comes_on_them():
    loop, lands, heard = clear_notes(lands=0, heard=[25, 27, 24, 45, 26, 25])
    onsets, _ = where_notes_begin(loop, RATE_HZ, heard, [RINGING] * len(heard))
    apart = np.abs(np.sort((onsets + 99 * MS) % len(loop)) - np.sort(lands + 99 * MS))
    assert apart.max() < 6 * MS


def test_what_is_heard_before_a_clear_note_on_its_beat_is_no_part_of_it():
    loop, _, heard = clear_notes(lands=-25, heard=0)
    t = np.arange(25 * MS)
    for beat in heard:
        at = (beat - len(t) + t) % len(loop)
        loop[at] += 1e-4 * np.sin(2 * np.pi * 3000 * t / RATE_HZ)[:, None].astype(np.float32)
    every = np.ones(len(heard), np.bool_)
    assert (heard_before(loop, RATE_HZ, heard, every) > 15 * MS).sum() >= 3
    onsets, _ = where_notes_begin(loop, RATE_HZ, heard, [RINGING] * len(heard))
    assert onsets.tolist() == heard.tolist()


@pytest.mark.parametrize("late_ms", [0, 20])
def test_what_was_let_go_before_clear_notes_was_damped_by_no_finger(late_ms):
    lands = late_ms - np.array([35, 37, 34, 45, 36, 35])
    loop, _, heard = clear_notes(lands, heard=late_ms)
    onsets, _ = where_notes_begin(loop, RATE_HZ, heard, [RINGING] * len(heard))
    assert onsets.tolist() == heard.tolist()


def test_it_may_land_before_the_join():
    join, let_go = LANDS + 10 * MS, round(0.3 * RATE_HZ)
    loop, places = np.roll(bass(), -join, axis=0), np.array([HEARD - join, len(bass()) - join])
    onsets, kinds = where_notes_begin(loop, RATE_HZ, places, [let_go, RINGING])
    assert onsets[0] == places[1]
    assert abs(onsets[1] + join - len(loop) - LANDS) < 4 * MS
    assert kinds == [RINGING, let_go + places[0] + len(loop) - onsets[1]]


def test_after_what_is_held_no_finger_lands():
    onsets, _ = found(bass(), kinds=(HELD, RINGING))
    assert onsets.tolist() == [0, HEARD]


def test_there_may_be_no_notes():
    onsets, kinds = where_notes_begin(bass(), RATE_HZ, np.zeros(0, np.int64), [])
    assert len(onsets) == len(kinds) == 0
