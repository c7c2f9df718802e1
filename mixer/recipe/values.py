"""Single values: a text to a number, a key or a word of a few, with the limits of each.

Each function takes a text and gives the value, or None where it tells what is wrong.
"""

from __future__ import annotations

import re
from fractions import Fraction

from mixer.music.keys import Key, parse_key
from mixer.music.meter import Meter, parse_meter
from mixer.pattern import pattern
from mixer.recipe.model import AS_RECORDED, Pitch, Span
from mixer.recipe.near_key import near_key
from mixer.text.names import is_control, nearest, plain_signs, same_name, same_word, visible
from mixer.text.nodes import Node, Text, place_of
from mixer.words.problem import Problems

TEMPO_BPM = (40, 240)
LEVEL_DB = (-40, 12)
SECTION_BARS = (1, 64)
PITCH_SEMITONES = (-24, 24)
# Common practice, no source: what printed dynamics mean in decibels beside a usual level.
DYNAMICS_DB = {"pp": -12.0, "p": -8.0, "mp": -4.0, "mf": 0.0, "f": 3.0, "ff": 6.0}
LONGEST_TEXT = 500
LONGEST_NAME = 60
_OTHER_KEY = pattern(r"\s(title|by|tempo|key|time|layers|sections|ending):\s", re.IGNORECASE)
_FIGURES = str.maketrans("lio", "110")  # letters that look like figures
_NUMBER_WORDS = dict(
    zip(
        [
            "one",
            "two",
            "three",
            "four",
            "five",
            "six",
            "seven",
            "eight",
            "nine",
            "ten",
            "eleven",
            "twelve",
            "thirteen",
            "fourteen",
            "fifteen",
            "sixteen",
        ],
        range(1, 17),
        strict=True,
    )
)


def one_text(key: Text, node: Node, problems: Problems) -> Text | None:
    """Give what stands after a key that takes one value; None where nothing stands there, or several things."""
    if not isinstance(node, Text):
        problems.tell("one-value", place_of(node), key=key.value)
        return None
    if not node.value:
        problems.tell("no-value", key.place(), key=key.value)
        return None
    return node


def free(text: Text, problems: Problems, key: str, *, prose: bool = False) -> str:
    """Give free text, cut where it is longer than anyone will read; in prose a word with a colon is no slip."""
    value = visible(text.value)
    _tell_control_sign(text, problems, key)
    if not prose and (found := _OTHER_KEY.search(text.value)):
        problems.tell("two-in-one-line", text.place(found.start(1), found.end(1)), key=key, other=found[1].lower())
    if len(value) > LONGEST_TEXT:
        problems.tell("text-long", text.place(0, 20), key=key, most=LONGEST_TEXT)
    return value[:LONGEST_TEXT]


def _tell_control_sign(text: Text, problems: Problems, key: str) -> None:
    odd = next((at for at, sign in enumerate(text.value) if is_control(sign)), None)
    if odd is not None:
        problems.tell("control-sign", text.place(odd, odd + 1), key=key)


def other_keys(node: Node) -> int:
    """How many keys of a recipe stand within a text."""
    return len(_OTHER_KEY.findall(node.value)) if isinstance(node, Text) else 0


def name(text: Text, problems: Problems, *, reserved: bool = True) -> str | None:
    """Give a name that the writer chose for a layer or a section."""
    value = visible(text.value)
    if not value:
        return None
    _tell_control_sign(text, problems, "name")
    if len(value) > LONGEST_NAME:
        problems.tell("name-long", text.place(0, 20), most=LONGEST_NAME)
        return None
    plain = plain_signs(value)
    if bad := re.search(r"[,:\"“”]", plain):
        of = "layer" if reserved else "section"
        problems.tell("name-sign", text.place(), name=value, sign=value[bad.start()], of=of)
        return None
    if (reserved and same_name(value) in ("everything", "nothing", "without")) or spans_of(plain):
        problems.tell("name-taken", text.place(), name=value)
        return None
    return value


def _number(text: str) -> Fraction | None:
    found = re.fullmatch(r"([+-]?)\s*(\d{1,9})(?:[.,](\d{1,6}))?", text.strip())
    if not found:
        return None
    whole = Fraction(f"{found[2]}.{found[3] or 0}")
    return -whole if found[1] == "-" else whole


def tempo(text: Text, problems: Problems) -> Fraction | None:
    """Beats per minute, 40 to 240, fractions with a point or a comma."""
    plain = plain_signs(text.value).lower()
    number = _number(re.sub(r"\s*(bpm|beats per minute)\s*$", "", plain))
    if number is None:
        problems.tell("tempo-number", text.place(), value=text.value, near=_tempo_in(plain))
        return None
    if not TEMPO_BPM[0] <= number <= TEMPO_BPM[1]:
        problems.tell("tempo-range", text.place(), value=text.value, least=TEMPO_BPM[0], most=TEMPO_BPM[1])
        return None
    return number


