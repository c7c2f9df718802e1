"""Loops of a set, mixed as the program mixes them, fill the spectrum: no hole, no mud, no harshness.

Finished music falls a little faster than pink noise, which has the same power in every octave (common practice, no
source). So the octaves of a mix are held to a line that falls by 2 dB an octave.
"""

from pathlib import Path

import numpy as np
import pytest
import soundfile

import demo_loops
from mixer.loops.catalog import read_catalog
from mixer.song.levels import ROLE_LUFS
from mixer.words.problem import Problems

FOLDER = Path(demo_loops.__file__).parent
CARDS = {card.name: card for card in read_catalog(FOLDER, Problems()).values()}
RATE_HZ = 44_100
OCTAVES_HZ = 62.5 * 2.0 ** np.arange(8)  # 62.5 Hz to 8 kHz
FALL_DB = 2.0
STRAY_DB = 6.0

FULL = [
    ["tin-roof", "slow-tide", "paper-lantern", "gull-song", "rice-jar", "quay-rain"],
    ["stall-stomp", "bread-cart", "kettle-steam", "penny-kite", "pepper-mill", "square-murmur"],
]
PAIRS = [["tin-roof", "paper-lantern"], ["stall-stomp", "orange-crate"]]


def loudness_on_cards():
    lines = (line.split() for line in (FOLDER / "loops.yaml").read_text(encoding="utf-8").splitlines())
    written = [float(words[1]) for words in lines if words[:1] == ["loudness:"]]
    return dict(zip(CARDS, written, strict=True))


def mixed(names):
    """The loops at their roles' levels, as long as the longest."""
    loudness = loudness_on_cards()
    sounds = [
        soundfile.read(CARDS[name].path)[0] * 10 ** ((ROLE_LUFS[CARDS[name].role] - loudness[name]) / 20)
        for name in names
    ]
    length = max(len(sound) for sound in sounds)
    return sum(np.tile(sound, (round(length / len(sound)) + 1, 1))[:length] for sound in sounds)


def strays_db(sound):
    """How far each octave lies above the falling line."""
    power = np.sum(np.abs(np.fft.rfft(sound, axis=0)) ** 2, axis=1)
    hz = np.fft.rfftfreq(len(sound), 1 / RATE_HZ)
    octaves = [power[(hz >= middle / 2**0.5) & (hz < middle * 2**0.5)].sum() for middle in OCTAVES_HZ]
    level_db = 10 * np.log10(octaves) + FALL_DB * np.arange(len(octaves))
    return level_db - np.median(level_db)


@pytest.mark.parametrize("names", [*FULL, *PAIRS], ids=" ".join)
def test_a_mix_has_no_hole_and_no_hill(names):
    found = strays_db(mixed(names))
    assert np.abs(found).max() < STRAY_DB, found.round(1)


def test_bass_alone_would_be_found_to_have_holes():
    assert np.abs(strays_db(mixed(["slow-tide"]))).max() > 2 * STRAY_DB


@pytest.mark.parametrize("names", FULL, ids=" ".join)
def test_a_full_mix_keeps_its_level_in_mono(names):
    sound = mixed(names)
    lost_db = 10 * np.log10(np.mean(sound**2) / np.mean(sound.mean(axis=1) ** 2))
    assert lost_db < 1.5
