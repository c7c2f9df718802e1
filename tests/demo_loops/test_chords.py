"""The chords on the cards agree within a set, and are what is heard.

Chord tones: a major triad is root, major third, fifth (0, 4, 7 semitones), a minor one 0, 3, 7 (any textbook of
harmony). Pitch classes by equal temperament, A4 = 440 Hz (ISO 16).
"""

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import soundfile

import demo_loops
from mixer.loops.catalog import read_catalog
from mixer.words.problem import Problems

CARDS = {card.name: card for card in read_catalog(Path(demo_loops.__file__).parent, Problems()).values()}
LETTERS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
RATE_HZ = 44_100
HIGHEST_HARMONY_HZ = 540  # C5, 523 Hz
HIGHEST_MELODY_HZ = 1420  # F6, 1397 Hz


def chord_tones(symbol):
    minor, root = symbol.endswith("m"), symbol.removesuffix("m")
    first = (LETTERS[root[0]] + {"#": 1, "b": -1}.get(root[1:], 0)) % 12
    return [first, (first + (3 if minor else 4)) % 12, (first + 7) % 12]


ALL_CHORDS = [
    f"{root}{kind}" for root in ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B") for kind in ("", "m")
]


def chroma(mono, highest_hz):
    """Share of each pitch class in the power between 60 Hz and the highest fundamental.

    Overtones above are left out: the third partial of a chord's third or fifth is no chord tone.
    """
    size = 1 << 18
    strength = np.abs(np.fft.rfft(mono * np.hanning(len(mono)), size))
    hz = np.fft.rfftfreq(size, 1 / RATE_HZ)
    heard = (hz > 60) & (hz < highest_hz)
    classes = np.round(69 + 12 * np.log2(hz[heard] / 440)).astype(int) % 12
    shares = np.bincount(classes, strength[heard] ** 2, 12)
    return shares / shares.sum()


def bars_of(name):
    card = CARDS[name]
    mono = soundfile.read(card.path)[0].mean(axis=1)
    edges = [round(len(mono) * bar / card.bars) for bar in range(card.bars + 1)]
    return [mono[start:end] for start, end in pairwise(edges)]


def fit(shares, symbol):
    """How well a chord explains the shares: correlation with its three tones."""
    tones = np.zeros(12)
    tones[chord_tones(symbol)] = 1
    return np.corrcoef(tones, shares)[0, 1]


@pytest.mark.parametrize("family", ["ferry town", "market morning", "old carousel"])
def test_chords_of_a_set_agree_bar_by_bar(family):
    cards = [card for card in CARDS.values() if card.set == family and card.chords]
    longest = max(card.bars for card in cards)
    assert len(cards) >= 3
    for bar in range(longest):
        assert len({card.chords[bar % len(card.chords)] for card in cards}) == 1


def test_each_pitched_loop_has_one_chord_a_bar():
    for card in CARDS.values():
        pitched = card.role in {"bass", "harmony", "melody"}
        assert len(card.chords) == (card.bars if pitched else 0)
        assert (card.key is not None) == pitched


@pytest.mark.parametrize("name", [name for name, card in CARDS.items() if card.role == "harmony"])
def test_the_chords_declared_are_heard(name):
    for mono, symbol in zip(bars_of(name), CARDS[name].chords, strict=True):
        shares = chroma(mono, HIGHEST_HARMONY_HZ)
        assert shares[chord_tones(symbol)].sum() > 0.85
        assert max(ALL_CHORDS, key=lambda other: fit(shares, other)) == symbol


@pytest.mark.parametrize("name", [name for name, card in CARDS.items() if card.role == "bass"])
def test_a_bass_begins_each_bar_on_the_root(name):
    for mono, symbol in zip(bars_of(name), CARDS[name].chords, strict=True):
        first = mono[: round(RATE_HZ * 0.3)]
        strength = np.abs(np.fft.rfft(first * np.hanning(len(first)), 1 << 18))
        hz = np.fft.rfftfreq(1 << 18, 1 / RATE_HZ)
        low = (hz > 35) & (hz < 105)
        lowest_hz = hz[low][np.argmax(strength[low])]
        assert round(69 + 12 * np.log2(lowest_hz / 440)) % 12 == chord_tones(symbol)[0]


@pytest.mark.parametrize("name", [name for name, card in CARDS.items() if card.role == "melody"])
def test_a_melody_leans_on_the_chords(name):
    # Passing notes are what makes it a melody; half of its sound belongs to the chord under it (common practice).
    for mono, symbol in zip(bars_of(name), CARDS[name].chords, strict=True):
        assert chroma(mono, HIGHEST_MELODY_HZ)[chord_tones(symbol)].sum() > 0.5
