"""Every value has its bounds, and each bound its own sentence."""

from __future__ import annotations

import time

import pytest

from mixer.recipe.drafts import MOST_SECTIONS
from mixer.recipe.layers import MOST_LAYERS
from mixer.recipe.reader import LONGEST_SONG_SECONDS, read
from mixer.recipe.values import LONGEST_NAME, LONGEST_TEXT
from mixer.text.source import LARGEST_BYTES, LONGEST_LINE
from mixer.words.problem import MOST_SHOWN
from mixer.words.say import is_mistake
from tests.recipe.cases import KNOWN_LOOPS


def song(*, top="tempo: 96", layers="  a: tin-roof", sections="  - one, 4 bars: a"):
    return f"{top}\nlayers:\n{layers}\nsections:\n{sections}\n"


def kinds(text):
    return [problem.kind for problem in read(text, KNOWN_LOOPS).problems]


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        (song(top="tempo: 39.9"), "tempo-range"),
        (song(top="tempo: 240.1"), "tempo-range"),
        (song(layers="  a: {loop: tin-roof, level: +12.5}"), "level-range"),
        (song(layers="  a: {loop: tin-roof, level: -40.5}"), "level-range"),
        (song(layers="  a: {loop: tin-roof, pitch: +25}"), "pitch-range"),
        (song(layers="  a: {loop: tin-roof, pan: left 101}"), "pan-range"),
        (song(sections="  - one, 0 bars: a"), "bars-range"),
        (song(sections="  - one, 65 bars: a"), "bars-range"),
        (song(sections=f"  - {'x' * (LONGEST_NAME + 1)}, 4 bars: a"), "name-long"),
        (song(top=f"tempo: 96\ntitle: {'x' * (LONGEST_TEXT + 1)}"), "text-long"),
        (song(sections="\n".join(f"  - s{n}x, 1 bar: a" for n in range(MOST_SECTIONS + 1))), "too-many-sections"),
        (
            song(
                layers="\n".join(f"  l{n}x: tin-roof" for n in range(MOST_LAYERS + 1)),
                sections="  - one, 4 bars: everything",
            ),
            "too-many-layers",
        ),
        (song(top=f"tempo: 96\n# {'x' * LONGEST_LINE}"), "line-too-long"),
        (song(top="tempo: 96\n" + "#\n" * 3001), "text-too-long"),
        (song(top="tempo: 96\n" + ("# " + "x" * 1000 + "\n") * (LARGEST_BYTES // 1000 + 1)), "text-too-long"),
        (song(sections="\n".join(f"{'  ' * n}- k{n}:" for n in range(1, 20))), "too-deep"),
        (song(top="tempo: 40", sections="\n".join(f"  - s{n}x, 64 bars: a" for n in range(4))), "song-long"),
    ],
)
def test_what_goes_beyond_is_told_by_its_own_sentence(text, kind):
    assert kind in kinds(text)


@pytest.mark.parametrize(
    "text",
    [
        song(top="tempo: 40"),
        song(top="tempo: 240"),
        song(layers="  a: {loop: tin-roof, level: +12, pitch: -24, pan: right 100}"),
        song(sections="  - one, 64 bars: a"),
        song(sections="  - one, 1 bar: a"),
        song(sections=f"  - {'x' * LONGEST_NAME}, 4 bars: a"),
        song(top="tempo: 60", sections="\n".join(f"  - s{n}x, 60 bars: a" for n in range(5))),
    ],
)
def test_what_stays_within_is_not(text):
    assert kinds(text) == []


def test_twenty_minutes_are_allowed_and_one_bar_more_is_not():
    bars = LONGEST_SONG_SECONDS // 4  # of 4/4 at 60
    sections = [f"  - s{n}x, 60 bars: a" for n in range(bars // 60)]
    assert kinds(song(top="tempo: 60", sections="\n".join(sections))) == []
    assert kinds(song(top="tempo: 60", sections="\n".join([*sections, "  - more, 1 bar: a"]))) == ["song-long"]


@pytest.mark.parametrize(
    "text",
    [
        song(layers="  a: &x tin-roof"),
        song(layers="  a: tin-roof\n  b: *x"),
        song(layers="  a: {loop: &x tin-roof}"),
        song(layers="  a: {loop: tin-roof}\n  b:\n    <<: *a"),
    ],
)
def test_anchors_and_aliases_are_refused(text):
    assert "anchor" in kinds(text) or "unknown-loop" in kinds(text)


def test_a_bomb_of_aliases_is_no_bomb():
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x]"]
    lines += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]" for n in range(1, 9)]
    assert kinds("\n".join(lines))


# Each of these once took minutes or broke the reader. It must end, and the time limit of the whole run says so; how
# long each takes is nothing that a test asserts.
LONG = {
    "empty dashes": song(sections="  -\n" * 2900),
    "dashes within dashes": "".join(f"{' ' * n}-\n" for n in range(400)),
    "keys within keys": "".join(f"{' ' * n}k{n}:\n" for n in range(400)),
    "dashes in one line": "- " * 900 + "x: y",
    "brackets in one line": "x: " + "{[" * 990,
    "brackets never closed": "x: {{{{[[[[\n" * 2900,
    "thousands of unknown names": song(sections=f"  - v, 4 bars: {'q,' * 950}\n" * 49),
    "a list over thousands of lines": song(sections="  - name: v\n    play:\n" + "      a, b,\n" * 2900),
    "names with their own number signs": "".join(f"a{n} #b: #c #d\n" for n in range(2900)),
    "spaces": song(sections=f"  - v, 4 bars: a{' ' * 1900}x\n" * 49),
    "words of no meaning": song(sections=f"  - v, 4 bars: {'ж ' * 950}\n" * 49),
    "tabs": "\tx: y\n" * 2900,
}


@pytest.mark.parametrize("name", LONG)
def test_long_texts_end(name):
    result = read(LONG[name], KNOWN_LOOPS)
    assert 0 < len(result.problems) <= MOST_SHOWN + 1


def test_what_is_not_shown_any_more_is_counted():
    problems = read("".join(f"x{n}: y\n" for n in range(MOST_SHOWN + 99)), KNOWN_LOOPS).problems
    assert [problem.kind for problem in problems[MOST_SHOWN:]] == ["many-problems"]
    # Three more are told at the top: there is no tempo, there are no layers and no sections.
    assert problems[-1].facts["more"] == 99 + 3
    assert is_mistake(problems[-1])


def test_what_is_below_a_block_that_is_too_deep_is_not_told_again():
    deep = "".join(f"{'  ' * n}- k{n}:\n" for n in range(2, 30))
    assert kinds(song(sections=f"  - one, 4 bars: a\n{deep}  - two, 2 bars: a")).count("too-deep") == 1


def test_signs_that_cannot_be_shown_are_told_and_nobody_sees_them():
    result = read(
        song(top="tempo: 96\ntitle: \x1bRain", layers="  a\x07b: tin-roof", sections="  - x\x9b, 1 bar: ab"), ()
    )
    assert [problem.kind for problem in result.problems if problem.kind == "control-sign"] == ["control-sign"] * 3


def test_marks_that_only_steer_are_not_seen():
    # U+200F and U+00AD (Unicode: RIGHT-TO-LEFT MARK, SOFT HYPHEN) have no width and no meaning of their own.
    recipe = read(
        song(
            top="tempo: 96\ntitle: Har\u00adbour", layers="  ba\u00adss: tin-roof", sections="  - x, 1 bar: \u200fbass"
        ),
        KNOWN_LOOPS,
    )
    assert recipe.problems == ()
    assert (recipe.recipe.title, recipe.recipe.layers[0].name) == ("Harbour", "bass")


@pytest.mark.parametrize(
    "line",
    [
        "  - a" + " " * 1900 + "b",
        "  - " + "x 4 bars " * 210,
        "  - a, 4 bars: " + "a from bar " * 170,
        "  - a" + "( " * 900,
        "  - a, 4 bars: all" + " " * 1900 + "x",
        "  - a" + " " * 1900 + " #b",
        "  - a, 4 bars: bass\n    meant: sea\n     " + (" " * 900 + "a") * 2,
    ],
)
def test_no_line_takes_long_to_read(line):
    began = time.process_time()
    read(song(sections=f"{line}\n" * 48), KNOWN_LOOPS)
    assert time.process_time() - began < 3.0  # about half a second; one pattern that looks back took six
