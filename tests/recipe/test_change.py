"""A change that is tried is read as a section's own line is, and of several sections the one that is meant."""

from __future__ import annotations

import pytest

from mixer.recipe.change import read_change
from mixer.recipe.reader import read
from mixer.words.say import all_in_full

TEXT = """tempo: 96
layers:
  drums: tin-roof
  bass: slow-tide
  piano: paper-lantern
sections:
  - verse, 8 bars: drums, piano
  - chorus, 8 bars: drums, bass, piano
  - verse
  - chorus
  - chorus 2, 4 bars: everything
"""
RECIPE = read(TEXT, ("tin-roof", "slow-tide", "paper-lantern")).recipe


def heard(change):
    section = change.recipe.sections[change.section]
    return {entry.layer: entry.bars(section.bars) for entry in section.entries}


def test_a_change_says_what_would_be_different():
    change = read_change("chorus: without drums 1-4", RECIPE)
    assert (change.section, change.first_bar, change.problems) == (1, 9, ())
    assert heard(change) == {"drums": [5, 6, 7, 8], "bass": list(range(1, 9)), "piano": list(range(1, 9))}
    others = [section for number, section in enumerate(change.recipe.sections) if number != 1]
    assert others == [section for number, section in enumerate(RECIPE.sections) if number != 1]


def test_it_is_read_as_the_line_in_the_recipe_would_be():
    for typed in ("drums 1-2, bass 5-", "everything 5-8, without piano 7", "bass 3", "without drums, piano 2-3"):
        change = read_change(f"verse: {typed}", RECIPE)
        written = read(
            TEXT.replace("- chorus, 8", f"- verse x, like verse: {typed}\n  - chorus, 8"),
            ("tin-roof", "slow-tide", "paper-lantern"),
        )
        assert change.problems == written.problems == ()
        assert change.recipe.sections[0].entries == written.recipe.sections[1].entries


@pytest.mark.parametrize(
    ("which", "section"),
    [
        ("chorus", 1),
        ("Chorus", 1),
        ("the chorus", 1),
        ("chorus 2", 4),  # a section has that name
        ("verse 2", 2),  # none has; the second of that name
        ("chorus bars 25-32", 3),
        ("chorus, bar 30", 3),
        ("chorus (bars 25-32)", 3),
        ("bars 17-20", 2),
    ],
)
def test_the_section_that_is_meant(which, section):
    assert read_change(f"{which}: without drums 2", RECIPE).section == section


def test_nothing_is_silence():
    assert heard(read_change("chorus: nothing", RECIPE)) == {}


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("without drums 1-4", "does not say which section is meant"),
        ("chorus:", "there is nothing after the colon"),
        ("Chorus without drums", 'Write it so: "chorus: without drums".'),
        ("chorus 9 without drums", "does not say which section is meant"),
        ("chorus: everthing", 'Did you mean "everything"?'),
        (": drums", "does not say which section"),
        ("chrous: without drums", 'Did you mean "chorus"?'),
        ("verse 3: without drums", 'there is no section called "verse 3"'),
        ("chorus bars 1-4: without drums", "there is no section called"),
        ("chorus: without drum", 'there is no layer called "drum"'),
        ("chorus: bass 3-9", "so there is no bar 9 in it"),
        ("verse: without bass", '"bass" does not play in verse'),
        ("", "does not say which section"),
        ("x" * 5000 + ": drums", "does not say which section"),
    ],
)
def test_mistakes_are_told_in_the_words_of_the_language(typed, said):
    change = read_change(typed, RECIPE)
    words = all_in_full(change.problems)
    assert said in words
    assert "line 2" not in words


@pytest.mark.parametrize("typed", ["chorus: without drum", "chorus bars 25-32: drums, pinao 3"])
def test_a_mark_stands_below_the_word(typed):
    place = read_change(typed, RECIPE).problems[0].place
    assert typed[place.column - 1 :][: place.width] in ("drum", "pinao")


@pytest.mark.parametrize(
    "typed", ["chorus: - : {", "chorus: [", 'chorus: "', "chorus: \x00", "chorus: drums\nverse: bass", "::", "a: b: c"]
)
def test_anything_can_be_typed(typed):
    change = read_change(typed, RECIPE)
    assert change.recipe is not None or change.problems or change.section is not None
