"""Notes are found that begin without an attack; one that is held longer trembles no slower for it."""

import numpy as np
import pytest

from mixer.signal.fit import fit_loop
from mixer.signal.notes import is_line, is_one_note, notes_begin
from mixer.signal.onsets import find_onsets
from mixer.signal.pieces import RINGING, piece_kinds, with_notes
from tests.signal import signals
from tests.signal.signals import RATE_HZ

SECONDS = 1.2


def voice(freq_hz, seconds=SECONDS, vibrato_cents=0.0, tremolo_db=0.0):
    """Six harmonics; vibrato and tremolo at 5 Hz, as singers and players have them (common practice, no source)."""
    t = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    swing = np.sin(2 * np.pi * 5 * t)
    phase = 2 * np.pi * np.cumsum(freq_hz * 2 ** (vibrato_cents / 1200 * swing)) / RATE_HZ
    level = 10 ** (tremolo_db / 20 * swing)
    return signals.stereo(0.1 * level * sum(np.sin(phase * h) / h for h in range(1, 7)))


def slurred(freqs_hz, seconds=SECONDS, over_seconds=0.06):
    """One note gives way to the next in the middle, without an attack."""
    rise = np.clip((np.arange(round(seconds * RATE_HZ)) / RATE_HZ - seconds / 2) / over_seconds + 0.5, 0, 1)[:, None]
    one, other = (voice(freq_hz, seconds) for freq_hz in freqs_hz)
    return (one * np.cos(np.pi / 2 * rise) ** 2 + other * np.sin(np.pi / 2 * rise) ** 2).astype(np.float32)


@pytest.mark.parametrize("freq_hz", [110, 220, 440, 880])
def test_one_note_is_one_whether_it_trembles_or_beats(freq_hz):
    assert is_one_note(voice(freq_hz), RATE_HZ)
    assert is_one_note(voice(freq_hz, vibrato_cents=30), RATE_HZ)
    assert is_one_note(voice(freq_hz, tremolo_db=3), RATE_HZ)
    assert is_one_note(voice(freq_hz) + 0.4 * voice(freq_hz * 1.003), RATE_HZ)
    assert is_one_note(sum(voice(freq_hz * ratio) for ratio in (1, 5 / 4, 3 / 2)), RATE_HZ)


@pytest.mark.parametrize("freq_hz", [110, 220, 440, 880])
@pytest.mark.parametrize("semitones", [-7, -1, 1, 2, 12])
def test_two_notes_are_not_one_though_the_second_has_no_attack(freq_hz, semitones):
    for over_seconds in (0.02, 0.1):
        assert not is_one_note(slurred((freq_hz, freq_hz * 2 ** (semitones / 12)), over_seconds=over_seconds), RATE_HZ)


def test_a_chord_that_changes_in_one_of_its_notes_is_not_one():
    chords = slurred((220, 246.9)) + voice(330) + voice(440)
    assert not is_one_note(chords, RATE_HZ)


def test_what_is_too_short_to_tell_is_not():
    assert not is_one_note(voice(440)[:150], RATE_HZ)
    assert not is_one_note(voice(440)[:1], RATE_HZ)


def test_slurred_notes_are_found_where_they_begin():
    freqs_hz = [220, 247, 330, 294, 262]
    t = np.arange(round(0.5 * RATE_HZ)) / RATE_HZ
    shape = np.clip(np.minimum(t, t[-1] - t) / 0.03, 0, 1)[:, None].astype(np.float32)
    loop = np.concatenate([voice(freq_hz, 0.5, vibrato_cents=20) * shape for freq_hz in freqs_hz])
    found, _ = notes_begin(loop, RATE_HZ)
    apart = (found[:, None] - np.arange(5) * len(t) + len(loop) / 2) % len(loop) - len(loop) / 2
    assert len(found) == 5
    assert np.abs(apart).min(axis=0).max() < 0.03 * RATE_HZ


def test_nothing_begins_in_what_is_steady_or_silent_or_next_to_nothing():
    assert len(notes_begin(signals.tone(440, 2 * RATE_HZ), RATE_HZ)[0]) == 0
    assert len(notes_begin(np.zeros((RATE_HZ, 2), np.float32), RATE_HZ)[0]) == 0
    assert len(notes_begin(signals.noise(70), RATE_HZ)[0]) == 0


def test_opposite_phases_count():
    loop = np.concatenate([voice(330), voice(440)])
    assert np.array_equal(notes_begin(loop * np.float32([1, -1]), RATE_HZ)[0], notes_begin(loop, RATE_HZ)[0])


