"""Writes the words that are told now into the cases, for a person to read before they are committed.

python -m tests.recipe.approve
"""

from __future__ import annotations

import re

from mixer.words.say import all_in_full
from tests.recipe.cases import read_case
from tests.recipe.test_mistakes import PATHS, reading


def approve() -> None:
    for path in PATHS:
        words = all_in_full(reading(read_case(path)).problems).strip()
        text = path.read_bytes().decode("utf-8")
        text = re.sub(r"\n+## Words\n.*\Z", "", text, flags=re.DOTALL).rstrip("\n")
        if words:
            fence = "````" if "```" in words else "```"
            text += f"\n\n## Words\n\n{fence}text\n{words}\n{fence}"
        path.write_bytes(f"{text}\n".encode())


if __name__ == "__main__":
    approve()
