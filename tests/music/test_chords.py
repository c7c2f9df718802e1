"""Chords against what any theory book says of them (common practice, no source)."""

from __future__ import annotations

import pytest

from mixer.music.chords import Chord, agree, clash, parse_chord

NOTES = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")


@pytest.mark.parametrize(
    ("text", "notes"),
    [
        ("C", "C E G"),
        ("Am", "A C E"),
        ("F#m", "F# A C#"),
        ("Bbmaj7", "Bb D F A"),
        ("G7", "G B D F"),
        ("Dm7", "D F A C"),
        ("Bdim", "B D F"),
        ("E♭sus4", "Eb Ab Bb"),
        ("Cmin", "C Eb G"),
        ("G/B", "G B D"),
        ("Am/G", "A C E G"),
    ],
)
def test_a_chord_has_its_notes(text, notes):
    assert parse_chord(text).notes == {NOTES.index(note) for note in notes.split()}


@pytest.mark.parametrize("text", ["", "H", "Amm", "x", "N.C.", "A/", "C/H"])
def test_what_is_no_chord(text):
    assert parse_chord(text) is None


def test_moving_keeps_the_kind():
    assert str(parse_chord("Am7/G").moved(3)) == "Cm7/Bb"
    assert parse_chord("Am").moved(12) == Chord(9, "m")


@pytest.mark.parametrize(
    ("one", "other", "agrees", "clashes"),
    [
        ("Am", "Am7", True, False),
        ("Am", "C", False, False),  # relatives: two notes shared
        ("F", "Dm", False, False),
        ("C", "F", False, True),  # one note shared
        ("C", "C#", False, True),
        ("F", "G", False, True),
        ("C", "Cm", False, True),  # both thirds at once
        ("Em", "C/B", True, False),
        ("C", "Em", False, False),
    ],
)
def test_how_chords_go_together(one, other, agrees, clashes):
    first, second = parse_chord(one), parse_chord(other)
    assert (agree(first, second), agree(second, first)) == (agrees, agrees)
    assert (clash(first, second), clash(second, first)) == (clashes, clashes)
