"""What is known of whether a loop may be used: from its card and its licence, else to be asked."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from mixer.loops.card import Card
from mixer.loops.permission import QUESTIONS, Permission, licence_in, permission_of, strictest, to_ask
from mixer.music.meter import Meter
from mixer.words.english.told import permissions

ALL = frozenset(QUESTIONS)


def card(name="tin", licence="", *may_be):
    return Card(name, Path("x.wav"), Fraction(96), Meter(), 4, "drums", licence=licence, may_be=may_be)


@pytest.mark.parametrize(
    ("licence", "known"),
    [
        # Creative Commons, deeds of version 4.0 and of CC0 1.0: from memory.
        ("CC0-1.0", Permission(ALL)),
        ("cc0", Permission(ALL)),
        ("Public Domain", Permission(ALL)),
        ("CC BY 4.0", Permission(ALL)),
        ("CC-BY-SA-4.0", Permission(ALL, share_alike=True)),
        ("CC BY-NC 3.0", Permission(ALL, non_commercial=True)),
        ("CC-BY-NC-SA 4.0 International", Permission(ALL, share_alike=True, non_commercial=True)),
        ("CC BY-ND 4.0", Permission(frozenset())),
        ("all rights reserved", Permission(frozenset())),
        ("CC0 but ask me", Permission(frozenset())),
        ("", Permission(frozenset())),
    ],
)
def test_licences(licence, known):
    assert permission_of(card("tin", licence)) == known


@pytest.mark.parametrize(
    ("text", "licence"),
    [
        # Names and addresses of Creative Commons' licences: from memory.
        ("http://creativecommons.org/licenses/by-sa/3.0/", "CC-BY-SA-3.0"),
        ("https://creativecommons.org/licenses/by-nc/4.0/deed.de", "CC-BY-NC-4.0"),
        ("https://creativecommons.org/publicdomain/zero/1.0/", "CC0-1.0"),
        ("https://creativecommons.org/publicdomain/mark/1.0/", "public domain"),
        ("Creative Commons Attribution-NonCommercial 4.0 International (CC BY-NC 4.0)", "CC-BY-NC-4.0"),
        ("Creative Commons Attribution-NonCommercial-ShareAlike 4.0 International", "CC-BY-NC-SA-4.0"),
        ("Creative Commons Attribution 3.0", "CC-BY-3.0"),
        ("Licensed under CC BY 4.0", "CC-BY-4.0"),
        ("CC0 1.0 Universal", "CC0-1.0"),
        ("Creative Commons Zero", "CC0"),
        ("Public Domain", "public domain"),
        ("(c) 2024 Somebody, all rights reserved", ""),
        ("2019 CC Records", ""),
        ("https://example.org/creativecommons.org/licenses/by/4.0/", ""),
        ("", ""),
    ],
)
def test_licences_are_read_from_what_tags_say(text, licence):
    assert licence_in(text) == licence
    assert permission_of(card("tin", text)) == permission_of(card("tin", licence))


def test_what_the_card_says_counts_and_what_it_does_not_name_is_asked():
    said = card("tin", "", "Played to parents", "taken home in a song")
    assert permission_of(said).yes == {"parents", "home"}


def test_the_strictest_counts_for_a_song_and_conditions_pass_on():
    free, shared, unknown = card("a", "CC0"), card("b", "CC-BY-SA"), card("c", "", "used in class")
    assert strictest([free, shared]) == Permission(ALL, share_alike=True)
    assert strictest([free, unknown]).yes == {"class"}
    assert to_ask([free, unknown], "home") == ["c"]


def test_it_is_said_as_a_question_and_never_as_a_right():
    lines = permissions(["class"], {"home": ["b", "c"], "on": ["b", "c"]}, share_alike=True, non_commercial=True)
    assert lines[0] == "The makers of the loops say that they may be used in class."
    assert lines[1] == (
        "Whether b and c may be taken home inside a song or passed on is not known here: ask your school."
    )
    assert len(lines) == 4
    assert "allowed" not in " ".join(lines)