def growing_bright(freq_hz, seconds=SECONDS):
    """A note whose upper harmonics come when half of it is over, within 50 ms."""
    t = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    later = np.clip((t - seconds / 2) / 0.05, 0, 1)
    low, high = (sum(np.sin(2 * np.pi * freq_hz * h * t) for h in harmonics) for harmonics in ((1,), (3, 5, 7)))
    return signals.stereo(0.1 * (low + 0.4 * later * high))


def test_in_a_line_a_note_that_grows_bright_is_no_other_note():
    loop = np.concatenate([growing_bright(freq_hz) for freq_hz in (330, 392, 294, 440, 349)])
    found, in_line = notes_begin(loop, RATE_HZ)
    assert in_line
    assert len(found) == 5


def test_where_no_note_ends_what_comes_is_a_note():
    t = np.arange(4 * RATE_HZ) / RATE_HZ
    later = [
        0.7 * voice(freq_hz, 4) * np.clip((t - 1 - at) / 0.03, 0, 1)[:, None]
        for at, freq_hz in enumerate((277, 370, 494))
    ]
    found, in_line = notes_begin((voice(220, 4) + sum(later)).astype(np.float32), RATE_HZ)
    assert not in_line
    assert np.abs(found[:, None] - np.arange(1, 4) * RATE_HZ).min(axis=0).max() < 0.05 * RATE_HZ


def one_after_another(freqs_hz, rest_seconds=0.0):
    rest = np.zeros((round(rest_seconds * RATE_HZ), 2), np.float32)
    return np.concatenate([part for freq_hz in freqs_hz for part in (loop_of(voice(freq_hz, 0.5)), rest)])


