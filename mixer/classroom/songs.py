"""One recipe of a class made into its song, or found to be made already.

A song is made again only if something that it depends on has changed: its recipe, the sound files and cards of its
loops, the program, what is asked for.
"""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import get_args

from mixer import __version__
from mixer.classroom.growth import earlier_recipes, reasons_text
from mixer.classroom.room import asked_bytes
from mixer.classroom.tasks import Done, State, Task, first_told
from mixer.record import replace
from mixer.song.briefs import read_brief_file
from mixer.song.opened import NoRecipeError, Opened, open_recipe
from mixer.store.content import content_key_once, key_of
from mixer.store.versions import FOLDER as VERSIONS
from mixer.store.whole import write_text
from mixer.words.english.classroom import too_large
from mixer.words.say import all_in_full

DETAILS = "details"
EXCERPTS = "excerpts"
FOLDERS = (DETAILS, EXCERPTS, VERSIONS)
"""Where this program writes below the folder for songs."""
_UNKNOWN = -1


def make_song(task: Task) -> Done:
    """Make a song, or find it made.

    Raises
    ------
    OSError
        If what is known of it cannot be written; then it is made anew the next time.
    """
    kept = read_done(task.out, task.name)
    try:
        opened = open_recipe(task.recipe, task.loops)
    except NoRecipeError as error:
        done = Done(task.name, "none", words=all_in_full([error.problem]), why=first_told([error.problem]))
        done = _or_earlier(done, kept, task)
        if done.state == "none":
            _keep(task, done)
        return done
    if task.brief is not None:
        opened = opened.with_brief(read_brief_file(task.brief))
    key = _key(task, opened)
    if kept is not None and kept.key == key and _is_as_it_was(kept, task.out):
        return replace(kept, fresh=False)
    if opened.plan is not None:
        asked = asked_bytes(opened.plan)
        if asked > task.room_bytes:
            none = Done(task.name, "none", why=too_large(asked, task.room_bytes))
            return replace(_or_earlier(none, kept, task), asks_bytes=asked)

    from mixer.classroom.making import make_and_tell  # noqa: PLC0415 - what is made already is found without numbers

    if kept is not None:  # whenever this ends from now on, what is known does not speak of another sound
        _keep(task, replace(kept, key="", size_bytes=_UNKNOWN))
    done, written = make_and_tell(task, opened, key)
    if written:  # what could not be written may be written the next time
        _drop_draft(task, done)
        done = _or_earlier(done, kept, task)
        _keep(task, done)
    return done


def _or_earlier(done: Done, kept: Done | None, task: Task) -> Done:
    """Give what came of a song, or where that is nothing the whole song of an earlier version that is still there."""
    whole = kept is not None and kept.file and kept.state in ("song", "earlier") and _is_as_it_was(kept, task.out)
    if done.state != "none" or kept is None or not whole:
        return done
    return replace(kept, state="earlier", words=done.words, why=done.why, key="", fresh=False)


def _keep(task: Task, done: Done) -> None:
    write_text(_place(task.out, task.name), json.dumps(asdict(done), ensure_ascii=False, indent=1))


def read_done(out: Path, name: str) -> Done | None:
    """Read what is known of a song that was made before; None where nothing is, or something else stands there."""
    try:
        done = Done.from_data(json.loads(_place(out, name).read_text(encoding="utf-8")))
        return done if done.name == name and _is_sound(done) else None
    except (OSError, ValueError, TypeError, KeyError, RecursionError):
        return None


def _is_sound(done: Done) -> bool:
    """Whether what was read has the form that was written; it may come from a stranger's stick."""
    hear, begins, lasts = done.hear
    texts = (done.state, done.file, done.title, done.by, done.words, done.why, done.key, hear)
    numbers = (done.seconds, done.size_bytes, begins, lasts)
    parts = (done.leaves, done.shown)
    return (
        all(isinstance(text, str) for text in texts)
        and all(isinstance(number, int | float) for number in numbers)
        and all(isinstance(part, dict) for part in parts)
        and done.state in get_args(State)
        and Path(done.file).name == done.file
        and (not done.file or done.file.startswith(done.name))
    )


def _is_as_it_was(kept: Done, out: Path) -> bool:
    """Whether a song's file is still what was written; its size tells a cut one."""
    try:
        return not kept.file or (out / kept.file).stat().st_size == kept.size_bytes
    except OSError:
        return False


def _place(out: Path, name: str) -> Path:
    return out / DETAILS / f"{name}.json"


def _key(task: Task, opened: Opened) -> str:
    loops = [repr(part.fit) for part in opened.plan.parts] if opened.plan else []
    sounds = [_content(part.fit.card.path) for part in opened.plan.parts] if opened.plan else []
    told = all_in_full(opened.problems)
    brief = repr(opened.brief and opened.brief.brief)
    before = [text for called, recipe in earlier_recipes(task.earlier) for text in (called, recipe)]
    facts = (task.song_format, opened.path.name, opened.text, told, brief, reasons_text(task.recipe))
    return key_of(__version__, *facts, *before, *loops, *sounds)


def _content(path: Path) -> str:
    try:
        return content_key_once(path)
    except OSError:
        return ""


def _drop_draft(task: Task, done: Done) -> None:
    """Take the draft away where there is a whole song now. A song stays beside a draft of its next version."""
    if done.state == "song":
        for ending in (f".{task.song_format}", " (credits).txt"):
            (task.out / f"{task.name} (draft){ending}").unlink(missing_ok=True)
