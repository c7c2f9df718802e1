"""JSON Schemas of recipes and briefs, for editors that complete and underline; made from the tables of the readers.

Draft 2020-12 (json-schema.org). They describe the long forms in full and let short ones through as text, since a
schema cannot look into a text; `mixer check` does.
"""

from __future__ import annotations

from typing import Any

from mixer.recipe.brief import ROLES_AND_ALL, WORDS, BriefWord
from mixer.recipe.keywords import KEYWORDS, KeyWord, Where
from mixer.words.brief_manual import BRIEF_MEANING
from mixer.words.manual import MEANING

_DRAFT = "https://json-schema.org/draft/2020-12/schema"
_TEXT_OR_NUMBER = {"type": ["string", "number"]}


def schema() -> dict[str, Any]:
    """Give the schema of recipes."""
    entry = {
        "anyOf": [
            {"type": ["string", "integer", "null"]},
            {"type": "array", "items": {"type": ["string", "integer"]}},
            _object("entry"),
        ]
    }
    play = {
        "anyOf": [
            {"type": "string"},
            {"type": "array", "items": {"type": "string"}},
            {"type": "object", "additionalProperties": entry},
        ]
    }
    section = _object("section", {"play": play})
    layer = {"anyOf": [{"type": "string"}, _object("layer")]}
    # The short form has a key of the student's own, so any key may stand there.
    short = {"type": "object", "additionalProperties": True, "properties": section["properties"]}
    item = {"anyOf": [{"type": "string"}, section, short]}
    layers = {"type": "object", "additionalProperties": layer, "minProperties": 1}
    sections = {"type": "array", "items": item, "minItems": 1}
    return {
        "$schema": _DRAFT,
        "title": "A recipe for a song",
        **_object("top", {"layers": layers, "sections": sections}),
    }


def _object(where: Where, blocks: dict[str, Any] | None = None) -> dict[str, Any]:
    here = [keyword for keyword in KEYWORDS if where in keyword.where]
    properties = {
        keyword.word: {
            **((blocks or {}).get(keyword.word) or _value(keyword)),
            "description": MEANING[keyword.word],
        }
        for keyword in here
    }
    found: dict[str, Any] = {"type": "object", "properties": properties, "additionalProperties": False}
    if required := [keyword.word for keyword in here if keyword.required]:
        found["required"] = required
    return found


def _value(keyword: KeyWord) -> dict[str, Any]:
    if keyword.word in ("without", "continue"):
        return {"anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}}]}
    if keyword.one_of:
        values: list[object] = list(keyword.one_of)
        if values == ["yes", "no"]:  # editors that follow an older YAML read these two as true and false
            values += [True, False]
        return {"enum": values}
    if keyword.pattern:
        return {**_TEXT_OR_NUMBER, "pattern": keyword.pattern}
    return _TEXT_OR_NUMBER


def brief_schema() -> dict[str, Any]:
    """Give the schema of briefs."""
    properties = {word.word: {**_brief_value(word), "description": BRIEF_MEANING[word.word]} for word in WORDS}
    form = {"type": "object", "properties": properties, "additionalProperties": False}
    return {"$schema": _DRAFT, "title": "A brief for songs", **form}


def _brief_value(word: BriefWord) -> dict[str, Any]:
    if word.kind == "one of":
        return {"enum": list(word.one_of)}
    if word.kind == "roles":
        roles = dict.fromkeys(ROLES_AND_ALL, _TEXT_OR_NUMBER)
        return {"anyOf": [_TEXT_OR_NUMBER, {"type": "object", "properties": roles, "additionalProperties": False}]}
    if word.kind == "texts":  # free text, and with a colon in it editors take it for a pair
        return {}
    if word.kind in ("values", "names"):  # several may also stand in one text, with commas
        return {"anyOf": [_TEXT_OR_NUMBER, {"type": "array", "items": _TEXT_OR_NUMBER}]}
    return _TEXT_OR_NUMBER
