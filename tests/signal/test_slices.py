"""What becomes of pieces, held against notes of which it is known when they grow bright."""

import numpy as np
import pytest

from mixer.signal.notes import is_one_note
from mixer.signal.pieces import HELD, RINGING
from mixer.signal.slices import Known, move_pieces
from tests.signal.signals import RATE_HZ, stereo

NOTE_SECONDS, BRIGHT_SECONDS = 0.6, 0.15


def blown(hz):
    """A note that speaks for a while before its upper partials come, as a reed's may."""
    t = np.arange(round(NOTE_SECONDS * RATE_HZ)) / RATE_HZ
    bright = np.clip((t - BRIGHT_SECONDS) / 0.03 + 0.5, 0, 1)
    upper = sum(np.sin(2 * np.pi * hz * k * t) for k in (5, 6, 7))
    level = np.minimum(1, np.minimum(t / 0.03, (t[-1] - t) / 0.03))
    return 0.1 * level * (np.sin(2 * np.pi * hz * t) + bright * upper)


def bright_after_seconds(note, hz):
    """When the upper partials reach half of what they come to."""
    t = np.arange(len(note)) / RATE_HZ
    upper = np.abs(np.convolve(note * np.exp(-2j * np.pi * hz * 6 * t), np.ones(441) / 441, "same"))
    return np.argmax(upper > np.median(upper[len(upper) // 2 : -2000]) / 2) / RATE_HZ


@pytest.mark.parametrize("ratio", [0.8, 1.3])
def test_a_note_of_a_line_grows_bright_at_its_own_pace(ratio):
    notes = (300.0, 400.0)
    loop = stereo(np.concatenate([blown(hz) for hz in notes]))
    onsets = np.array([0, len(loop) // 2])
    wanted = round(len(loop) * ratio)
    assert not is_one_note(loop[: len(loop) // 2], RATE_HZ)
    line = move_pieces(loop, RATE_HZ, wanted, onsets, [HELD, HELD], Known(line=True))
    other = move_pieces(loop, RATE_HZ, wanted, onsets, [HELD, HELD])
    for number, hz in enumerate(notes):
        piece = slice(number * wanted // 2, (number + 1) * wanted // 2)
        assert bright_after_seconds(line[piece, 0], hz) == pytest.approx(BRIGHT_SECONDS, abs=0.005)
        assert abs(bright_after_seconds(other[piece, 0], hz) - BRIGHT_SECONDS) > 0.015


@pytest.mark.parametrize("ratio", [0.8, 1.3])
def test_a_held_note_gives_way_without_a_knock(ratio):
    """Cut off where the next begins and stretched, a note's end would be spread over what comes before it."""
    t = np.arange(round(NOTE_SECONDS * RATE_HZ)) / RATE_HZ
    notes = [sum(np.sin(2 * np.pi * hz * k * t + k * k) / k for k in range(1, 5)) for hz in (220.0, 277.0)]
    loop = stereo(0.2 * np.concatenate(notes))
    onsets = np.array([0, len(t)])
    moved = move_pieces(loop, RATE_HZ, round(len(loop) * ratio), onsets, [HELD, HELD])
    until = round(len(t) * ratio)
    bright, usual = (np.square(np.diff(sound[:, 0], 7)) for sound in (moved, loop))
    assert bright[until - 2500 : until - 44].mean() < 1e4 * usual[4000:20000].mean()


@pytest.mark.parametrize("ratio", [0.7, 1.4])
@pytest.mark.parametrize(("late_ms", "as_late"), [(0.5, False), (5, True), (20, False)])
def test_what_speaks_late_is_as_late_at_any_tempo(ratio, late_ms, as_late):
    """All notes come a little after their beats; where the first of those is, is known: there the loop begins."""
    beat, late = RATE_HZ // 2, round(late_ms * RATE_HZ / 1000)
    onsets = np.arange(4) * beat + late
    loop = np.zeros((4 * beat, 2), np.float32)
    loop[onsets] = 1
    wanted = round(len(loop) * ratio)
    heard = np.flatnonzero(move_pieces(loop, RATE_HZ, wanted, onsets, [RINGING] * 4)[:, 0] > 0.5)
    beats = np.arange(4) * wanted / 4
    assert heard == pytest.approx(beats + late if as_late else beats + late * ratio, abs=1)
