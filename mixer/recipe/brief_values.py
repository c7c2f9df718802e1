"""Single values of a brief: lengths in minutes and seconds, and numbers from least to most.

Each function takes a text and gives the value, or None where it tells what is wrong.
"""

from __future__ import annotations

import re
from fractions import Fraction

from mixer.music.keys import Key, parse_key
from mixer.music.meter import Meter, parse_meter
from mixer.recipe.brief import MODES, Range
from mixer.recipe.near_key import near_key
from mixer.text.names import nearest, plain_signs, same_word
from mixer.text.nodes import Text
from mixer.words.problem import Problems

LONGEST_SECONDS = 20 * 60
_NUMBER = r"\d{1,4}(?:[.,]\d{1,3})?"
_MOST = "-|at most|up to|no more than|not more than|max\\.?|maximum|<=|≤"
_LEAST = "at least|from|no less than|not less than|min\\.?|minimum|>=|≥"
_FIGURES = {
    word: str(number)
    for number, word in enumerate(
        ["none", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"],
    )
}


def duration(text: Text, problems: Problems, key: str) -> Fraction | None:
    """How long a song may be, in seconds: `1:30`, `90 seconds`, `2 minutes`."""
    plain = " ".join(plain_signs(text.value).lower().split())
    seconds = _seconds(plain)
    if seconds is None:
        number = plain if re.fullmatch(_NUMBER, plain) else ""
        problems.tell(
            "brief-duration",
            text.place(),
            key=key,
            value=text.value,
            number=number,
            minutes=not number or float(number.replace(",", ".")) * 60 <= LONGEST_SECONDS,
        )
    elif not 0 < seconds <= LONGEST_SECONDS:
        problems.tell("brief-too-long", text.place(), key=key, value=text.value, most=LONGEST_SECONDS // 60)
        return None
    return seconds


def _seconds(plain: str) -> Fraction | None:
    minutes, seconds = r"(\d{1,3}) ?(?:m|min|minutes?)", r"([0-5]?\d) ?(?:s|sec|seconds?)?"
    if found := re.fullmatch(rf"(\d{{1,3}}):([0-5]\d)(?: ?min| minutes)?|{minutes}(?: and)? ?{seconds}", plain):
        return Fraction(60 * int(found[1] or found[3]) + int(found[2] or found[4]))
    if found := re.fullmatch(rf"({_NUMBER}) ?(s|sec|seconds?|min|minutes?)\.?", plain):
        return _fraction(found[1]) * (1 if found[2].startswith("s") else 60)
    return None


def plainly(number: Fraction | None) -> str:
    """Give a number as people write it."""
    return "" if number is None else f"{float(number):g}"


def _fraction(text: str) -> Fraction:
    return Fraction(text.replace(",", "."))


def limits(text: Text, problems: Problems, key: str, bounds: tuple[int, int], *, alone: str = "both") -> Range | None:
    """From least to most: `3-6`, `3-` (at least), `at most 6`; also `3 to 6`, and the first numbers as words.

    Parameters
    ----------
    text : such as `3-6`
    problems : grows
    key : for the words
    bounds : the least and the most number that make sense
    alone : whether a number alone is `both` least and most, or the `most`
    """
    plain = " ".join(plain_signs(text.value).lower().split())
    plain = "0" if plain in ("no", "never", "nobody") else plain
    plain = re.sub(r"\s*(bpm|beats per minute|bars?|loops?|layers?|sections?)$", "", plain)
    ends = _ends(re.sub(r"[a-z]+", lambda word: _FIGURES.get(word[0], word[0]), plain), alone)
    if ends is None:
        problems.tell("brief-range", text.place(), key=key, value=text.value, low=bounds[0])
        return None
    found = Range(*ends)
    if found.least is not None and found.most is not None and found.least > found.most:
        found = Range(found.most, found.least)
        problems.tell(
            "brief-backwards", text.place(), value=text.value, first=plainly(found.least), last=plainly(found.most)
        )
    odd = [end for end in (found.least, found.most) if end is not None and not bounds[0] <= end <= bounds[1]]
    if odd:
        problems.tell("brief-number", text.place(), key=key, value=text.value, least=bounds[0], most=bounds[1])
        return None
    return found


def _ends(plain: str, alone: str) -> tuple[Fraction | None, Fraction | None] | None:
    """Give least and most."""
    if found := re.fullmatch(rf"(?:from |between )?({_NUMBER}) ?(?:--?|to|and|or) ?({_NUMBER})", plain):
        return _fraction(found[1]), _fraction(found[2])
    if found := re.fullmatch(rf"(?:{_MOST}) ?({_NUMBER})|({_NUMBER}) (?:or less|or fewer|max|maximum|at most)", plain):
        return None, _fraction(found[1] or found[2])
    if found := re.fullmatch(rf"(?:{_LEAST}) ?({_NUMBER})|({_NUMBER})(?: ?-| or more| min| minimum| at least)", plain):
        return _fraction(found[1] or found[2]), None
    if re.fullmatch(_NUMBER, plain):
        return (None if alone == "most" else _fraction(plain)), _fraction(plain)
    return None


def key_or_mode(text: Text, problems: Problems) -> Key | str | None:
    """Give a key, or `major` or `minor` for all keys of that mode."""
    if (word := same_word(text.value)) in MODES:
        return word
    found = parse_key(plain_signs(text.value))
    if found is None:
        guess = near_key(plain_signs(text.value)) or (None if " " in text.value else nearest(text.value, MODES))
        problems.tell("brief-key", text.place(), value=text.value, guess=guess)
    return found


def meter(text: Text, problems: Problems) -> Meter | None:
    """Give a time signature."""
    found = parse_meter(plain_signs(text.value))
    if found is None:
        problems.tell("brief-time", text.place(), value=text.value)
    return found
