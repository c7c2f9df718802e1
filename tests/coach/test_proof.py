"""A set of loops proved before the lesson: two sets that fit, one that does not, with chords written down by hand.

Which bars clash was worked out with a keyboard's semitones: C major (C E G) against F major (F A C) has E beside F;
A minor and C major share two notes; G major and G major are one (common practice, no source).
"""

from __future__ import annotations

import pytest
import soundfile

from mixer.coach.by_chance import songs_by_chance, usual_frame
from mixer.coach.fits import Heard
from mixer.coach.proof import Bench, pairs, write_moments
from mixer.loops.library import open_library
from mixer.recipe.brief_reader import read_brief
from mixer.words.english import proof as words
from tests.sounds import Made, loop_folder

ROLES = {"hum": "harmony", "low": "bass", "high": "melody"}
PITCHES = {"hum": 220.0, "low": 65.4, "high": 440.0}
FIT = {"hum": "Am | F | C | G", "low": "Am | F | C | G", "high": "Am | F | C | G"}
ALSO_FIT = {"hum": "C | G | Am | F", "low": "C | G | Am | F", "high": "C | G | Am | F"}
APART = {"hum": "Am | F | C | G", "low": "C | Am | F | G", "high": "Am | F | C | G"}
BRIEF = "brief: small\nlongest: 0:50\nsections: 2-3\nsection bars: 4\nlayers:\n  bass: 1\n  melody: 0-1\n"


def cards(folder, chords):
    made = [Made(name, "tone", role, key="A minor", pitch_hz=PITCHES[name]) for name, role in ROLES.items()]
    loop_folder(folder, *made, Made("ticks"))
    catalog = folder / "loops.yaml"
    text = catalog.read_text(encoding="utf-8")
    for name, written in chords.items():
        text = text.replace(f"  role: {ROLES[name]}\n", f"  role: {ROLES[name]}\n  chords: {written}\n")
    catalog.write_text(text, encoding="utf-8")
    library = open_library(None, [folder])
    return [card for card in library.cards.values() if card.path.parent == folder and card.name in (*ROLES, "ticks")]


def listening(card):
    return Heard((), card.role == "bass")


def told(found):
    """Of each pair with chords, what is told of each bar."""
    return {
        (pair.one.name, pair.fits.card.name): [
            "agrees" if bar.agrees else "clashes" if bar.clashes else "close" for bar in pair.fits.bars
        ]
        for pair in found
        if pair.fits.bars
    }


@pytest.mark.parametrize("chords", [FIT, ALSO_FIT])
def test_a_set_that_fits_agrees_in_every_bar_and_its_songs_have_nothing_to_tell(tmp_path, chords):
    loops = _distinct(cards(tmp_path / "loops", chords))
    frame = usual_frame(loops, None)
    found = pairs(loops, frame, listening)
    assert told(found) == {
        ("low", "hum"): ["agrees"] * 4,
        ("low", "high"): ["agrees"] * 4,
        ("hum", "high"): ["agrees"] * 4,
    }
    assert all(pair.agreeing for pair in found)
    proved = Bench(listening).prove(songs_by_chance(loops, frame, None, 6))
    assert (proved.made, proved.outside) == (6, 0)
    assert not {moment.kind for moment in proved.worst} - {"limited"}  # sines and clicks have no usual peaks


def test_a_set_that_does_not_fit_is_told_bar_by_bar_and_can_be_heard(tmp_path):
    loops = _distinct(cards(tmp_path / "loops", APART))
    frame = usual_frame(loops, None)
    found = pairs(loops, frame, listening)
    clashing = ["close", "close", "clashes", "agrees"]
    assert told(found) == {("low", "hum"): clashing, ("low", "high"): clashing, ("hum", "high"): ["agrees"] * 4}
    bench = Bench(listening)
    proved = bench.prove(songs_by_chance(loops, frame, None, 8))
    assert proved.troubled["clash"] > 0
    moment = proved.worst[0]
    assert (moment.kind, set(moment.chords)) == ("clash", {"C over F"}) or set(moment.chords) == {"F over C"}
    assert "low" in moment.who
    name = words.moment(moment.kind, moment.song, moment.bar, moment.who, moment.chords, moment.bars)
    write_moments(tmp_path / "to hear.wav", bench, [(name, moment)])
    heard, rate_hz = soundfile.read(tmp_path / "to hear.wav")
    assert 4 < len(heard) / rate_hz < 12
    assert 0.01 < abs(heard).max() <= 10 ** (-1 / 20)


def test_songs_stay_inside_the_brief_and_are_the_same_each_time(tmp_path):
    loops = _distinct(cards(tmp_path / "loops", FIT))
    brief = read_brief(BRIEF, "small.yaml").brief
    frame = usual_frame(loops, brief)
    songs = list(songs_by_chance(loops, frame, brief, 12))
    assert songs == list(songs_by_chance(loops, frame, brief, 12))
    there = [song for song in songs if song is not None]
    assert len(there) > 6
    for song in there:
        assert song.seconds < 51
        assert 2 <= len(song.recipe.sections) <= 3
        assert all(section.bars == 4 for section in song.recipe.sections)
        assert [part.fit.role for part in song.parts].count("bass") <= 1


def test_two_that_are_strong_in_the_bass_are_told(tmp_path):
    loops = _distinct(cards(tmp_path / "loops", FIT))
    proved = Bench(lambda card: Heard((), card.role in ("bass", "harmony"))).prove(
        songs_by_chance(loops, usual_frame(loops, None), None, 6)
    )
    crowded = [moment for moment in proved.worst if moment.kind == "crowded"]
    assert [set(moment.who) for moment in crowded] == [{"hum", "low"}]


def _distinct(loops):
    return list({card.path: card for card in loops}.values())
