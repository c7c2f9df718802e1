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
from mixer.classroom.tasks import Done
from mixer.pages.document import as_told, asset, document
from mixer.store.content import key_of
from mixer.store.whole import write_text
from mixer.words.english import listening as said
from mixer.words.english.sheet import changed as said_changed
from mixer.words.english.told import minutes

LISTEN_PAGE = "listen.html"
TEACHER_PAGE = "teacher.html"
SHEET = "listening sheet.html"
LEVEL_CHECK = "level check.wav"
SHEET_ROOM_MM = 213.0
"""What A4 or US Letter has left for songs below the head, so that thirty fit on one page."""
SHEET_ROW_MM = (7.1, 30.0)


def write_pages(
    songs: Sequence[Done], out: Path, parts: Mapping[str, tuple[Path, float]], rubric: Rubric, *, numbers: bool = False
) -> tuple[Path, Path, Path]:
    """Write both pages, and the sheet on which students write what they hear.

    Parameters
    ----------
    songs : in the order in which they are heard
    out : the folder where they are
    parts : by the songs' names, files with a part of them, and where in the song that begins in seconds
    rubric : what the teacher fills in
    numbers : whether songs bear numbers, and no title or maker, where the class sees them

    Returns
    -------
    the page for the class, the page for the teacher, the sheet to print

    Raises
    ------
    OSError
        If one cannot be written; what stood there stays.
    """
    listen, teacher, sheet = out / LISTEN_PAGE, out / TEACHER_PAGE, out / SHEET
    heard = [done for done in songs if done.file]
    shown = [{**_song(done, out, parts), "number": number} for number, done in enumerate(heard, 1)]
    if numbers:
        shown = [{**each, "title": said.numbered(each["number"]), "by": "", "about": ""} for each in shown]
    place = key_of(str(out.resolve()))
    data = {"words": said.SCRIPT, "songs": shown, "session": place}
    style, script = asset("listen.css"), asset("listen.js")
    write_text(listen, document(said.LISTEN, _listening(said.LISTEN, "", "", parts=bool(parts)), style, script, data))
    numbered = {done.name: number for number, done in enumerate(heard, 1)}
    everything = [
        {**_song(done, out, parts), "number": numbered.get(done.name, 0), "told": done.words, "state": done.state}
        for done in songs
    ]
    more: dict[str, Any] = {
        "words": {**said.SCRIPT, **said.TEACHER_SCRIPT},
        "songs": everything,
        "rubric": [{"name": name, "levels": list(levels)} for name, levels in rubric.criteria],
        "session": place,
    }
    body = _listening(said.TEACHER, _comments(), _all(songs), parts=bool(parts))
    write_text(teacher, document(said.TEACHER, body, style, script + asset("teacher.js"), more))
    write_text(sheet, listening_sheet([(each["title"], each["by"]) for each in shown]))
    return listen, teacher, sheet


def listening_sheet(songs: Sequence[tuple[str, str]]) -> str:
    """Give a page to print with room for words about each song, in the order in which they are heard; no marks.

    Parameters
    ----------
    songs : title and maker of each
    """
    rows = "\n".join(
        f'<tr><td class="number">{number}</td><th scope="row">{html.escape(title)}'
        f"{f'<small>{html.escape(by)}</small>' if by else ''}</th>{'<td></td>' * len(said.SHEET_ASKS)}</tr>"
        for number, (title, by) in enumerate(songs, 1)
    )
    heads = "".join(
        f'<th scope="col">{html.escape(head)}<small>{html.escape(ask)}</small></th>' for head, ask in said.SHEET_ASKS
    )
    height_mm = max(SHEET_ROW_MM[0], min(SHEET_ROW_MM[1], SHEET_ROOM_MM / max(1, len(songs))))
    words = {"title": said.SHEET, "name": said.SHEET_NAME, "told": said.SHEET_TOLD, "song": said.SHEET_SONG}
    return Template(asset("listening_sheet.html")).substitute(
        {name: html.escape(word) for name, word in words.items()}, heads=heads, rows=rows, height=f"{height_mm:.2f}mm"
    )


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
        **{key: value for key, value in done.shown.items() if key != "since"},
        "since": [[said_changed(each["week"]), each["lines"]] for each in done.shown.get("since", ())],
    }


def _listening(title: str, comments: str, every: str, *, parts: bool) -> str:
    text = html.escape
    keys = said.KEYS + (said.PART_KEYS if parts else ()) + (said.TEACHER_KEYS if comments else ())
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
        "order_head": said.ORDER_HEAD,
        "order_told": said.ORDER_TOLD,
        "reorder": said.REORDER,
        "order_save": said.ORDER_SAVE,
        "order_as_given": said.ORDER_AS_GIVEN,
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
        "heard_told": said.HEARD_TOLD,
        "keep_in_file": said.KEEP_IN_FILE,
        "save": said.SAVE,
        "open": said.OPEN,
        "erase": said.ERASE,
    }
    return Template(asset("comments.html")).substitute({name: html.escape(word) for name, word in words.items()})


def _all(songs: Sequence[Done]) -> str:
    heads = "".join(f'<th scope="col">{html.escape(head)}</th>' for head in said.ALL_HEADS)
    rows = "\n".join(_row(done) for done in songs)
    return (
        f'<section class="all" tabindex="0" aria-label="{html.escape(said.ALL)}"><h2>{html.escape(said.ALL)}</h2>\n'
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
    return f"<details><summary>{summary}</summary>{as_told(text)}</details>"
