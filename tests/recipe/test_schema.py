"""The schema, the manual and the reader come from one table."""

from __future__ import annotations

import json
import re

import jsonschema
import pytest
import yaml

from mixer.recipe import keywords, reader, values
from mixer.recipe.schema import schema
from mixer.words.manual import MEANING
from tests.cli.program import mixer
from tests.recipe.cases import FOLDER

RIGHT = sorted((FOLDER / "right").glob("*.yaml")) + sorted((FOLDER.parents[1] / "recipes").glob("*.yaml"))


def test_every_key_word_has_its_meaning_and_no_other():
    assert [keyword.word for keyword in keywords.KEYWORDS] == list(dict.fromkeys(MEANING))
    assert set(MEANING) == {keyword.word for keyword in keywords.KEYWORDS}


def test_the_schema_is_one():
    jsonschema.Draft202012Validator.check_schema(schema())


def test_the_command_prints_it(tmp_path):
    assert json.loads(mixer("schema", cwd=tmp_path).stdout) == schema()


# Right, but spelt in a way that no schema can know: capitals and other spellings of key words, other scripts' signs.
BEYOND_A_SCHEMA = {"capitals-in-keys", "dashes-of-editors", "fade-spellings"}


@pytest.mark.parametrize("path", RIGHT, ids=lambda path: path.stem)
def test_right_recipes_keep_to_it(path):
    """As an editor's YAML reader reads them (PyYAML 6, every value as text)."""
    try:
        recipe = yaml.load(path.read_bytes(), Loader=yaml.BaseLoader)  # noqa: S506 - it makes nothing but texts
    except yaml.YAMLError:
        pytest.skip("this one only our reader can read")
    errors = [error.message for error in jsonschema.Draft202012Validator(schema()).iter_errors(recipe)]
    assert bool(errors) == (path.stem in BEYOND_A_SCHEMA), errors


@pytest.mark.parametrize(
    ("recipe", "word"),
    [
        ({"bpm": 96, "layers": {"a": "b"}, "sections": []}, "bpm"),
        ({"tempo": "fast", "layers": {"a": "b"}, "sections": ["x"]}, "fast"),
        ({"tempo": 96, "sections": ["x"]}, "layers"),
        ({"tempo": 96, "layers": {"a": {"loop": "b", "volume": 3}}, "sections": ["x"]}, "volume"),
        ({"tempo": 96, "layers": {"a": "b"}, "sections": ["x"], "ending": "bang"}, "bang"),
    ],
)
def test_wrong_recipes_do_not(recipe, word):
    messages = " ".join(str(error) for error in jsonschema.Draft202012Validator(schema()).iter_errors(recipe))
    assert word in messages


def test_a_pattern_of_the_table_takes_what_the_reader_takes():
    takes = {
        "tempo": ["96", "92.5", "92,5", "96 bpm"],
        "level": ["-6", "+3", "0", "pp", "ff", "+1.5 dB"],
        "pan": ["left 20", "right 100", "centre", "center", "left 20 %"],
        "fade in": ["2", "2 bars", "1 bar", "1.5 bars"],
        "in bars": ["5-8", "4", "5-", "1-2, 5-6"],
        "bars": ["8", "8 bars"],
        "pitch": ["+12", "-5", "0", "as recorded"],
        "time": ["4/4", "12/8"],
        "key": ["A minor", "Am", "Eb major", "F# dorian"],
    }
    by_word = {keyword.word: keyword for keyword in keywords.KEYWORDS}
    for word, texts in takes.items():
        assert all(re.search(by_word[word].pattern, text) for text in texts), word


def test_the_bounds_of_values_are_those_that_the_manual_tells():
    assert f"{values.TEMPO_BPM[0]} to {values.TEMPO_BPM[1]}" in MEANING["tempo"]
    assert f"{values.LEVEL_DB[0]} to +{values.LEVEL_DB[1]}" in MEANING["level"]
    assert f"{values.SECTION_BARS[0]} to {values.SECTION_BARS[1]}" in MEANING["bars"]
    assert reader.LONGEST_SONG_SECONDS == 20 * 60
