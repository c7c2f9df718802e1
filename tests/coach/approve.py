"""Writes what is told of the songs now into their cases, for a person to read before it is committed.

python -m tests.coach.approve
"""

from __future__ import annotations

from tests.coach.cases import PATHS, song_of, words_of


def approve() -> None:
    for path in PATHS:
        head = path.read_text(encoding="utf-8").split("\n## Words")[0].rstrip("\n")
        words = words_of(*song_of(path))
        path.write_text(f"{head}\n\n## Words\n\n```text\n{words}\n```\n", encoding="utf-8")


if __name__ == "__main__":
    approve()