def _tempo_in(plain: str) -> str:
    """Give the first number of a text that could be a tempo, also where letters stand for figures; or nothing."""
    figures = re.sub(r"(?<=\d)[o](?=\d|\b)|(?<=\b)[li](?=\d)", lambda m: "0" if m[0] == "o" else "1", plain)
    found = (each for each in re.findall(r"\b\d+\b", figures) if TEMPO_BPM[0] <= int(each) <= TEMPO_BPM[1])
    return next(found, "")


def key(text: Text, problems: Problems) -> Key | None:
    """Tonic and mode. A bare letter is a mistake that offers both."""
    plain = re.sub(r"\s+#\s*(?=[A-Za-z])", "# ", plain_signs(text.value))
    if both := re.fullmatch(r"\s*([A-Ga-g][#b]?)M\s*", plain):
        problems.tell("key-two-ways", text.place(), tonic=both[1].upper(), value=text.value)
        return None
    found = parse_key(plain)
    if found is None:
        letter = re.fullmatch(r"\s*([A-Ga-g])\s*([#b♯♭]?)\s*", plain)
        if letter:
            tonic = letter[1].upper() + letter[2]
            problems.tell("key-letter", text.place(), tonic=tonic)
        else:
            problems.tell("key-unknown", text.place(), value=text.value, guess=near_key(plain))
    elif re.search(r"\s#\S", text.value):
        at = text.value.index("#")
        problems.tell("key-sharp-apart", text.place(at, len(text.value)), key=str(found))
    return found


def meter(text: Text, problems: Problems) -> Meter | None:
    """Give the time signature."""
    found = parse_meter(plain_signs(text.value))
    if found is None:
        looks_like_minutes = re.fullmatch(r"\d+:\d\d(:\d\d)?", plain_signs(text.value).strip()) is not None
        problems.tell("time-unknown", text.place(), value=text.value, minutes=looks_like_minutes)
    return found


def level(text: Text, problems: Problems) -> float | None:
    """Decibels with a sign, or a printed dynamic; -40 to +12."""
    plain = plain_signs(text.value).strip()
    if plain.lower() in DYNAMICS_DB:
        return DYNAMICS_DB[plain.lower()]
    number = _number(re.sub(r"(?i)\s*(db|decibels?)$", "", plain))
    if number is None:
        problems.tell("level-unknown", text.place(), value=text.value)
        return None
    if not LEVEL_DB[0] <= number <= LEVEL_DB[1]:
        problems.tell("level-range", text.place(), value=text.value, least=LEVEL_DB[0], most=LEVEL_DB[1])
        return None
    if number and plain[0] not in "+-":
        problems.tell("level-sign", text.place(), value=text.value)
        return None
    if re.match(r"[+-]\s", plain):
        problems.tell("level-space", text.place(), value=re.sub(r"\s+", "", plain))
    return float(number)


def pan(text: Text, problems: Problems) -> float | None:
    """Where between the ears: -1 is left, 0 the middle, 1 right."""
    plain = same_word(plain_signs(text.value).replace("%", " "))
    if plain in ("centre", "center", "middle", "0"):
        return 0.0
    found = re.fullmatch(r"(left|right)(?: (\d{1,3}))?|(\d{1,3}) (left|right)", plain)
    if not found:
        problems.tell("pan-unknown", text.place(), value=text.value)
        return None
    if not (found[2] or found[3]):
        problems.tell("pan-amount", text.place(), side=found[1])
        return None
    side, amount = found[1] or found[4], int(found[2] or found[3])
    if amount > 100:
        problems.tell("pan-range", text.place(), value=text.value)
        return None
    return (-1 if side == "left" else 1) * amount / 100


def pitch(text: Text, problems: Problems) -> Pitch | None:
    """Semitones with a sign, or `as recorded`."""
    plain = plain_signs(text.value).strip()
    if same_word(plain) == AS_RECORDED:
        return AS_RECORDED
    number = _number(re.sub(r"(?i)\s*semitones?$", "", plain))
    if number is None or number.denominator != 1:
        problems.tell("pitch-unknown", text.place(), value=text.value)
        return None
    if not PITCH_SEMITONES[0] <= number <= PITCH_SEMITONES[1]:
        problems.tell("pitch-range", text.place(), least=PITCH_SEMITONES[0], most=PITCH_SEMITONES[1])
        return None
    return int(number)


def one_of(text: Text, problems: Problems, key: str, known: tuple[str, ...]) -> str | None:
    """One of a few words."""
    if (word := same_word(text.value)) in known:
        return word
    guess = nearest(word, known)
    problems.tell("not-one-of", text.place(), key=key, value=text.value, known=known, guess=guess)
    return None


