"""Reads the songs in `tests/cases/coach` and gives what is told of them."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

from mixer.coach.mood import mood
from mixer.coach.seen import Seen, see_plan
from mixer.song.plan import Plan
from mixer.words.english import coach
from tests.coach.songs import laid_out, materials_of

FOLDER = Path(__file__).parents[1] / "cases" / "coach"
PATHS = sorted(FOLDER.glob("*.md"))


def parts_of(path: Path) -> tuple[str, str]:
    """The recipe, and the words that a person has read."""
    text = path.read_text(encoding="utf-8")
    recipe = re.search(r"```yaml\n(.*?)```", text, re.DOTALL)
    words = re.search(r"```text\n(.*?)\n```", text, re.DOTALL)
    assert recipe, path.name
    return recipe[1], words[1] if words else ""


@cache
def song_of(path: Path) -> tuple[Plan, Seen]:
    plan = laid_out(parts_of(path)[0])
    return plan, see_plan(plan, materials_of(plan))


def words_of(plan: Plan, seen: Seen) -> str:
    lines = []
    for mark, told in zip(plan.marks, seen.section_words, strict=True):
        lines += [f"[{mark.letter}] {coach.section_head(mark.name, mark.first_bar)}", *(f"    {each}" for each in told)]
    lines += ["", *seen.stands_out, ""]
    for question in seen.questions:
        lines += [f"? {question.text}", f"    try: {question.try_text}"]
    return "\n".join([*lines, "", *mood(plan, seen.energy)])
