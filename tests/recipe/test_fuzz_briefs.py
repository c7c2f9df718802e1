"""Whatever stands in a brief, reading it ends in a brief or in sentences, and what is read can be said."""

from __future__ import annotations

import os

from hypothesis import given, settings
from hypothesis import strategies as st

from mixer.coach.asked import asked_by
from mixer.recipe.brief import ROLES_AND_ALL, WORDS
from mixer.recipe.brief_reader import read_brief
from mixer.words.say import all_in_full

VALUES = (
    "1:30",
    "3-6",
    "0",
    "-",
    "at most 4",
    "4, 8",
    "9999999999",
    "A minor",
    "3/4",
    "level",
    "intro, outro",
    "",
    "[1",
    "¾",
)
keys = st.sampled_from([*(word.word for word in WORDS), *ROLES_AND_ALL, "key sharp", "- a"])
lines = st.tuples(st.sampled_from(["", "  ", "    ", "- ", "\t"]), keys, st.sampled_from(VALUES) | st.text(max_size=9))
texts = st.lists(lines.map(lambda line: f"{line[0]}{line[1]}: {line[2]}"), max_size=12).map("\n".join)


# The same examples on every run where changes are taken; new ones each time elsewhere.
@settings(derandomize="CI" in os.environ, max_examples=200, deadline=None)
@given(texts | st.text(max_size=60))
def test_reading_ends_well(text):
    reading = read_brief(text)
    told = all_in_full(reading.problems)
    if reading.brief is None:
        assert told
    else:
        assert all(asked_by(reading.brief).values())