def whole_bars(text: Text, problems: Problems) -> int | None:
    """How many bars a section has, 1 to 64."""
    plain = plain_signs(text.value).lower().strip()
    found = re.fullmatch(r"(\d{1,9})\s*(bars?)?", plain)
    if not found:
        word = re.sub(r"\s*bars?$", "", plain)
        figure = _NUMBER_WORDS.get(word)
        if figure is None:
            measures = re.fullmatch(r"(\d{1,2})\s*(?:measures?|bar\S+|takte?)", plain)
            figures = re.fullmatch(r"[\dlio]{1,2}", word)
            number = measures[1] if measures else word.translate(_FIGURES) if figures else ""
            write = f"{number} bars" if number.isdecimal() and int(number) else ""
            problems.tell("bars-number", text.place(), value=text.value, write=write)
        else:
            problems.tell("bars-figures", text.place(), value=text.value, figure=figure)
        return figure
    if not SECTION_BARS[0] <= int(found[1]) <= SECTION_BARS[1]:
        problems.tell("bars-range", text.place(), value=text.value, least=SECTION_BARS[0], most=SECTION_BARS[1])
        return None
    return int(found[1])


def fade(text: Text, problems: Problems, key: str) -> Fraction | None:
    """Length of a fade in bars."""
    plain = re.sub(r"\s*bars?$", "", plain_signs(text.value).lower().strip())
    number = _NUMBER_WORDS.get(plain) or _number(plain)
    if number is None or number <= 0 or plain.startswith("+"):
        problems.tell("fade-length", text.place(), key=key, value=text.value)
        return None
    return Fraction(number)


def yes_or_no(text: Text, problems: Problems, key: str) -> bool | None:
    """Yes or no."""
    word = same_word(text.value)
    if word in ("yes", "true", "on", "y"):
        return True
    if word in ("no", "false", "off", "n"):
        return False
    problems.tell("not-one-of", text.place(), key=key, value=text.value, known=("yes", "no"), guess=None)
    return None


_SPAN = pattern(r"(\d{1,4})(?: ?--? ?(\d{1,4})?)?|- ?(\d{1,4})")
# How `mixer check` says bars, and what else can mean nothing but bars; each with its figures.
_SPELT = (
    (pattern(r"\b(?:in )?bars? (?=\d)"), ""),
    (pattern(r"up to (?=\d)"), "1-"),
    (pattern(r"from (\d{1,4})(?: on(?:wards?)?)?\Z"), r"\1-"),
    (pattern(r"from (?=\d)"), ""),
    (pattern(r"(?<=\d) ?(?:-|to) ?(?:the )?end\Z"), "-"),
    (pattern(r"(?<=\d) ?(?:to\b|\.{2,3}|\u2026) ?(?=\d|\Z)"), "-"),
    (pattern(r"(?<=\d) alone\Z"), ""),
)


def _in_figures(plain: str) -> str:
    """Give `from bar 5` as `5-`, `up to bar 3` as `1-3`, `bars 5 to 8` as `5-8`."""
    text = " ".join(plain.lower().split())
    for spelt, figures in _SPELT:
        text = spelt.sub(figures, text)
    return text


def spans_of(plain: str) -> re.Match[str] | None:
    """See a span in a text of plain signs: `5-8`, `5-`, `4`, also `bars 5 to 8` and the mistaken `-4`."""
    return _SPAN.fullmatch(_in_figures(plain))


def span(
    text: Text, section_bars: int | None, problems: Problems, *, song_bar: int = 1, section: str = ""
) -> Span | None:
    """Give the bars of one span, within its section.

    Parameters
    ----------
    text : such as `5-8`, known to look like one
    section_bars : how long the section is; None if that could not be read
    problems : grows
    song_bar : at which bar of the song the section begins
    section : its name
    """
    found = spans_of(plain_signs(text.value).strip("() "))
    if found is None:
        problems.tell("span-unknown", text.place(), value=text.value)
        return None
    if found[3] is not None:
        problems.tell("span-open-start", text.place(), last=int(found[3]))
        return None
    first = int(found[1])
    if re.search(r"[^\W\d_]|[.\u2026()]", text.value):
        problems.tell("span-spelt", text.place(), span=found[0])
    open_end = found[0].endswith("-")
    last = int(found[2]) if found[2] else None if open_end else first
    if last is not None and last < first:
        problems.tell("span-backwards", text.place(), first=first, last=last)
        first, last = last, first
    if section_bars is not None and (first < 1 or max(first, last or 0) > section_bars):
        facts = _where_in_song(first, last, section_bars, song_bar)
        problems.tell("span-outside", text.place(), bars=section_bars, section=section, first=first, last=last, **facts)
        if first > section_bars or first < 1:
            return None
        last = section_bars if last is not None else None
    return Span(first, last)


def _where_in_song(first: int, last: int | None, section_bars: int, song_bar: int) -> dict[str, int | None]:
    """See whether the bars were counted from the start of the song."""
    here = first - song_bar + 1
    there = (last or first) - song_bar + 1
    fits = here >= 1 and there <= section_bars and song_bar > 1
    return {"here": here if fits else None, "there": there if fits else None}
