"""How far loops bear to be stretched and moved: read from cards, learnt from sound, and gone by."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
import yaml

from mixer.loops.catalog import read_catalog
from mixer.loops.limits import NOT_KNOWN, Limits
from mixer.loops.measure.round_trip import limits_of
from mixer.signal.mel import distance_db, mel_powers
from mixer.words.english import bears
from mixer.words.problem import Problems
from tests.cli.program import mixer
from tests.signal.signals import RATE_HZ, noise, play_both, play_drums, play_plucks, stereo
from tests.sounds import Made, loop_folder

LIMITS = Limits(slower_percent=20, faster_percent=25, lower_semitones=4, higher_semitones=2)
ON_A_CARD = "  slower up to: 20 %\n  faster up to: 25%\n  lower up to: 4 semitones\n  higher up to: 2\n"


def read(folder, lines):
    loop_folder(folder, Made("good"))
    with (folder / "loops.yaml").open("a", encoding="utf-8") as catalog:
        catalog.write(lines)
    problems = Problems()
    return read_catalog(folder, problems)["good"], [(problem.kind, problem.facts.get("key")) for problem in problems]


def test_limits_are_read_from_a_card(tmp_path):
    card, told = read(tmp_path, ON_A_CARD)
    assert (card.limits, told) == (LIMITS, [])


def test_a_card_that_says_nothing(tmp_path):
    card, told = read(tmp_path, "")
    assert (card.limits, told) == (NOT_KNOWN, [])


@pytest.mark.parametrize("slip", ["much", "-5 %", "20 bpm", "95 %", "1.5.5"])
def test_a_slip_in_a_limit_is_told_and_costs_no_loop(tmp_path, slip):
    card, told = read(tmp_path, f"  slower up to: {slip}\n  faster up to: 10 percent\n")
    assert card.limits == Limits(faster_percent=10)
    assert told == [("card-limit", "slower up to")]


@pytest.mark.parametrize(
    ("stretch", "beyond"),
    [("1", False), ("5/4", False), ("126/100", True), ("4/5", False), ("79/100", True)],  # 96 may be 76.8 to 120
)
def test_percents_are_of_the_tempo(stretch, beyond):
    assert LIMITS.tempos_bpm(Fraction(96)) == (Fraction("76.8"), Fraction(120))
    assert LIMITS.stretched_beyond(Fraction(stretch)) == beyond


def test_where_a_card_says_nothing_what_is_usual_counts():
    assert [NOT_KNOWN.stretched_beyond(Fraction(n, 100)) for n in (131, 130, 77, 76)] == [*(True, False, False, True)]
    assert [NOT_KNOWN.moved_beyond(n) for n in (-6, -5, 0, 5, 6)] == [True, False, False, False, True]
    assert [LIMITS.moved_beyond(n) for n in (-5, -4, 2, 3)] == [True, False, False, True]


def trembling():
    """A tone whose pitch shakes eight times a second by a whole tone: nothing that a window holds stays the same."""
    time = np.arange(4 * RATE_HZ) / RATE_HZ
    phase = 2 * np.pi * 440 * time + 440 / 8 * 0.12 * np.sin(2 * np.pi * 8 * time)
    return stereo(0.2 * sum(np.sin(n * phase) / n for n in range(1, 9)))


def test_what_is_struck_bears_more_than_what_is_struck_over_held_sound_or_shakes():
    struck, plucked, both, shaking = (
        limits_of(sound, RATE_HZ)
        for sound in (play_drums(104).samples, play_plucks(104).samples, play_both(104).samples, trembling())
    )
    assert struck == plucked == Limits(30, 50, 7, 7)
    assert both.faster_percent < struck.faster_percent
    assert shaking.faster_percent < struck.faster_percent
    for limits in (both, shaking):
        assert limits.faster_percent % 5 == limits.slower_percent % 5 == 0
        assert limits.slower_percent <= limits.faster_percent


@pytest.mark.parametrize("gain", [1.0, 0.01])
def test_a_distance_is_nothing_for_the_same_sound_and_what_was_added_for_noise(gain):
    sound = noise(RATE_HZ) * np.float32(gain)
    powers = mel_powers(sound, RATE_HZ)
    assert distance_db(powers, powers) == 0
    assert distance_db(powers, mel_powers(sound * np.float32(10**0.1), RATE_HZ)) == pytest.approx(2.0, abs=0.01)
    turned = mel_powers(sound * np.float32([1, -1]), RATE_HZ)
    assert distance_db(powers, turned) == pytest.approx(0, abs=1e-4)


def test_limits_are_written_and_what_a_person_wrote_stays(tmp_path):
    folder = loop_folder(
        tmp_path / "ours", Made("ticks", bars=2), Made("hum", "tone", "harmony", key="A minor", bars=2)
    )
    catalog = folder / "loops.yaml"
    own = catalog.read_text(encoding="utf-8").replace(
        "hum:\n", "hum:\n  slower up to: 7 %\n  higher up to: 1 semitone\n"
    )
    catalog.write_text(own, encoding="utf-8")
    done = mixer("measure", folder, "--write", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    cards = yaml.safe_load(catalog.read_text(encoding="utf-8"))
    assert (cards["hum"]["slower up to"], cards["hum"]["higher up to"]) == ("7 %", "1 semitone")
    assert cards["hum"]["faster up to"] == "50 %"
    assert cards["hum"]["lower up to"] == "7 semitones"
    assert cards["ticks"]["slower up to"] == "30 %"
    assert "lower up to" not in cards["ticks"], "no key could move it"
    assert "  lower up to: 7 semitones  # it gets darker\n" in catalog.read_text(encoding="utf-8")
    problems = Problems()
    assert read_catalog(folder, problems)["hum"].limits == Limits(7, 50, 7, 1)
    assert list(problems) == []
    before = catalog.read_bytes()
    mixer("measure", folder, "--write", cwd=tmp_path)
    assert catalog.read_bytes() == before


SONG = "tempo: {}\nkey: {}\nlayers:\n  box: hum\nsections:\n  - verse, 4 bars: box\n"


@pytest.mark.parametrize(
    ("tempo", "key", "told"),
    [
        (80, "A minor", ""),
        (118, "A minor", ""),
        (125, "A minor", "played faster here, at 125; it sounds well from 77 to 120 beats a minute."),
        (70, "A minor", "played slower here, at 70; it sounds well from 77 to 120 beats a minute."),
        # Two bars of the song for one of the loop's: its 96 are 48 of the song's.
        (44, "A minor", ""),
        (62, "A minor", "(48 counted as this song is) and is played faster here, at 62; it sounds well from 38 to 60"),
        (96, "C minor", "moved 3 semitones up to C minor; it sounds well up to 4 semitones lower or 2 higher."),
        (96, "F minor", ""),
    ],
)
def test_a_song_is_told_by_what_the_card_says(tmp_path, tempo, key, told):
    folder = loop_folder(tmp_path / "loops", Made("hum", "tone", "harmony", key="A minor"))
    with (folder / "loops.yaml").open("a", encoding="utf-8") as catalog:
        catalog.write(ON_A_CARD)
    song = tmp_path / "song.yaml"
    song.write_text(SONG.format(tempo, key), encoding="utf-8")
    done = mixer("check", song, cwd=tmp_path)
    words = " ".join((done.stdout + done.stderr).split())
    assert told in words
    assert ("sounds well" in words) == bool(told)
    assert "not sound like itself" not in words


def test_fits_says_at_which_tempos_a_loop_sounds_well(tmp_path):
    loops = [Made("hum", "tone", "harmony", key="A minor"), Made("ticks", tempo_bpm="112")]
    folder = loop_folder(tmp_path / "loops", *loops, Made("rattle", tempo_bpm="112"))
    with (folder / "loops.yaml").open("a", encoding="utf-8") as catalog:
        catalog.write("  slower up to: 10 %\n  faster up to: 40 %\n")
    told = " ".join(mixer("fits", "hum", "--loops", folder, "--role", "drums", "--long", cwd=tmp_path).stdout.split())
    ticks, rattle = told.index("ticks (drums)"), told.index("rattle (drums)")
    assert ticks < rattle, "what bears it comes first"
    assert "which may be heard: it sounds well from 101 to 157 beats a minute" in told[rattle:]


def test_a_whole_set_is_told_which_loops_suffer(tmp_path):
    loops = [Made("ticks"), Made("tocks"), Made("hum", "tone", "harmony", key="A minor", tempo_bpm="80")]
    folder = loop_folder(tmp_path / "ours", *loops)
    with (folder / "loops.yaml").open("a", encoding="utf-8") as catalog:
        catalog.write(ON_A_CARD.replace("25%", "15 %"))
    done = mixer("fits", "--all", folder, "--songs", "0", cwd=tmp_path)
    told = "These are stretched or moved further here than they bear: "
    told += "hum: Sounds well from 64 to 92 beats a minute, and up to 4 semitones lower or 2 higher."
    assert told in " ".join(done.stdout.split())


@pytest.mark.parametrize(
    ("semitones", "told"),
    [
        ((4, 2), "up to 4 semitones lower or 2 higher"),
        ((1, 0), "up to 1 semitone lower, not higher"),
        ((0, 3), "up to 3 semitones higher, not lower"),
        ((0, 0), "only at its own pitch"),
    ],
)
def test_how_far_it_may_be_moved_in_words(semitones, told):
    assert bears.up_to(semitones) == told
    assert bears.sentence((95.8, 96.1), None) == "Sounds well only at 96 beats a minute."
