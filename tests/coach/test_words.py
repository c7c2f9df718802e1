"""What is told of ten different songs: as a person approved it, true, different for each, and without judgement.

Where a sentence claims something of the bars it names, the claim is checked against who plays there.
"""

from __future__ import annotations

import re
from itertools import combinations

import numpy as np
import pytest

from mixer.coach.questions import can_be_tried
from mixer.coach.sections import layers_of
from mixer.coach.seen import see_plan
from mixer.words.english.questions import SENTENCES
from tests.coach.cases import FOLDER, PATHS, parts_of, song_of, words_of
from tests.coach.songs import heard, laid_out, materials_of, text_of

NAMES = [path.stem for path in PATHS]


def song(name):
    return song_of(FOLDER / f"{name}.md")


def songs():
    return {name: song(name) for name in NAMES}


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_the_words_are_those_that_were_approved(path):
    """After a change: python -m tests.coach.approve, then read the difference."""
    assert words_of(*song_of(path)) == parts_of(path)[1]


def test_ten_songs_get_different_questions():
    assert len(NAMES) == 10
    lists = {name: {question.text for question in seen.questions} for name, (_, seen) in songs().items()}
    for one, other in combinations(lists, 2):
        assert not lists[one] & lists[other], (one, other)
    # And not the same kinds with other names put in.
    kinds = {name: frozenset(map(_kind, texts)) for name, texts in lists.items()}
    assert len(set(kinds.values())) == 10


def _kind(text: str) -> str:
    return re.sub(r"\d+|\"[^\"]*\"|the [a-z ]+?(?=,| and| first| is| are| stop| rest)", "", text)[:40]


@pytest.mark.parametrize("name", NAMES)
def test_each_question_names_bars_of_the_song_and_can_be_tried(name):
    plan, seen = song(name)
    assert 1 <= len(seen.questions) <= 3
    for question in seen.questions:
        first, last = question.bars
        assert 1 <= first <= last <= plan.recipe.bars
        assert re.search(r"\bbars? \d|\bbar from|\(bars|one by one|at once", question.text)
        assert can_be_tried(question.try_text, plan)


@pytest.mark.parametrize("name", NAMES)
def test_who_is_said_to_be_never_or_always_heard_is(name):
    plan, seen = song(name)
    layers = layers_of(plan)
    said = " ".join([*seen.stands_out, *(question.text for question in seen.questions)])
    for who in layers.bars:
        if re.search(rf"{who} (?:is|are) heard in every bar", said):
            assert len(layers.bars[who]) == layers.count
        for stop, again in re.findall(rf"[Tt]he {who} stops? after bar (\d+) and returns? at bar (\d+)", said):
            assert not layers.bars[who] & set(range(int(stop) + 1, int(again)))
            assert {int(stop), int(again)} <= layers.bars[who]
        for stop, again in re.findall(rf"[Tt]he {who} stops? at bar (\d+) and returns? at bar (\d+)", said):
            assert not layers.bars[who] & set(range(int(stop), int(again)))
            assert {int(stop) - 1, int(again)} <= layers.bars[who]


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_judged_and_no_number_is_a_measure(name):
    plan, seen = song(name)
    said = words_of(plan, seen).lower()
    wrong = "happy|sad|good|well done|great|bad|boring|wrong|must|better|best|too much|score|points|percent|lufs|db"
    assert re.findall(rf"\b(?:{wrong})\b", said) == []
    assert not re.search(r"\d\.\d", said)


def test_what_stands_out_is_the_largest_change():
    for plan, seen in songs().values():
        bars = heard(plan).bars
        told = re.search(r"[Aa]t bar (\d+).*the largest change", seen.stands_out[0])
        if told:
            layers = layers_of(plan)
            steps = {
                bar: abs(bars[bar - 1] - bars[bar - 2])
                for bar in range(2, len(bars) + 1)
                if layers.at(bar) != layers.at(bar - 1)
            }
            assert int(told[1]) == max(steps, key=steps.get)


def test_habits_are_asked_about_only_when_a_style_is_named():
    for path in PATHS:
        recipe = parts_of(path)[0]
        plan = laid_out(re.sub(r"^habits:.*\n", "", recipe, flags=re.MULTILINE))
        said = " ".join(question.text for question in see_plan(plan, materials_of(plan)).questions)
        assert not re.search(r"\b[Mm]any songs|\b[Mm]uch dance|In a round|songs with verse", said)


def test_a_brief_can_name_a_style_and_how_many_questions():
    plan, _ = song("02-chorus-below-verse")
    sounds = materials_of(plan)
    assert [len(see_plan(plan, sounds, most=most).questions) for most in (0, 1, 2, 5)] == [0, 1, 2, 5]
    assert "verse and chorus" not in see_plan(plan, sounds, style="none").questions[0].text
    plan, _ = song("08-all-the-time")
    dance = see_plan(plan, materials_of(plan), style="dance")
    assert any("dance music" in question.text for question in dance.questions)


