"""Reads the cases in `tests/cases/briefs` and gives what is told of them."""

from __future__ import annotations

import re
from pathlib import Path

from mixer.coach.brief import BriefLook, look
from mixer.recipe.brief import Brief
from mixer.recipe.brief_reader import BriefReading, read_brief
from mixer.words.say import all_in_full
from tests.coach.songs import laid_out

FOLDER = Path(__file__).parents[1] / "cases" / "briefs"
KEPT = sorted((FOLDER / "kept").glob("*.yaml"))
NOT_KEPT = sorted((FOLDER / "not-kept").glob("*.md"))
MISTAKES = sorted((FOLDER / "mistakes").glob("*.md"))


def blocks_of(path: Path) -> tuple[list[str], str]:
    """The texts, and the words that a person has read."""
    text = path.read_text(encoding="utf-8")
    words = re.search(r"```text\n(.*?)\n```", text, re.DOTALL)
    return re.findall(r"```yaml\n(.*?)```", text, re.DOTALL), words[1] if words else ""


def seen(path: Path) -> BriefLook:
    (brief, song), _ = blocks_of(path)
    reading = read_brief(brief, "brief.yaml")
    assert reading.problems == (), path.name
    assert reading.brief is not None
    return look(reading.brief, laid_out(song))


def read(path: Path) -> BriefReading:
    return read_brief(blocks_of(path)[0][0], "brief.yaml")


def not_kept_words(path: Path) -> str:
    return "\n".join(seen(path).lines)


def mistake_words(path: Path) -> str:
    reading = read(path)
    return "\n".join([all_in_full(reading.problems) or "Nothing is told.", "", *_what_counts(reading.brief)])


def _what_counts(brief: Brief | None) -> list[str]:
    from mixer.coach.asked import asked_by

    if brief is None:
        return ["It is no brief."]
    counted = [f"  {key}: {asked}" for key, asked in asked_by(brief).items()]
    others = [f"  {key}: {getattr(brief, key)}" for key in ("goal", "habits", "questions") if getattr(brief, key)]
    return [f"What counts in {brief.name!r}:", *counted, *others, *(f"  find out: {each}" for each in brief.find_out)]
