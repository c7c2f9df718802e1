"""The schema of briefs comes from the table that their reader uses, and the two take and refuse the same."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest
import yaml

import mixer as program
from mixer.recipe.brief import WORDS
from mixer.recipe.brief_reader import read_brief
from mixer.recipe.schema import brief_schema
from tests.cli.program import mixer
from tests.coach.brief_cases import NOT_KEPT, blocks_of

SHIPPED = sorted((Path(program.__file__).parents[1] / "shared" / "briefs").glob("*.yaml"))
RIGHT = {
    **{path.stem: path.read_text(encoding="utf-8") for path in SHIPPED},
    **{f"case {path.stem}": blocks_of(path)[0][0] for path in NOT_KEPT},
}


def errors(text):
    """What the schema's own library says of a text, as an editor's YAML reader reads it (PyYAML, YAML 1.1's values)."""
    return [str(each) for each in jsonschema.Draft202012Validator(brief_schema()).iter_errors(yaml.safe_load(text))]


def test_the_schema_is_one():
    jsonschema.Draft202012Validator.check_schema(brief_schema())


def test_the_command_prints_it(tmp_path):
    assert json.loads(mixer("schema", "brief", cwd=tmp_path).stdout) == brief_schema()


def test_every_key_word_is_explained():
    found = brief_schema()["properties"]
    assert list(found) == [word.word for word in WORDS]
    assert all(len(each["description"]) > 10 for each in found.values())


def test_all_briefs_that_come_along_are_there():
    assert len(SHIPPED) == 13
    assert len(RIGHT) == 13 + len(NOT_KEPT)


@pytest.mark.parametrize("name", RIGHT)
def test_right_briefs_keep_to_it(name):
    assert read_brief(RIGHT[name]).problems == ()
    assert errors(RIGHT[name]) == []


@pytest.mark.parametrize(
    ("slip", "word"),
    [
        ("longset: 1:30\n", "longset"),
        ("title: Ferry\n", "title"),
        ("layers:\n  drum: 1\n", "drum"),
        ("layers:\n  drums: [1, 2]\n", "[1, 2]"),
        ("layers:\n  - drums\n", "drums"),
        ("ending: fade\n", "fade"),
        ("habits: waltz\n", "waltz"),
        ("tempo: {least: 80}\n", "least"),
        ("must have: {intro: 1}\n", "intro"),
    ],
)
def test_slips_do_not_and_the_reader_tells_them_too(slip, word):
    (told,) = errors(slip)
    assert word in told
    assert read_brief(f"goal: a song\n{slip}").problems != ()
