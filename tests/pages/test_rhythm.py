"""A rhythm as a picture: every note where it is heard, beamed as it would be printed."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import pytest

from mixer.pages.rhythm import LEFT, RIGHT, WIDTH, rhythm_svg

SVG = "{http://www.w3.org/2000/svg}"


def drawn(onsets, bars=1, beats=4, time="4/4", told="told"):
    return ET.fromstring(rhythm_svg(onsets, bars, beats, time, told))  # noqa: S314 - made by ourselves


def heads(picture):
    return [float(each.get("cx")) for each in picture.iter(f"{SVG}ellipse")]


def beams(picture):
    return len([each for each in picture.iter(f"{SVG}rect") if each.get("height") == "3.4"])


def test_notes_stand_where_they_are_heard():
    step = (WIDTH - LEFT - RIGHT) / 4
    assert heads(drawn([(0, 1), (1, 0.5), (2.5, 0.5)])) == pytest.approx(
        [LEFT, LEFT + step, LEFT + 2.5 * step], abs=0.1
    )


@pytest.mark.parametrize(
    ("beats", "count"),
    [((0, 1, 2, 3), 0), ((0, 0.5), 1), ((0, 0.25), 2), ((0, 0.25, 0.5, 0.75), 6), ((0.5, 1), 0)],
    ids=["quarters", "eighths", "sixteenths", "four sixteenths", "over the beat"],
)
def test_notes_of_one_beat_are_beamed(beats, count):
    assert beams(drawn([(at, 0.5) for at in beats])) == count


def test_strong_notes_have_an_accent():
    assert len(list(drawn([(0, 1), (1, 0.4)]).iter(f"{SVG}path"))) == 1


def test_of_many_bars_four_are_drawn():
    picture = drawn([(n, 0.5) for n in range(32)], bars=8)
    assert len(heads(picture)) == 16
    numbers = [each.text for each in picture.iter(f"{SVG}text")]
    assert numbers == ["4", "4", "1", "2", "3", "4"]


def test_what_is_told_is_text_and_no_markup():
    text = rhythm_svg([], 1, 3, "3/4", '"><script>x</script>')
    assert "<script" not in text
    assert ET.fromstring(text).get("aria-label") == '"><script>x</script>'  # noqa: S314 - made by ourselves
    assert not re.search(r"\bstyle=", text)
