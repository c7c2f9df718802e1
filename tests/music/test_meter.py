"""Bars as exact numbers."""

from fractions import Fraction

import pytest

from mixer.music.meter import Meter, nearest_frame, parse_meter

# Worked values: samples in a bar of 4/4 = 240 / BPM x rate, as published tables of bar lengths give them; the
# fractions are arithmetic (1058400/11 and 2646000/31 at 44.1 kHz).
BARS = [
    (70, 44_100, Fraction(151_200)),
    (90, 44_100, Fraction(117_600)),
    (100, 44_100, Fraction(105_840)),
    (110, 44_100, Fraction(1_058_400, 11)),
    (120, 44_100, Fraction(88_200)),
    (124, 44_100, Fraction(2_646_000, 31)),
    (128, 44_100, Fraction("82687.5")),
    (140, 44_100, Fraction(75_600)),
    (100, 48_000, Fraction(115_200)),
    (110, 48_000, Fraction(1_152_000, 11)),
    (128, 48_000, Fraction(90_000)),
]


@pytest.mark.parametrize(("tempo", "rate_hz", "frames"), BARS)
def test_a_bar_of_four_beats_is_exact(tempo, rate_hz, frames):
    assert Meter(4, 4).bar_seconds(Fraction(tempo)) * rate_hz == frames


@pytest.mark.parametrize(
    ("written", "beats", "seconds"),
    [
        # Dotted beats in compound time (common practice; a textbook rule): 6/8 at 60 has two beats, so 2 s.
        ("4/4", 4, 4),
        ("3/4", 3, 3),
        ("2/2", 2, 2),
        ("5/4", 5, 5),
        ("6/8", 2, 2),
        ("9/8", 3, 3),
        ("12/8", 4, 4),
        ("7/8", 7, 7),
        ("3/8", 3, 3),
        ("6/4", 6, 6),
    ],
)
def test_beats_of_a_bar(written, beats, seconds):
    meter = parse_meter(written)
    assert meter is not None
    assert (meter.beats, meter.bar_seconds(Fraction(60))) == (beats, seconds)
    assert str(meter) == written


@pytest.mark.parametrize("text", ["", "4", "4/3", "0/4", "17/4", "2:30", "4/4/4", "four four"])
def test_what_is_no_time_signature(text):
    assert parse_meter(text) is None


def test_a_half_goes_up():
    assert [nearest_frame(Fraction(n, 2)) for n in range(6)] == [0, 1, 1, 2, 2, 3]


def test_rounded_bars_would_drift_and_ours_do_not():
    """At 124 BPM and 44.1 kHz truncated bars lose 107 samples in 128 bars (worked example in published tables)."""
    exact = Meter().bar_seconds(Fraction(124)) * 44_100
    assert nearest_frame(128 * exact) - 128 * int(exact) == 107