@pytest.mark.parametrize("rest_seconds", [0.0, 0.3])
def test_a_line_is_one_whether_its_notes_are_slurred_or_parted_by_rests(rest_seconds):
    loop = one_after_another((330, 392, 294, 440, 349), rest_seconds)
    assert is_line(loop, RATE_HZ, np.arange(5) * len(loop) // 5)


def test_what_is_struck_between_the_notes_or_held_through_them_is_no_line():
    loop = one_after_another((330, 392, 294, 440, 349))
    assert not is_line(loop, RATE_HZ, np.arange(10) * len(loop) // 10)
    assert not is_line(loop + voice(196, 2.5) + voice(247, 2.5), RATE_HZ, np.arange(10) * len(loop) // 10)
    assert not is_line(loop, RATE_HZ, np.zeros(0, np.int64))
    chords = signals.play_both(100)
    assert not is_line(chords.samples, RATE_HZ, find_onsets(chords.samples, RATE_HZ))


def loop_of(*notes):
    """Notes one after the other, each with an attack of 2 ms and an end of 20 ms."""
    shaped = []
    for note in notes:
        t = np.arange(len(note)) / RATE_HZ
        shaped.append(note * np.clip(np.minimum(t / 0.002, (t[-1] - t) / 0.02), 0, 1)[:, None].astype(np.float32))
    return np.concatenate(shaped)


def changes_seconds(fitted, ratio):
    """When the note of 330 Hz gives way to that of 392 Hz."""
    levels = []
    for freq_hz in (330, 392):
        turned = fitted[:, 0] * np.exp(-2j * np.pi * freq_hz * np.arange(len(fitted)) / RATE_HZ)
        levels.append(np.abs(np.convolve(turned, np.hanning(RATE_HZ // 20), "same")))
    around = slice(round(0.3 * ratio * RATE_HZ), round(0.9 * ratio * RATE_HZ))
    return (around.start + int(np.argmax((levels[1] > levels[0])[around]))) / RATE_HZ


@pytest.mark.parametrize("ratio", [0.8, 1.25])
def test_a_held_note_trembles_at_its_own_pace(ratio):
    loop = loop_of(voice(330, vibrato_cents=25), voice(440, vibrato_cents=25))
    fitted = fit_loop(loop, RATE_HZ, round(len(loop) * ratio))
    starts, half = find_onsets(loop, RATE_HZ), round(SECONDS / 2 * RATE_HZ)
    assert len(starts) == 2
    for start, place in zip(starts, np.floor(starts * ratio + 0.5).astype(int), strict=True):
        got, wanted = (
            sound.take(at + np.arange(half), axis=0, mode="wrap") for sound, at in ((fitted, place), (loop, start))
        )
        assert np.abs(got - wanted).max() < 1e-3


def let_go(freq_hz, held_seconds, seconds=0.5):
    """A note with an attack of 2 ms, that falls by 300 dB a second at last."""
    t = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    fall = 10 ** (-300 * np.maximum(t - held_seconds, 0) / 20)
    shape = fall * np.minimum(t / 0.002, 1) * np.clip((t[-1] - t) / 0.005, 0, 1)
    return (voice(freq_hz, seconds) * shape[:, None]).astype(np.float32)


@pytest.mark.parametrize("ratio", [0.8, 1.25])
def test_the_notes_of_a_line_begin_as_they_were_played_though_a_tone_rings_on_through_all_of_them(ratio):
    """Every third is held until the next, the others are let go before."""
    freqs_hz = (330, 220, 330, 440, 330, 220, 330, 440)
    loop = np.concatenate([let_go(freq_hz, 0.4 if number % 3 else 0.495) for number, freq_hz in enumerate(freqs_hz)])
    loop += signals.tone(660, len(loop), amplitude=0.02)
    starts, reach = find_onsets(loop, RATE_HZ), round(0.03 * RATE_HZ)
    assert len(starts) == len(freqs_hz)
    fitted = fit_loop(loop, RATE_HZ, round(len(loop) * ratio))
    for start, place in zip(starts, np.floor(starts * ratio + 0.5).astype(int), strict=True):
        got, wanted = (
            sound.take(at + np.arange(reach), axis=0, mode="wrap") for sound, at in ((fitted, place), (loop, start))
        )
        assert np.abs(got - wanted).max() < 1e-3


def rising(freqs_hz, over_seconds, seconds=0.5):
    """Notes that rise evenly for so long and are let go 80 ms before they end."""
    t = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    rise = np.minimum(t / over_seconds, 1)[:, None].astype(np.float32)
    return np.concatenate([let_go(freq_hz, seconds - 0.08, seconds) * rise for freq_hz in freqs_hz])


@pytest.mark.parametrize("over_seconds", [0.1, 0.15])
def test_a_note_of_a_line_that_rises_slowly_rises_all_at_its_place(over_seconds):
    """Found 30 ms late, its beginning was moved with the note before: some 10 ms were 19 to 21 dB off."""
    freqs_hz, ratio = (330, 392, 294, 440, 349), 1.4
    loop, wanted = (rising(freqs_hz, over_seconds, seconds) for seconds in (0.5, 0.5 * ratio))
    fitted = fit_loop(loop, RATE_HZ, len(wanted))
    levels_db = [10 * np.log10(np.square(x).reshape(-1, 882).mean(axis=1) + 1e-7) for x in (fitted, wanted)]
    assert np.abs(levels_db[0] - levels_db[1]).max() < 14


def test_in_a_line_a_note_is_cut_though_it_is_not_all_one():
    loop = np.concatenate([voice(440), slurred((330, 392))])
    begins, none = np.array([len(loop) // 2]), np.zeros(0, np.int64)
    assert np.array_equal(with_notes(loop, RATE_HZ, none, begins, in_line=True), begins)
    assert len(with_notes(loop, RATE_HZ, none, begins)) == 0


@pytest.mark.parametrize("ratio", [0.8, 1.25])
def test_a_slurred_note_is_found_also_where_everything_dies_away(ratio):
    t = np.arange(round(SECONDS * RATE_HZ)) / RATE_HZ
    fall = (10 ** (-0.4 * t))[:, None].astype(np.float32)  # 8 dB a second: it rings
    loop = loop_of(slurred((330, 392), over_seconds=0.2) * fall, voice(440) * fall)
    onsets = find_onsets(loop, RATE_HZ)
    assert piece_kinds(loop, RATE_HZ, onsets) == [RINGING, RINGING]
    assert abs(changes_seconds(fit_loop(loop, RATE_HZ, round(len(loop) * ratio)), ratio) - 0.6 * ratio) < 0.02


@pytest.mark.parametrize("ratio", [0.8, 1.25])
def test_a_slurred_note_begins_where_arithmetic_puts_it(ratio):
    loop = loop_of(slurred((330, 392), over_seconds=0.2), voice(440))
    assert len(find_onsets(loop, RATE_HZ)) == 2  # so by its tones it is known
    assert abs(changes_seconds(fit_loop(loop, RATE_HZ, round(len(loop) * ratio)), ratio) - 0.6 * ratio) < 0.02