def test_sections_are_compared_with_the_one_before():
    """Common practice, no source: a breakdown is a fall, a build is a rise."""
    plan = laid_out(
        text_of(
            "chorus, 8 bars: drums, bass, piano, gulls",
            "breakdown, 8 bars: lamp",
            "build, 8 bars: lamp, shaker 3-, bass 5-, drums 7-",
        )
    )
    _, breakdown, build = see_plan(plan, materials_of(plan)).section_words
    assert "Going out: the drums, the bass, the piano and the gulls." in breakdown
    assert any(text.startswith("Much less full") for text in breakdown)
    assert "Coming in: from bar 19 the shaker, from bar 21 the bass and from bar 23 the drums." in build
    assert any(text.startswith("Much fuller") for text in build)
    assert "Its second half is much fuller than its first." in build


def test_songs_of_odd_shapes_are_told_too():
    for sections in (("a, 1 bars: drums",), ("a, 2 bars: nothing",), ("a, 1 bars: nothing", "b, 1 bars: drums")):
        plan = laid_out(text_of(*sections))
        seen = see_plan(plan, materials_of(plan))
        assert len(seen.section_words) == len(sections)
        assert len(seen.energy_shape) == plan.recipe.bars
        assert seen.stands_out


ODD_NAMES = {
    "drums": "tin-roof",
    "gulls 2": "gull-song",
    "<b>lamp</b>": "fog-lamp",
    "ליל": "slow-tide",
    "🎹": "paper-lantern",
    "a layer with a very long name indeed": "rice-jar",
}
ODD_SECTIONS = ("verse", "Verse", "verse 2", "chorus", "chorus #2", "終わり")


@pytest.mark.parametrize("seed", range(8))
def test_any_song_with_any_names_can_be_spoken_of(seed):
    chance = np.random.default_rng(seed)
    sections = []
    for _ in range(chance.integers(1, 7)):
        bars = int(chance.choice([1, 2, 3, 4, 8]))
        who = [f"{name} {chance.integers(1, bars + 1)}-" for name in ODD_NAMES if chance.random() < 0.5]
        sections.append(f"{chance.choice(ODD_SECTIONS)}, {bars} bars: {', '.join(who) or 'nothing'}")
    plan = laid_out(text_of(*sections, layers=ODD_NAMES))
    seen = see_plan(plan, materials_of(plan), most=30)
    for question in seen.questions:
        assert 1 <= question.bars[0] <= question.bars[1] <= plan.recipe.bars
        assert can_be_tried(question.try_text, plan)
    assert all(all(texts) for texts in seen.section_words)


def test_every_question_is_asked_of_some_song():
    """Each sentence can be asked: what is left after the ten songs is asked of these."""
    asked = set()
    plans = [plan for plan, _ in songs().values()]
    plans += [
        laid_out(text_of("intro, 4 bars: piano", "go, 8 bars: drums, bass, piano, gulls, rain", "end, 4 bars: rain")),
        laid_out(text_of("a, 8 bars: drums, piano", "b, 8 bars: gulls, bass, shaker", "c, 8 bars: drums, piano, lamp")),
        laid_out(
            text_of(
                "verse, 8 bars: drums, bass, piano",
                "end, 8 bars: drums, bass, piano, gulls",
                top="habits: verse and chorus\n",
            )
        ),
        laid_out(
            text_of("go, 8 bars: drums, bass, piano, gulls", "end, 8 bars: piano", top="habits: verse and chorus\n")
        ),
        laid_out(text_of("a, 8 bars: drums, piano, bass", "chorus, 8 bars: drums, lamp, bass", "a", "chorus")),
    ]
    for plan in plans:
        questions = see_plan(plan, materials_of(plan), most=30).questions
        asked |= {kind for kind in SENTENCES for question in questions if _is(kind, question.text)}
    assert SENTENCES.keys() - asked == set()


MARKS = {
    "meant": "About bars",
    "meant_alike": 'You wrote ".*" about',
    "hear": "to be heard first",
    "about": "About the whole song",
    "alike": "different names",
    "repeats": "each time the same",
    "always": "in every bar from 1",
    "once": "nowhere else",
    "one_after_other": "Everybody is there at once",
    "order": "one by one",
    "long": "nobody goes|same layers play",
    "together": "come in at once",
    "gap": "returns? at bar",
    "hidden": "the sound least",
    "companions": "never heard without",
    "pair": "are both",
    "apart": "never heard at the same time",
    "silence": "nobody plays",
    "midway": "first comes? in at",
    "leave": "not heard again",
    "leap": "largest step up",
    "alone": "Which song would it be",
    "habit_chorus": "more happens in the chorus",
    "habit_begins": "begin with less",
    "habit_ends": "get thinner",
    "habit_length": "or a multiple",
    "habit_new": "every eight bars",
    "habit_breakdown": "a place in the middle",
    "habit_one_by_one": "In a round",
}


def _is(kind, text):
    return re.search(MARKS[kind], text) is not None
