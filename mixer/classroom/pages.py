"""The pages that a class listens with: one for the projector, one for the teacher.

Both work from a file with no network, beside the songs. They show songs one after another and judge nothing; what is
told of recipes, and comments, stand on the teacher's page alone.
"""

from __future__ import annotations

import html
from collections.abc import Mapping, Sequence
from pathlib import Path
from string import Template
from typing import Any
from urllib.parse import quote

from mixer.classroom.rubric import Rubric
from mixer.classroom.songs import Done
from mixer.pages.document import asset, document
from mixer.store.content import key_of
from mixer.store.whole import write_text
from mixer.words.english import listening as said
from mixer.words.english.told import minutes

LISTEN_PAGE = "listen.html"
TEACHER_PAGE = "teacher.html"
LEVEL_CHECK = "level check.wav"


def write_pages(
    songs: Sequence[Done], out: Path, parts: Mapping[str, tuple[Path, float]], rubric: Rubric
) -> tuple[Path, Path]:
    """Write both pages.

    Parameters
    ----------
    songs : in the order in which they are heard
    out : the folder where they are
    parts : by the songs' names, files with a part of them, and where in the song that begins in seconds
    rubric : what the teacher fills in

    Returns
    -------
    the page for the class and the page for the teacher

    Raises
    ------
    OSError
        If one cannot be written; what stood there stays.
    """
    listen, teacher = out / LISTEN_PAGE, out / TEACHER_PAGE
    heard = [_song(done, out, parts) for done in songs if done.file]
    data = {"words": said.SCRIPT, "songs": heard}
    style, script = asset("listen.css"), asset("listen.js")
    write_text(listen, document(said.LISTEN, _listening(said.LISTEN, "", ""), style, script, data))
    everything = [{**_song(done, out, parts), "told": done.words, "state": done.state} for done in songs]
    more: dict[str, Any] = {
        "words": {**said.SCRIPT, **said.TEACHER_SCRIPT},
        "songs": everything,
        "rubric": [{"name": name, "levels": list(levels)} for name, levels in rubric.criteria],
        "session": key_of(str(out.resolve())),
    }
    body = _listening(said.TEACHER, _comments(), _all(songs))
    write_text(teacher, document(said.TEACHER, body, style, script + asset("teacher.js"), more))
    return listen, teacher


def _song(done: Done, out: Path, parts: Mapping[str, tuple[Path, float]]) -> dict[str, Any]:
    part, start = parts.get(done.name, (None, 0.0))
    return {
        "name": done.name,
        "title": done.title or done.name,
        "by": done.by,
        "file": quote(done.file) if done.file else "",
        "part": quote(part.relative_to(out).as_posix()) if part else "",
        "partStart": start,
        "seconds": done.seconds,
        "draft": done.state == "draft",
        "bars": 0,
        "barSeconds": 1.0,
        "sections": [],
        "chart": "",
        "svg": "",
        "words": [],
        "about": "",
        **done.shown,
    }


def _listening(title: str, comments: str, every: str) -> str:
    text = html.escape
    keys = said.KEYS + (said.TEACHER_KEYS if comments else ())
    words = {
        "page": title,
        "level_check": said.LEVEL_CHECK,
        "level_file": quote(LEVEL_CHECK),
        "begin": said.BEGIN,
        "draft": said.DRAFT,
        "none": said.NONE,
        "chart": said.CHART,
        "where": said.WHERE,
        "play": said.SCRIPT["play"],
        "before": said.BEFORE,
        "after": said.AFTER,
        "whole": said.WHOLE,
        "larger": said.LARGER,
        "what_happens": said.WHAT_HAPPENS,
        "order": said.ORDER,
        "reorder": said.REORDER,
    }
    return Template(asset("listening.html")).substitute(
        {name: text(word) for name, word in words.items()},
        care="".join(f"<p>{text(line)}</p>" for line in said.CARE),
        keys=", ".join(f"<kbd>{text(key)}</kbd> {text(what)}" for key, what in keys),
        comments=comments,
        all=every,
    )


def _comments() -> str:
    words = {
        "comments": said.COMMENTS,
        "comments_told": said.COMMENTS_TOLD,
        "mark": said.MARK,
        "heard": said.HEARD,
        "remarks": said.REMARKS,
        "save": said.SAVE,
        "open": said.OPEN,
        "erase": said.ERASE,
    }
    return Template(asset("comments.html")).substitute({name: html.escape(word) for name, word in words.items()})


def _all(songs: Sequence[Done]) -> str:
    heads = "".join(f'<th scope="col">{html.escape(head)}</th>' for head in said.ALL_HEADS)
    rows = "\n".join(_row(done) for done in songs)
    return (
        f'<section aria-label="{html.escape(said.ALL)}"><h2>{html.escape(said.ALL)}</h2>\n'
        f"<table><thead><tr>{heads}</tr></thead><tbody>\n{rows}\n</tbody></table></section>"
    )


def _row(done: Done) -> str:
    length = minutes(done.seconds) if done.seconds else ""
    cells = "".join(
        f"<td>{html.escape(cell)}</td>" for cell in (done.title or done.name, done.by, said.STATES[done.state], length)
    )
    told = ""
    if done.words:
        told = _folded(done.why or said.TOLD, done.words)
    lines = done.shown.get("brief", [])
    asked = _folded(done.shown.get("briefInAWord") or said.BRIEF, "\n".join(lines)) if lines else ""
    return f"<tr>{cells}<td>{told}</td><td>{asked}</td></tr>"


def _folded(head: str, text: str) -> str:
    summary = html.escape(head)
    return f'<details><summary>{summary}</summary><div class="told">{html.escape(text)}</div></details>'
