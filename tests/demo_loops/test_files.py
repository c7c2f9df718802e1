"""The catalog and the files agree, and each file is fit to go round: exact length, no click at the join, no DC."""

from collections import Counter
from fractions import Fraction
from pathlib import Path

import numpy as np
import pyloudnorm
import pytest
import soundfile

import demo_loops
from mixer.loops.catalog import read_catalog
from mixer.words.problem import Problems

FOLDER = Path(demo_loops.__file__).parent
PROBLEMS = Problems()
CARDS = {card.name: card for card in read_catalog(FOLDER, PROBLEMS).values()}
NAMES = sorted(CARDS)
LOUDNESS_LINES = [line.split()[1] for line in (FOLDER / "loops.yaml").read_text().splitlines() if "loudness:" in line]
RATE_HZ = 44_100


def samples_of(name):
    samples, rate_hz = soundfile.read(CARDS[name].path)
    assert rate_hz == RATE_HZ
    return samples


def treble_power(mono):
    """Power above 8 kHz in windows of 10 ms round the circle, one for each frame."""
    spectrum = np.fft.rfft(mono)
    spectrum[np.fft.rfftfreq(len(mono), 1 / RATE_HZ) < 8000] = 0
    power = np.fft.irfft(spectrum, len(mono)) ** 2
    width = RATE_HZ // 200
    total = np.cumsum(np.concatenate([power[-width:], power, power[:width]]))
    return total[2 * width :] - total[: -2 * width]


def worst_bend(mono):
    """Largest second difference within 1 frame of the join, and largest anywhere else."""
    bend = np.abs(np.roll(mono, -1) - 2 * mono + np.roll(mono, 1))
    return max(bend[0], bend[-1]), bend[2:-2].max()


def test_the_catalog_reads_without_a_problem():
    assert list(PROBLEMS) == []
    assert len(CARDS) >= 24


def test_every_file_has_a_card_and_every_card_a_file():
    assert {path.name for path in FOLDER.glob("*.flac")} == {card.path.name for card in CARDS.values()}


def test_all_loops_together_are_at_most_12_megabytes():
    assert sum(path.stat().st_size for path in FOLDER.glob("*.flac")) <= 12_000_000


def test_the_loops_named_in_the_manual_are_there():
    roles = {
        "tin-roof": "drums",
        "wet-cardboard": "drums",
        "slow-tide": "bass",
        "paper-lantern": "harmony",
        "rice-jar": "percussion",
        "gull-song": "melody",
        "quay-rain": "background",
    }
    for name, role in roles.items():
        card = CARDS[name]
        assert (card.role, card.tempo_bpm, card.bars, card.set) == (role, 96, 4, "ferry town")
        if role in {"bass", "harmony", "melody"}:
            assert (str(card.key), list(card.chords)) == ("A minor", ["Am", "F", "C", "G"])


def test_each_main_set_has_what_a_song_needs():
    for family in ("ferry town", "market morning"):
        found = Counter(card.role for card in CARDS.values() if card.set == family)
        assert min(found["drums"], found["bass"], found["harmony"], found["melody"], found["percussion"]) >= 2
        assert found["background"] >= 1


@pytest.mark.parametrize("name", NAMES)
def test_format_length_level_and_dc(name):
    card, form = CARDS[name], soundfile.info(CARDS[name].path)
    assert (form.format, form.subtype, form.channels, form.samplerate) == ("FLAC", "PCM_16", 2, RATE_HZ)
    beats = card.bars * (3 if card.set == "old carousel" else 4)
    assert form.frames == round(Fraction(beats * 60 * RATE_HZ) / card.tempo_bpm)
    samples = samples_of(name)
    assert 10 ** (-3 / 20) < np.abs(samples).max() < 10 ** (-1.5 / 20)
    assert np.abs(samples.mean(axis=0)).max() < 1e-5


@pytest.mark.parametrize("name", NAMES)
def test_the_join_is_no_rougher_than_the_rest(name):
    mono = samples_of(name).mean(axis=1)
    at_join, elsewhere = worst_bend(mono)
    assert at_join < 0.5 * elsewhere
    treble, reach = treble_power(mono), RATE_HZ // 200
    near = max(treble[:reach].max(), treble[-reach:].max())
    # The first downbeat is a hit like others, so as much treble as theirs is right: 2 is 3 dB.
    assert near < 2 * treble[4 * reach : -4 * reach].max()


def test_a_join_cut_wrongly_would_be_found():
    mono = samples_of("fog-lamp").mean(axis=1)[:-150]
    treble, reach = treble_power(mono), RATE_HZ // 200
    assert treble[:reach].max() > 4 * treble[4 * reach : -4 * reach].max()


@pytest.mark.parametrize("name", [name for name in NAMES if CARDS[name].role == "drums"])
def test_the_first_hit_is_at_frame_0_and_not_before(name):
    mono = samples_of(name).mean(axis=1)
    frames = RATE_HZ // 500
    assert np.sum(mono[:frames] ** 2) > 10 * np.sum(mono[-frames:] ** 2)


@pytest.mark.parametrize("name", NAMES)
def test_no_rumble_and_nothing_lost_in_mono(name):
    samples = samples_of(name)
    power = np.abs(np.fft.rfft(samples.mean(axis=1))) ** 2
    low_hz = 30 if CARDS[name].role in {"bass", "drums"} else 40
    low = power[np.fft.rfftfreq(len(samples), 1 / RATE_HZ) < low_hz].sum()
    assert low < 10 ** (-30 / 10) * power.sum()
    # Sides that have nothing in common lose 3 dB; more would mean that they work against each other.
    assert np.mean(samples.mean(axis=1) ** 2) > 10 ** (-3.5 / 10) * np.mean(samples**2)


def test_loudness_on_the_cards_is_what_pyloudnorm_measures():
    meter = pyloudnorm.Meter(RATE_HZ, filter_class="DeMan")
    order = [card.name for card in CARDS.values()]
    for name, written in zip(order, LOUDNESS_LINES, strict=True):
        if CARDS[name].path.stat().st_size < 200_000:  # a long and a short file say the same; spare the time
            # 0.3 LU: a loop of 2 s has few blocks of 400 ms, and the card's meter goes round the join.
            assert abs(meter.integrated_loudness(samples_of(name)) - float(written)) < 0.3
