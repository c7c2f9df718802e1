"""`mixer schema`: the form of recipes and briefs for editors."""

from __future__ import annotations

import json
from enum import Enum
from typing import Annotated

import typer


class Form(str, Enum):
    """What is written."""

    RECIPE = "recipe"
    BRIEF = "brief"


def schema(
    form: Annotated[Form, typer.Argument(help="Whether a recipe or a brief is written.")] = Form.RECIPE,
) -> None:
    """Print the JSON Schema of recipes, or of briefs, for editors.

    Example: mixer schema > recipe.schema.json (or: mixer schema brief > brief.schema.json)
    """
    from mixer.recipe import schema as schemas  # noqa: PLC0415 - only here

    form_asked = schemas.brief_schema() if form is Form.BRIEF else schemas.schema()
    typer.echo(json.dumps(form_asked, indent=2, ensure_ascii=False))
