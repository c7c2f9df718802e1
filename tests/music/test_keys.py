"""Keys as the theory of music has them (scale steps and relative keys: textbook facts, from memory)."""

import pytest

from mixer.music.keys import Key, parse_key, semitones_between


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("A minor", Key("A", "minor")),
        ("Am", Key("A", "minor")),
        ("am", Key("A", "minor")),
        ("a Minor", Key("A", "minor")),
        ("Eb major", Key("Eb", "major")),
        ("F# dorian", Key("F#", "dorian")),
        ("F♯ minor", Key("F#", "minor")),
        ("B♭ maj", Key("Bb", "major")),
        ("f sharp minor", Key("F#", "minor")),
        ("B flat major", Key("Bb", "major")),
        ("C#m", Key("C#", "minor")),
        ("Bbm", Key("Bb", "minor")),
        ("Bm", Key("B", "minor")),
    ],
)
def test_spellings(text, key):
    assert parse_key(text) == key


@pytest.mark.parametrize("text", ["A", "H minor", "sad", "", "A blue", "major", "A# #minor"])
def test_what_is_no_key(text):
    assert parse_key(text) is None


@pytest.mark.parametrize(
    ("own", "target", "semitones"),
    [
        ("A minor", "C major", 0),  # relative keys share their notes
        ("D dorian", "C major", 0),
        ("E phrygian", "A minor", 0),
        ("G mixolydian", "F lydian", 0),
        ("A minor", "B minor", 2),
        ("C major", "A major", -3),
        ("A minor", "A major", -3),  # A major holds the notes of F# minor, three semitones below A minor
        ("C major", "F# major", -6),  # a tie goes down
        ("C major", "F major", 5),
        ("C major", "G major", -5),
    ],
)
def test_the_shorter_way(own, target, semitones):
    assert semitones_between(parse_key(own), parse_key(target)) == semitones
