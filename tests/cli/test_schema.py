"""`schema` as an editor takes it."""

from __future__ import annotations

import json

import jsonschema
import yaml

from tests.cli.program import mixer


def test_the_first_recipe_of_new_keeps_to_the_schema_and_a_misspelt_key_does_not(tmp_path):
    schema = json.loads(mixer("schema", cwd=tmp_path).stdout)
    mixer("new", "song", cwd=tmp_path)
    recipe = yaml.safe_load((tmp_path / "song" / "song.yaml").read_text(encoding="utf-8"))
    jsonschema.validate(recipe, schema)
    errors = list(jsonschema.Draft202012Validator(schema).iter_errors({**recipe, "temop": 96}))
    assert ["temop" in error.message for error in errors] == [True]


def test_every_key_is_explained(tmp_path):
    schema = json.loads(mixer("schema", cwd=tmp_path).stdout)
    assert all(len(value["description"]) > 10 for value in schema["properties"].values())
