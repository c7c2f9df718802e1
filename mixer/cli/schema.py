"""`mixer schema`: the recipe's form for editors."""

from __future__ import annotations

import json

import typer


def schema() -> None:
    """Print the JSON Schema of recipes, for editors.

    Example: mixer schema > recipe.schema.json
    """
    from mixer.recipe.schema import schema as recipe_schema  # noqa: PLC0415 - only here

    typer.echo(json.dumps(recipe_schema(), indent=2, ensure_ascii=False))
