"""A card that says another tempo than its loop has is told; the same loop counted otherwise, or unsurely, is not."""

from __future__ import annotations

import pytest
import soundfile

from mixer.song.doubts import doubt_cards
from mixer.song.opened import open_recipe
from mixer.store.cache import open_cache
from mixer.words.problem import Problems
from mixer.words.say import say
from tests.cli.program import mixer
from tests.loops.test_measure import chords
from tests.sounds import Made, loop_folder

SONG = "tempo: 100\nlayers:\n  box: ticks\nsections:\n  - verse, 4 bars: box\n"


def told(folder, card):
    loop_folder(folder / "loops", Made("ticks"))  # 96 beats a minute, 4 bars of 4/4
    catalog = folder / "loops" / "loops.yaml"
    text = catalog.read_text(encoding="utf-8")
    for old, new in card.items():
        assert old in text
        text = text.replace(old, new)
    catalog.write_text(text, encoding="utf-8")
    (folder / "song.yaml").write_text(SONG, encoding="utf-8")
    problems = Problems()
    doubt_cards(open_recipe(folder / "song.yaml").plan, problems)
    return problems


def test_a_true_card_is_not_doubted(tmp_path):
    assert told(tmp_path, {}) == []


def test_half_the_bars_at_half_the_tempo_is_the_same_loop(tmp_path):
    assert told(tmp_path, {"tempo: 96": "tempo: 48", "bars: 4": "bars: 2"}) == []


@pytest.mark.parametrize(("listed", "when"), [("90", "1.2 s early"), ("102", "1.2 s late")])
def test_another_tempo_is_told_with_what_it_does(tmp_path, listed, when):
    """Listed at 90, it is taken to last 10.67 s and lasts 10: 6.25 % early of eight bars of 2.4 s, which is 1.2 s."""
    (problem,) = told(tmp_path, {"tempo: 96": f"tempo: {listed}"})
    assert (problem.kind, problem.place.line) == ("card-tempo", 3)
    assert say(problem).message == (
        f'the loop "ticks" is listed at {listed} beats a minute but sounds like 96: bar 8 would come {when}.'
    )


LISTED = (
    'song.yaml, line 3: the loop "ticks" is listed at 102 beats a minute but sounds like 96: '
    "bar 8 would come 1.2 s late."
)


def test_check_listens_and_render_tells_what_is_known_then(tmp_path):
    told(tmp_path, {"tempo: 96": "tempo: 102"})
    open_cache().empty()
    first = mixer("render", "song.yaml", cwd=tmp_path)
    assert (first.returncode, "sounds like" in first.stderr) == (0, False)  # a song is not kept waiting for it
    done = mixer("check", "song.yaml", cwd=tmp_path)
    assert (done.returncode, LISTED in done.stderr) == (0, True)
    again = mixer("render", "song.yaml", cwd=tmp_path)
    assert (again.returncode, LISTED in again.stderr) == (0, True)
    assert "What the list says is used." in again.stderr


def test_what_was_measured_before_a_lesson_is_told_by_render(tmp_path):
    told(tmp_path, {"tempo: 96": "tempo: 102"})
    open_cache().empty()
    measured = mixer("measure", "loops", cwd=tmp_path)
    assert "Its card says 102 beats a minute, but it sounds like 96. The card counts" in measured.stdout
    assert LISTED in mixer("render", "song.yaml", cwd=tmp_path).stderr


@pytest.mark.parametrize("note", ["  # checked", " #Checked by Mira, 3 May", "\t# checked"])
def test_what_a_person_has_checked_is_never_doubted(tmp_path, note):
    assert told(tmp_path, {"tempo: 96": f"tempo: 102{note}"}) == []
    assert "Its card says" not in mixer("measure", "loops", cwd=tmp_path).stdout


@pytest.mark.parametrize("note", ["  # to be checked", "  # guess"])
def test_other_notes_vouch_for_nothing(tmp_path, note):
    assert [problem.kind for problem in told(tmp_path, {"tempo: 96": f"tempo: 102{note}"})] == ["card-tempo"]


def test_more_bars_than_there_are_is_told_and_fewer_are_a_choice(tmp_path):
    (problem,) = told(tmp_path / "more", {"bars: 4": "bars: 8"})
    assert say(problem).message == (
        'the loop "ticks" is listed with 8 bars but sounds like 4: there would be silence after them.'
    )
    assert told(tmp_path / "checked", {"bars: 4": "bars: 8  # checked"}) == []
    assert told(tmp_path / "fewer", {"bars: 4": "bars: 2"}) == []


@pytest.mark.parametrize(
    ("listed", "semitones", "how"),
    [
        ("A minor", None, ""),
        ("C major", None, ""),  # the same notes
        # Down 3 from C minor where nothing would have to be moved, and nothing where it is as it should be.
        ("C minor", -3, "is listed in C minor but sounds like A minor: here it would be 3 semitones too low."),
        ("G minor", 2, "is listed in G minor but sounds like A minor: here it would be 2 semitones too high."),
        ("none", None, ""),
    ],
)
def test_another_key_is_told_with_what_it_does(tmp_path, listed, semitones, how):
    song = "tempo: 96\nkey: A minor\nlayers:\n  piano: lantern\nsections:\n  - verse, 4 bars: piano\n"
    sounding(tmp_path, listed, song)
    problems = Problems()
    doubt_cards(open_recipe(tmp_path / "song.yaml").plan, problems)
    assert [problem.facts["semitones"] for problem in problems] == ([] if semitones is None else [semitones])
    assert all(say(problem).message == f'the loop "lantern" {how}' for problem in problems)


def test_a_loop_without_a_key_stays_where_it_is_and_that_is_told_where_it_matters(tmp_path):
    song = "tempo: 96\nkey: B minor\nlayers:\n  piano: lantern\nsections:\n  - verse, 4 bars: piano\n"
    sounding(tmp_path, "none", song)
    problems = Problems()
    doubt_cards(open_recipe(tmp_path / "song.yaml").plan, problems)
    (problem,) = problems
    assert say(problem).message.endswith("without a key but sounds like A minor: here it would be 2 semitones too low.")


def sounding(folder, listed, song):
    """Am F C G, one chord a bar, struck on every beat; surely A minor or C major."""
    loop_folder(folder / "loops", Made("lantern", role="harmony", key=listed))
    soundfile.write(folder / "loops" / "lantern.wav", chords(tempo_bpm=96), 44_100, subtype="FLOAT")
    (folder / "song.yaml").write_text(song, encoding="utf-8")


def test_a_tempo_that_is_wrong_in_half_time_too_is_told_in_the_cards_own_count(tmp_path):
    """Listed at 51 with 2 bars: what is meant is 48, half of the 96 that is heard."""
    (problem,) = told(tmp_path, {"tempo: 96": "tempo: 51", "bars: 4": "bars: 2"})
    assert problem.facts["sounds"] == pytest.approx(48, abs=0.1)
