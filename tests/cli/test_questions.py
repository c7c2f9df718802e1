"""`check --questions` and `--mood`: words for people, numbers only for other programs, and nothing unless asked."""

from __future__ import annotations

import json

import pytest

from tests.cli.program import mixer
from tests.sounds import Made, loop_folder

SONG = """title: Pebbles
about: stones <script>
tempo: 96
key: D minor
layers:
  box: ticks
  hum: hum
  low: low
sections:
  - start, 2 bars: hum
  - go, 8 bars: everything
    meant: all at once
  - end, 2 bars: low
"""


@pytest.fixture
def place(tmp_path):
    hum, low = (
        Made(name, kind="tone", role=role, key="D minor") for name, role in (("hum", "harmony"), ("low", "bass"))
    )
    loop_folder(tmp_path / "loops", Made("ticks"), hum, low)
    (tmp_path / "my song.yaml").write_text(SONG, encoding="utf-8")
    return tmp_path


def test_nothing_of_it_without_being_asked(place):
    said = mixer("check", "my song.yaml", cwd=place).stdout
    assert not any(words in said for words in ("What the sections do", "Questions", "often heard"))
    assert "bars" not in json.loads(mixer("check", "my song.yaml", "--json", cwd=place).stdout)


def test_questions_are_words_and_can_be_tried_as_they_are_printed(place):
    done = mixer("check", "my song.yaml", "--questions", cwd=place)
    assert done.returncode == 0
    said = done.stdout.partition("What the sections do")[2]
    assert "Coming in: the box and the low." in said
    assert 'You wrote: "all at once"' in said
    assert "often heard" not in said
    command = next(line.strip() for line in said.splitlines() if "mixer try" in line)
    assert command.startswith('mixer try "my song.yaml" "')
    change = command.split('"')[3]
    assert mixer("try", "my song.yaml", change, cwd=place).returncode == 0
    assert all(len(line) <= 80 for line in said.splitlines())


def test_mood_is_told_beside_the_makers_own_words(place):
    said = mixer("check", "my song.yaml", "--mood", cwd=place).stdout.partition("How this is often heard")[2]
    assert "grew up with" in said
    assert "A minor key:" in said
    assert "stones <script>" in said
    assert not any(word in said.lower() for word in ("happy", "sad"))
    assert "Questions" not in said


def test_numbers_are_for_other_programs(place):
    answer = json.loads(mixer("check", "my song.yaml", "--questions", "--json", cwd=place).stdout)
    assert len(answer["bars"]) == 12
    assert answer["bars"][0]["energy"] < answer["bars"][2]["energy"]
    assert answer["bars"][answer["fullest_bar"] - 1]["shape"] == 1
    assert len(answer["sections"]) == 3
    assert {"text", "try", "bars"} == answer["questions"][0].keys()


def test_a_recipe_with_nothing_to_hear(place):
    (place / "quiet.yaml").write_text(
        "tempo: 96\nlayers:\n  x: ticks\nsections:\n  - a, 2 bars: nothing\n", encoding="utf-8"
    )
    done = mixer("check", "quiet.yaml", "--questions", "--mood", cwd=place)
    assert done.returncode == 0
    assert "Nothing is heard." in done.stdout
    (place / "broken.yaml").write_text("tempo: 96\n", encoding="utf-8")
    assert mixer("check", "broken.yaml", "--questions", cwd=place).returncode == 1
