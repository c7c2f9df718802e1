"""A note of a line that rises softly begins where its tones come, however late or early it was found."""

import numpy as np
import pytest

from mixer.signal.fit import fit_loop
from mixer.signal.new_tones import tones_come_later
from tests.signal.signals import RATE_HZ, stereo

MS = RATE_HZ // 1000
# So far apart that windows of 20 ms tell them.
FREQS_HZ = (330, 494, 294, 440)
NOTE_SECONDS = 0.5


def note(freq_hz, rises_seconds, dies_db_per_second, seconds=NOTE_SECONDS):
    """Six harmonics that rise evenly, are held until the next note begins, and die away under that."""
    t = np.arange(round((seconds + 0.25) * RATE_HZ)) / RATE_HZ
    level = np.minimum(t / rises_seconds, 1) * 10 ** (-dies_db_per_second * np.maximum(t - seconds, 0) / 20)
    return 0.1 * level * sum(np.sin(2 * np.pi * freq_hz * h * t) / h for h in range(1, 7))


def line(rises_seconds, dies_db_per_second, seconds=NOTE_SECONDS):
    """The notes one after the other, round and round."""
    places = np.round(np.arange(len(FREQS_HZ)) * seconds * RATE_HZ).astype(int)
    loop = np.zeros(round(len(FREQS_HZ) * seconds * RATE_HZ))
    for place, freq_hz in zip(places, FREQS_HZ, strict=True):
        sound = note(freq_hz, rises_seconds, dies_db_per_second, seconds)
        np.add.at(loop, (place + np.arange(len(sound))) % len(loop), sound)
    return stereo(loop), places


@pytest.mark.parametrize("late_ms", [-20, -8, 0, 8, 20])
@pytest.mark.parametrize("rises_seconds", [0.02, 0.05])
@pytest.mark.parametrize("dies_db_per_second", [300, 1000])
def test_it_begins_where_its_tones_come(late_ms, rises_seconds, dies_db_per_second):
    loop, places = line(rises_seconds, dies_db_per_second)
    late = late_ms * MS + tones_come_later(loop, RATE_HZ, (places + late_ms * MS) % len(loop))
    assert np.abs(late).max() < 7 * MS


@pytest.mark.parametrize(("late_ms", "rises_seconds"), [(-30, 0.05), (-20, 0.08), (-15, 0.12)])
@pytest.mark.parametrize("dies_db_per_second", [100, 300])
def test_what_was_found_so_early_that_hardly_any_of_it_is_heard_begins_there_too(
    late_ms, rises_seconds, dies_db_per_second
):
    loop, places = line(rises_seconds, dies_db_per_second)
    late = late_ms * MS + tones_come_later(loop, RATE_HZ, (places + late_ms * MS) % len(loop))
    assert np.abs(late).max() < 3 * MS


def test_what_is_found_where_none_come_stays_there():
    loop, places = line(0.03, 300)
    held = places + round(0.3 * RATE_HZ)
    assert not tones_come_later(loop, RATE_HZ, held).any()


def test_where_a_note_is_let_go_none_begins():
    loop, places = line(0.03, 300)
    ends = places + round(0.4 * RATE_HZ)
    for end in ends:
        loop[end : end + 30 * MS] *= np.linspace(1, 0.01, 30 * MS, dtype=np.float32)[:, None]
        loop[end + 30 * MS : end + 100 * MS] *= np.float32(0.01)
    assert not tones_come_later(loop, RATE_HZ, ends).any()


def test_what_comes_out_of_silence_begins_where_it_was_found():
    loop, places = line(0.03, 300)
    for place in places:
        loop[place - 100 * MS + (len(loop) if place == 0 else 0) :][: 100 * MS] = 0
    late = places + 12 * MS
    loop[places[:, None] + np.arange(12 * MS)] = 0
    assert not tones_come_later(loop, RATE_HZ, late).any()


@pytest.mark.parametrize("ratio", [0.8, 1.3])
def test_the_notes_of_a_line_come_in_time_though_they_are_found_late(ratio):
    """Level of each note, told every 5 ms while it rises, is within 1.5 dB of the same notes played at that tempo."""
    loop, _ = line(0.03, 300)
    wanted, wanted_places = line(0.03, 300, NOTE_SECONDS * ratio)
    fitted = fit_loop(loop, RATE_HZ, len(wanted))
    for place, freq_hz in zip(wanted_places, FREQS_HZ, strict=True):
        got, sought = (rise_db(sound, place, freq_hz) for sound in (fitted, wanted))
        assert np.abs(got - sought).max() < 1.5


def rise_db(sound, place, freq_hz):
    """Level of the note's lowest tone in windows of 20 ms, from 10 to 40 ms after it begins."""
    middles = place + np.arange(10, 41, 5) * MS
    windows = sound[:, 0].take(middles[:, None] + np.arange(-10 * MS, 10 * MS), mode="wrap") * np.hanning(20 * MS)
    turned = windows @ np.exp(-2j * np.pi * freq_hz * np.arange(20 * MS) / RATE_HZ)
    return 20 * np.log10(np.abs(turned))


def test_what_was_let_go_gives_way_to_a_soft_note_without_a_knock():
    """Above all of their tones: within 5 ms it gave way with a click 66 dB under the loop, 20 dB above the truth's."""
    loop = np.zeros(round(len(FREQS_HZ) * NOTE_SECONDS * RATE_HZ))
    t = np.arange(round(0.75 * RATE_HZ)) / RATE_HZ
    level = np.minimum(t / 0.04, 1) * 10 ** (-250 * np.maximum(t - 0.44, 0) / 20)
    for number, freq_hz in enumerate(FREQS_HZ):
        sound = 0.1 * level * sum(np.sin(2 * np.pi * freq_hz * h * t) / h for h in range(1, 4))
        np.add.at(loop, (round(number * NOTE_SECONDS * RATE_HZ) + np.arange(len(t))) % len(loop), sound)
    fitted = fit_loop(stereo(loop), RATE_HZ, round(0.85 * len(loop)))[:, 0]
    spectrum = np.fft.rfft(fitted)
    spectrum[np.fft.rfftfreq(len(fitted), 1 / RATE_HZ) < 3000] = 0
    above = np.convolve(np.square(np.fft.irfft(spectrum, len(fitted))), np.ones(10 * MS) / (10 * MS), "same")
    assert 10 * np.log10(above.max() / np.square(fitted).mean()) < -70


def test_what_is_silent_has_none():
    assert tones_come_later(np.zeros((RATE_HZ, 1), np.float32), RATE_HZ, np.array([0, 30000])).tolist() == [0, 0]
    ends = stereo(note(330, 0.02, 60.0) * (np.arange(round(0.75 * RATE_HZ)) < RATE_HZ // 2))
    assert tones_come_later(ends, RATE_HZ, np.array([RATE_HZ // 2])).tolist() == [0]
