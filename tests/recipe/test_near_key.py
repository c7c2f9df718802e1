"""Keys as they are almost written. What each is called in another language is common knowledge, no source."""

from __future__ import annotations

import pytest

from mixer.music.keys import parse_key
from mixer.recipe.near_key import near_key


@pytest.mark.parametrize(
    ("written", "key"),
    [
        ("la menor", "A minor"),
        ("la mineur", "A minor"),
        ("La minore", "A minor"),
        ("ré majeur", "D major"),
        ("re\u0301 majeur", "D major"),
        ("sol mayor", "G major"),
        ("do maggiore", "C major"),
        ("fa# menor", "F# minor"),
        ("fa dièse mineur", "F# minor"),
        ("si bemol mayor", "Bb major"),
        ("si b majeur", "Bb major"),
        ("mi b menor", "Eb minor"),
        ("a-moll", "A minor"),
        ("C-Dur", "C major"),
        ("cis-moll", "C# minor"),
        ("Es-Dur", "Eb major"),
        ("As-Dur", "Ab major"),
        ("H-Moll", "B minor"),
        ("b-moll", "Bb minor"),
        ("minor A", "A minor"),
        ("A Minor.", "A minor"),
        ("A minor pentatonic", "A minor"),
        ("A mnior", "A minor"),
        ("Bb mayor", "Bb major"),
    ],
)
def test_what_was_meant_is_seen_and_can_be_read(written, key):
    assert near_key(written) == key
    assert str(parse_key(key)) == key


@pytest.mark.parametrize(
    "written", ["sad", "", "minor", "major minor", "H minor", "Cb b minor", "x moll", "#", "x" * 5000]
)
def test_nothing_is_guessed_where_nothing_can_be_seen(written):
    assert near_key(written) is None
