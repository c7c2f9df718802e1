"""A card that says another tempo than its loop has is told; the same loop counted otherwise, or unsurely, is not."""

from __future__ import annotations

import pytest

from mixer.song.doubts import doubt_cards
from mixer.song.opened import open_recipe
from mixer.words.problem import Problems
from mixer.words.say import say
from tests.cli.program import mixer
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
    done = mixer("check", "song.yaml", cwd=tmp_path)
    assert done.returncode == 0
    assert "sounds like 96" in done.stderr
