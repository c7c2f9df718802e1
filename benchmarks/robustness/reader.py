"""Edits recipes by the thousand and looks whether the reader breaks, is slow, or names a line that is not there.

    python -m benchmarks.robustness.reader [--seed 1] [--count 20000]

Every recipe that breaks it is written beside, to become a case in `tests/cases`.
"""

from __future__ import annotations

import argparse
import random
import time
import traceback
from collections import Counter
from pathlib import Path

from mixer.loops.library import open_library
from mixer.recipe.reader import read
from mixer.song.advice import advise
from mixer.song.plan import plan
from mixer.text.source import decode
from mixer.words.problem import Problems
from mixer.words.say import all_in_full
from tests.recipe.cases import FOLDER, read_case

SIGNS = [*":-#\"'{}[],&*!|>%@`\t \n\r", "\u00a0", "\u3000", "\uff1a", "\u200b", "\x1b", "\x00", "\u2028", "\U0001f600"]
WORDS = ["without ", "like ", "everything", "- ", "  ", "5-8", "abc", "19"]
SLOW_SECONDS = 0.5


def sources() -> list[str]:
    right = [decode(path.read_bytes())[0] for path in (FOLDER / "right").glob("*.yaml")]
    recipes = [decode(path.read_bytes())[0] for path in (FOLDER.parents[1] / "recipes").glob("*.yaml")]
    return right + recipes + [decode(read_case(path).raw)[0] for path in (FOLDER / "mistakes").glob("*.md")]


def edited(text: str, rng: random.Random) -> str:
    for _ in range(rng.randint(1, 6)):
        at = rng.randrange(len(text) + 1)
        kind = rng.randrange(5)
        if kind == 0:
            text = text[:at] + rng.choice(SIGNS + WORDS) + text[at:]
        elif kind == 1:
            text = text[:at] + text[at + rng.randint(1, 4) :]
        elif kind == 2:
            text = _lines_edited(text, rng)
        elif kind == 3:
            other = rng.randrange(len(text) + 1)
            text = text[:at] + text[other : other + 20] + text[at:]
        elif rng.random() < 0.2:
            text = text[:at]
    return text


def _lines_edited(text: str, rng: random.Random) -> str:
    lines = text.split("\n")
    one, other = rng.randrange(len(lines)), rng.randrange(len(lines))
    kind = rng.randrange(4)
    if kind == 0:
        lines[one], lines[other] = lines[other], lines[one]
    elif kind == 1:
        lines.insert(one, lines[other])
    elif kind == 2:
        del lines[one]
    else:
        lines[one] = " " * rng.randint(0, 6) + lines[one].lstrip()
    return "\n".join(lines)


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--count", type=int, default=20_000)
    chosen = options.parse_args()
    rng, library, texts = random.Random(chosen.seed), open_library(None), sources()
    broken: Counter[str] = Counter()
    slow = 0
    for _ in range(chosen.count):
        text = edited(rng.choice(texts), rng)
        start = time.perf_counter()
        try:
            result = read(text, library.names())
            count = len(text.replace("\r\n", "\n").replace("\r", "\n").split("\n"))
            assert all(1 <= problem.place.line <= count for problem in result.problems)
            all_in_full(result.problems)
            if result.recipe is not None:
                advise(plan(result.recipe, library), Problems())
        except (Exception, AssertionError) as error:  # noqa: BLE001 - that is what is looked for
            last = traceback.extract_tb(error.__traceback__)[-1]
            kind = f"{type(error).__name__} in {Path(last.filename).name}, line {last.lineno}"
            if kind not in broken:
                Path(f"broken-{len(broken)}.yaml").write_text(text, encoding="utf-8", newline="")
            broken[kind] += 1
        slow += time.perf_counter() - start > SLOW_SECONDS
    print(f"{chosen.count} recipes, {sum(broken.values())} broke the reader, {slow} took longer than {SLOW_SECONDS} s")
    for kind, times in broken.most_common():
        print(f"{times:6} {kind}")


if __name__ == "__main__":
    main()
