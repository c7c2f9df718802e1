"""Loops held against each other, bar by bar, with chords written down by hand."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from mixer.coach.fits import Heard, fitting, there_of_loop
from mixer.loops.card import Card
from mixer.music.keys import parse_key
from mixer.music.meter import parse_meter
from mixer.words.english import fits as words


def card(name, role="harmony", chords="", key="A minor", tempo="96", time="4/4", bars=4, of_set=""):
    return Card(
        name=name,
        path=Path(f"{name}.wav"),
        tempo_bpm=Fraction(tempo),
        meter=parse_meter(time),
        bars=bars,
        role=role,
        key=parse_key(key) if key else None,
        chords=tuple(part.strip() for part in chords.split("|") if part.strip()),
        set=of_set,
    )


def silent(_card):
    return None


PIANO = card("piano", chords="Am | F | C | G", of_set="harbour")


def against(one, *others, listening=silent):
    return fitting(there_of_loop(one, listening), others, listening)


def bars(fits):
    """What is told of each bar: agrees, close or clashes."""
    return ["agrees" if bar.agrees else "clashes" if bar.clashes else "close" for bar in fits.bars]


@pytest.mark.parametrize(
    ("chords", "key", "told", "semitones"),
    [
        ("Am | F | C | G", "A minor", ["agrees"] * 4, 0),
        ("Cm | Ab | Eb | Bb", "C minor", ["agrees"] * 4, -3),
        ("Am | F | C | G | Am | F | C | G", "A minor", ["agrees"] * 8, 0),
        ("Am | Dm | C | G", "A minor", ["agrees", "close", "agrees", "agrees"], 0),
        # C Am F G over Am F C G: close, close, clashes (C under F shares one note), agrees
        ("D | Bm | G | A", "D major", ["close", "close", "clashes", "agrees"], -2),
        ("G | C | F | Am", "C major", ["clashes", "clashes", "clashes", "clashes"], 0),
        ("Am7 | Fmaj7 | C | G7", "A minor", ["agrees"] * 4, 0),
    ],
)
def test_chords_are_compared_bar_by_bar_as_they_would_be_heard(chords, key, told, semitones):
    (found,) = against(PIANO, card("guitar", chords=chords, key=key, bars=len(chords.split("|"))))
    assert bars(found) == told
    assert found.fit.semitones == semitones


def test_notes_are_counted_over_all_bars():
    """D minor, G, C and A minor have all seven notes of C major; C and G alone have C D E G B (worked out by hand)."""
    (found,) = against(card("organ", chords="C | G", bars=2), card("guitar", chords="Dm | G | C | Am"))
    assert found.notes == (5, 7)
    assert words.notes(*found.notes) == "five of the seven notes of its chords are shared"


def test_half_time_takes_its_chords_along():
    slow = card("slow", chords="Am | C", tempo="48", bars=2)
    (found,) = against(PIANO, slow)
    # its two bars last four of the piano's: Am over Am and F, C over C and G
    assert bars(found) == ["agrees", "close", "agrees", "clashes"]


def test_two_sets_that_fit_come_before_one_that_does_not():
    fitting_ones = [
        card("bass", "bass", "Am | F | C | G", of_set="harbour"),
        card("strings", chords="Em | C | G | D", key="E minor", tempo="92"),
    ]
    other = card("carousel", "melody", "G | C | F | Am", key="C major")
    found = against(PIANO, other, *fitting_ones)
    assert [one.card.name for one in found] == ["bass", "strings", "carousel"]
    assert [one.better_not for one in found] == [False, False, True]


def test_another_time_signature_does_not_go():
    (found,) = against(PIANO, card("waltz", time="3/4"))
    assert found.wrong_time
    assert found.better_not


def test_an_empty_role_comes_before_a_second_of_one():
    found = against(PIANO, card("a second", chords="Am | F | C | G"), card("tune", "melody", "Am | F | C | G"))
    assert [one.card.name for one in found] == ["tune", "a second"]
    assert found[1].same_role == ("piano",)


def test_what_has_no_pitch_cannot_clash():
    (found,) = against(PIANO, card("drums", "drums", key=""))
    assert found.pitchless
    assert not found.better_not


def test_two_that_are_strong_in_the_bass_crowd_it():
    (found,) = against(PIANO, card("cello", "bass", "Am | F | C | G"), listening=lambda _: Heard((), low=True))
    assert found.crowds == ("piano",)


@pytest.mark.parametrize(("shift", "rhythm"), [(0, "together"), (Fraction(1, 32), "between")])
def test_how_rhythms_lie_to_each_other(shift, rhythm):
    beats = [Fraction(n, 16) for n in range(16)]
    sounds = {
        "piano": Heard(tuple(map(float, beats)), low=False),
        "shaker": Heard(tuple(float(at + shift) for at in beats), low=False),
    }
    (found,) = against(PIANO, card("shaker", "percussion", key=""), listening=lambda c: sounds[c.name])
    assert found.rhythm == rhythm
