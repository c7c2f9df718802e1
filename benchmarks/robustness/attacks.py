"""All commands over the whole made-up class, three weeks long, and a look for what got through.

    python -m benchmarks.robustness.attacks [--seed 1] [--students 40]

With the class come songs of every odd text and files of every odd name. Looked at: what the terminal was shown, all
pages, tables, texts and pictures, names of files; whether the hidden words got out, anything was written elsewhere, or
a name of the class left with songs that go home with numbers.
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

from benchmarks.robustness import classes, harm

LEAST_LETTERS = 4
"""Fewer letters stand somewhere in any sound."""


def run(room: Path, *arguments: str) -> tuple[str, list[str]]:
    """Run a command; give what it answered and what was wrong with that."""
    environment = {**os.environ, "MIXER_CACHE": str(room / "cache"), "PYTHONUTF8": "1"}
    command = [sys.executable, "-m", "mixer", *arguments]
    done = subprocess.run(command, cwd=room, env=environment, capture_output=True, text=True, check=False)
    found = [f"{arguments[0]} showed {each}" for each in harm.terminal_harm(done.stdout + done.stderr)]
    found += [f"{arguments[0]} broke: {done.stderr[-300:]}"] if "Traceback" in done.stderr else []
    found += [f"{arguments[0]}: {line}" for line in done.stdout.splitlines() if "mistake of its own" in line]
    return done.stdout, found


def said_of(songs: list[str]) -> dict[str, object]:
    """What a stranger's file of comments says of songs."""
    found = {}
    for name, odd in [*zip(songs, 99 * classes.ODD, strict=False), *((odd, odd) for odd in (*classes.ODD, "\ud800"))]:
        marks = [{"bar": 1, "section": odd, "words": odd}]
        rubric = {odd: odd, "Energy": odd}
        found[name] = {"title": odd, "by": odd, "marks": marks, "heard": odd, "remark": odd, "rubric": rubric}
    return {"mixer comments": 1, "songs": found}


def week(room: Path, number: int) -> Iterator[str]:
    """Everything that a teacher does in a week; gives what is wrong."""
    out, home = f"songs {number}", f"home {number}"
    common = ("batch", f"week {number}", "texts", "names", "--loops", "loops", "--out", out)
    _, found = run(room, *common, "--excerpt", "2s", "--recording", "--shuffle", str(number))
    yield from found
    answer, found = run(room, *common, "--json", "--share", home, "--numbers")
    yield from found
    names = [each["name"] for each in json.loads(answer)]
    (room / out / "said.json").write_text(json.dumps(said_of(names)), encoding="utf-8")
    yield from run(room, "feedback", f"{out}/said.json")[1]
    yield from run(room, "pack", "--loops", "loops", "--out", f"pack {number}")[1]


def named(room: Path, people: tuple[str, ...]) -> Iterator[str]:
    """Names of the class that left with songs that go home with numbers."""
    files = [path for place in room.glob("home *") for path in place.rglob("*") if path.is_file()]
    for name in people:
        forms = {form.encode(coding) for form in classes.spellings(name) for coding in ("utf-8", "utf-16-le")}
        long = len(name) >= LEAST_LETTERS
        yield from (
            f"{name} is in {path.name}" for path in files if long and any(f in path.read_bytes() for f in forms)
        )


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--students", type=int, default=40)
    chosen = options.parse_args()
    with tempfile.TemporaryDirectory(prefix="attacks-") as name:
        room = Path(name)
        made = classes.write_class(room, seed=chosen.seed, students=chosen.students)
        for folder, files in (("texts", classes.every_text()), ("names", classes.every_name())):
            (room / folder).mkdir()
            for each in files:
                with suppress(OSError):
                    (room / folder / each.path).write_bytes(each.content)
        before = harm.tree(room)
        found = [each for number in range(1, len(made.weeks) + 1) for each in week(room, number)]
        outs = [path for path in room.iterdir() if path.name.partition(" ")[0] in ("songs", "home", "pack", "cache")]
        after = harm.tree(room, *outs)
        found += [f"{path} was changed" for path in before.keys() | after.keys() if before.get(path) != after.get(path)]
        found += [f"the hidden words are in {path}" for path in harm.leaks(*outs)]
        found += [each for place in outs for each in harm.written_harm(place)]
        found += named(room, made.people)
        pages = sum(path.suffix == ".html" for place in outs for path in place.rglob("*"))
        shutil.rmtree(room / "cache", ignore_errors=True)
    print(f"{pages} pages in {len(made.weeks)} weeks, {len(found)} things got through", *found[:40], sep="\n    ")
    raise SystemExit(1 if found else 0)


if __name__ == "__main__":
    main()
