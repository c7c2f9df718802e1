"""Plain lines are read by a shorter way; it gives what the whole way gives."""

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import mixer.text.scan
from mixer.loops.catalog import GRAMMAR as CATALOG
from mixer.recipe.keywords import GRAMMAR as RECIPE
from mixer.text.scan import Scanner
from mixer.text.source import split_lines
from mixer.words.problem import Problems

LINE = st.tuples(
    st.sampled_from(["", "  ", "    ", "\t", "\u3000", "\u200b"]),
    st.sampled_from(["", "- ", "-", "-  ", "* ", "1. "]),
    st.sampled_from(["tempo", "part 1", "Fade_in", "a-", "9 bars", "drums #2", "\xe4hre", "'x'", "{a", "x"]),
    st.sampled_from([":", ": ", " :", ":\t", ":  ", "=", "", ": \u3000"]),
    st.sampled_from(["", "96", "-4", "x: y", '"a # b"', "[a, b]", "1-4, 7  ", "b#", "# note", "4 # checked", "|"]),
)


@pytest.mark.parametrize("grammar", [CATALOG, RECIPE])
@settings(max_examples=1500, deadline=None)
@given(parts=LINE, free=st.booleans())
def test_a_plain_line_is_read_as_by_the_whole_way(grammar, parts, free):
    source = split_lines("".join(parts), "song.yaml")
    found = []
    plain = mixer.text.scan._PLAIN
    for pattern in (plain, re.compile(r"(?!)")):
        problems = Problems()
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(mixer.text.scan, "_PLAIN", pattern)
            found.append((Scanner(source, grammar, problems).scan(0, free=free), list(problems)))
    assert found[0] == found[1]


def test_the_shorter_way_is_taken():
    assert all(mixer.text.scan._PLAIN.match(line) for line in ("tempo: 96", "  - name: part 1", "    drums:"))
