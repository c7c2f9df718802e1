"""Writes what is told of briefs now into their cases, for a person to read before it is committed.

python -m tests.coach.approve_briefs
"""

from __future__ import annotations

from tests.coach.brief_cases import MISTAKES, NOT_KEPT, mistake_words, not_kept_words


def approve() -> None:
    for paths, words_of in ((NOT_KEPT, not_kept_words), (MISTAKES, mistake_words)):
        for path in paths:
            head = path.read_text(encoding="utf-8").split("\n## Words")[0].rstrip("\n")
            path.write_text(f"{head}\n\n## Words\n\n```text\n{words_of(path)}\n```\n", encoding="utf-8")


if __name__ == "__main__":
    approve()
